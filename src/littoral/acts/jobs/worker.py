"""The process that works on one job: `python -m littoral.acts.jobs.worker LOGBOOK JOB`."""

from __future__ import annotations

import os
import signal
import sys
import time
import traceback
from contextlib import suppress
from pathlib import Path
from types import FrameType

from littoral.acts.jobs.held import held
from littoral.acts.jobs.kinds import kind_named
from littoral.acts.jobs.store import JobStore, note_outcome, note_progress
from littoral.errors import LittoralError

TELL_EVERY_S = 0.2
NICER = 5
"""How much the worker steps back for the page and whatever else the computer does."""
BUSY = 3
"""What it exits with where another process works on the job already."""


class StoppedError(BaseException):
    """The job was called off, or its process is to end; never taken for a mistake in the work."""


def work(book: Path, name: str) -> int:
    """Work on a job to its end, and return the exit code. What stops it leaves no outcome behind."""
    store = JobStore(book)
    folder = store.folder(name)
    with held(folder / "lock") as free:
        if not free:
            return BUSY
        job = store.job(name)
        out = folder / "out"
        out.mkdir(exist_ok=True)
        told_at, told_what = 0.0, ""

        def progress(done: int, total: int, what: str) -> None:
            nonlocal told_at, told_what
            if (folder / "cancel").exists():
                raise StoppedError
            now = time.monotonic()
            if now - told_at >= TELL_EVERY_S or what != told_what or done >= total:
                told_at, told_what = now, what
                note_progress(folder, done, total, what)

        try:
            progress(0, 1, "opening the logbook")
            files = kind_named(job.kind).run(book, job.trial, out, job.options, progress)
        except StoppedError:
            return 1
        except LittoralError as error:
            note_outcome(folder, "failed", error=str(error))
            return 1
        except Exception:  # noqa: BLE001 - whatever it is, the page must say that the job failed
            traceback.print_exc()
            said = "Something in littoral went wrong; what was recorded is safe. The job's log shows what happened."
            note_outcome(folder, "failed", error=f"{said} ({folder / 'log.txt'})")
            return 1
        if (folder / "cancel").exists():
            return 1
        note_outcome(folder, "done", files=files)
    return 0


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise StoppedError


def main() -> int:
    """Work on the job that the command line names."""
    signal.signal(signal.SIGTERM, _stop)
    signal.signal(signal.SIGINT, _stop)
    if hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(NICER)
    try:
        return work(Path(sys.argv[1]), sys.argv[2])
    except StoppedError:
        return 1


if __name__ == "__main__":
    sys.exit(main())
