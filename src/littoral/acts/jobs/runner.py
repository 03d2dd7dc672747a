"""Works on jobs one after the other, each in a process of its own, while a page is open."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path
from typing import Any

from littoral.acts.jobs.store import Job, JobStore

END_S = 5.0
"""How long a process may take to end by itself before it is ended."""
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
"""Number libraries in a worker take one thread each: the encoder has two of its own."""

WORKER = (sys.executable, "-m", "littoral.acts.jobs.worker")


class JobRunner:
    """The jobs of a logbook, and the one that is being worked on. `worker` is called with the logbook and a job's name.

    What is not at its end when the runner is closed is shown as interrupted from then on, and can be begun again.
    """

    def __init__(self, book: Path, *, worker: Sequence[str] = WORKER) -> None:
        self.store = JobStore(book)
        self._worker = tuple(worker)
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="jobs")
        self._lock = threading.Lock()
        self._waiting: list[str] = []
        self._running: tuple[str, subprocess.Popen[bytes]] | None = None
        self._closed = False

    def ask(self, kind: str, trial: str, options: Mapping[str, Any], *, now: datetime) -> str:
        """Keep a job, put it into the queue, and return its name; see `JobStore.ask`."""
        name = self.store.ask(kind, trial, options, now=now)
        self._put(name)
        return name

    def again(self, name: str) -> None:
        """Begin a job again. Raises NoJobError, StillWorkingError."""
        with self._lock:
            if name in self._waiting:
                return
        self.store.renew(name)
        self._put(name)

    def cancel(self, name: str) -> None:
        """Call a job off, whether it waits or is being worked on. NoJobError."""
        self.store.call_off(name)
        with self._lock:
            if name in self._waiting:
                self._waiting.remove(name)
            running = self._running
        if running is not None and running[0] == name:
            running[1].terminate()

    def remove(self, name: str) -> None:
        """Remove a job with its files. Raises NoJobError, StillWorkingError."""
        with self._lock:
            if name in self._waiting:
                self._waiting.remove(name)
        self.store.remove(name)

    def job(self, name: str) -> Job:
        """Return a job as it stands; NoJobError."""
        return self.store.job(name, waiting=self._coming())

    def jobs(self, trial: str) -> tuple[Job, ...]:
        """Return the jobs of a trial, newest first."""
        return self.store.jobs(trial, waiting=self._coming())

    def close(self) -> None:
        """Take no more jobs, and stop the one that is being worked on."""
        with self._lock:
            self._closed = True
            self._waiting.clear()
            running = self._running
        if running is not None:
            running[1].terminate()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _coming(self) -> tuple[str, ...]:
        """Return the names of jobs that wait; the one whose process is just starting counts as well."""
        with self._lock:
            return (*self._waiting, *((self._running[0],) if self._running is not None else ()))

    def _put(self, name: str) -> None:
        with self._lock:
            if self._closed:
                return
            self._waiting.append(name)
        self._pool.submit(self._work, name)

    def _work(self, name: str) -> None:
        folder = self.store.folder(name)
        environment = {**os.environ, **dict.fromkeys(ONE_THREAD, "1")}
        command = [*self._worker, str(self.store.book), name]
        with (folder / "log.txt").open("wb") as log:
            with self._lock:
                if self._closed or name not in self._waiting:
                    return
                # a list of words, none of them through a shell; the names are ours
                process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, env=environment)
                self._running = (name, process)
                self._waiting.remove(name)
            while process.poll() is None:
                try:
                    process.wait(timeout=END_S)
                except subprocess.TimeoutExpired:
                    if self._closed or (folder / "cancel").exists():
                        process.kill()
            with self._lock:
                self._running = None
