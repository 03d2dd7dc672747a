"""A Dask cluster of real processes on this computer: a scheduler, and workers that can be killed."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

COMMAND = (sys.executable, "-m", "distributed.cli.{}")
ENVIRONMENT = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1"}


@dataclass
class Processes:
    """The scheduler's address, its process, and those of its workers."""

    address: str
    scheduler: subprocess.Popen[str]
    folder: Path
    workers: list[subprocess.Popen[str]] = field(default_factory=list)

    def start_worker(self) -> subprocess.Popen[str]:
        arguments = (self.address, "--no-nanny", "--nthreads", "1", "--no-dashboard", "--local-directory", self.folder)
        self.workers.append(_started("dask_worker", *arguments))
        return self.workers[-1]


@contextmanager
def processes(folder: Path, workers: int) -> Iterator[Processes]:
    """Give a cluster of so many workers, each a process of one thread; all are ended at the end."""
    scheduler = _started("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
    try:
        assert scheduler.stderr is not None
        told = next(found for line in scheduler.stderr if (found := re.search(r"tcp://127\.0\.0\.1:\d+", line)))
        made = Processes(told.group(), scheduler, folder)
        try:
            for _ in range(workers):
                made.start_worker()
            yield made
        finally:
            for worker in made.workers:
                end(worker)
    finally:
        end(scheduler)


def end(process: subprocess.Popen[str]) -> None:
    """End a process as a power cut would."""
    if process.poll() is None:
        process.send_signal(signal.SIGKILL)
    process.wait()
    if process.stderr is not None:
        process.stderr.close()


def _started(name: str, *arguments: object) -> subprocess.Popen[str]:
    command = [*COMMAND[:2], COMMAND[2].format(name), *map(str, arguments)]
    quiet = subprocess.DEVNULL if name == "dask_worker" else subprocess.PIPE
    return subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=quiet, text=True, env=os.environ | ENVIRONMENT)
