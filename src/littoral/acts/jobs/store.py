"""Jobs on disk, in the logbook's cache: what was asked for, how far it is, what came of it.

Each job has a folder. `job.json` is what was asked for; a worker holds `lock` while it works, writes `progress.json`
as it goes and `outcome.json` at its end; `cancel` is there once somebody called it off. So what a job is can always be
told from its folder: without an outcome and without a worker it was interrupted.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from littoral.acts.jobs.held import is_held
from littoral.acts.jobs.kinds import KINDS, kind_named
from littoral.errors import LittoralError
from littoral.logbook.whole_files import write_whole

State = Literal["waiting", "working", "done", "failed", "cancelled", "interrupted"]
FOLDER = ("cache", "jobs")
NAME = re.compile(r"[0-9]{8}T[0-9]{6}-[0-9a-f]{8}")
MOST_KEPT = 30
"""Jobs kept for a trial; a further one takes the place of the oldest that is at its end."""
LARGEST_TEXT = 1_000_000
LET_GO_TRIES, LET_GO_STEP_S = 60, 0.05
"""How often, and how far apart, it is looked whether the worker of a job that has ended is gone."""


class NoJobError(LittoralError):
    """A job that there is not, or no longer."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"There is no job {name!r} here; it may have been removed.")


class StillWorkingError(LittoralError):
    """A job that is being worked on can be neither begun again nor removed."""

    def __init__(self) -> None:
        super().__init__("This job is still being worked on. Cancel it first.")


@dataclass(frozen=True, slots=True)
class JobFile:
    """A file that a job wrote."""

    name: str
    size_bytes: int


@dataclass(frozen=True, slots=True)
class Job:
    """One job: `done` of `total` steps of `what`; `error` says why it failed. `asked_at` is UTC."""

    name: str
    kind: str
    trial: str
    options: Mapping[str, Any]
    asked_at: datetime
    state: State
    done: int
    total: int
    what: str
    error: str
    files: tuple[JobFile, ...]

    @property
    def ended(self) -> bool:
        """Whether nothing more comes of it by itself."""
        return self.state not in ("waiting", "working")

    def as_json(self) -> dict[str, Any]:
        """Return the job as plain data."""
        return {
            "name": self.name,
            "kind": self.kind,
            "trial": self.trial,
            "options": dict(self.options),
            "asked_at": self.asked_at.isoformat(),
            "state": self.state,
            "done": self.done,
            "total": self.total,
            "what": self.what,
            "error": self.error,
            "files": [{"name": one.name, "size_bytes": one.size_bytes} for one in self.files],
        }


class JobStore:
    """The jobs of one logbook, whose folder is `book`."""

    def __init__(self, book: Path) -> None:
        self.book = book
        self._root = book.joinpath(*FOLDER)

    def ask(self, kind: str, trial: str, options: Mapping[str, Any], *, now: datetime) -> str:
        """Keep a new job and return its name. Raises NoKindError, and what the kind says of wrong options."""
        whole = kind_named(kind).read(options)
        name = f"{now:%Y%m%dT%H%M%S}-{secrets.token_hex(4)}"
        asked = {"kind": kind, "trial": trial, "options": whole, "asked_at": now.isoformat()}
        write_whole(self._root / name / "job.json", _text(asked))
        self._prune(trial)
        return name

    def folder(self, name: str) -> Path:
        """Return a job's folder; NoJobError."""
        if not NAME.fullmatch(name) or not (self._root / name / "job.json").is_file():
            raise NoJobError(name)
        return self._root / name

    def job(self, name: str, *, waiting: Collection[str] = ()) -> Job:
        """Return a job as it stands. `waiting` are the names of those that will be worked on; NoJobError."""
        folder = self.folder(name)
        asked = _read(folder / "job.json")
        outcome, told = _read(folder / "outcome.json"), _read(folder / "progress.json")
        state: State = outcome.get("state", "")
        if not outcome:
            if is_held(folder / "lock"):
                state = "working"
            elif (folder / "cancel").exists():
                state = "cancelled"
            else:
                state = "waiting" if name in waiting else "interrupted"
        files = (folder / "out" / one for one in outcome.get("files", ()))
        try:
            return Job(
                name=name,
                kind=asked["kind"],
                trial=asked["trial"],
                options=asked["options"],
                asked_at=datetime.fromisoformat(asked["asked_at"]),
                state=state,
                done=int(told.get("done", 0)),
                total=int(told.get("total", 0)),
                what=str(told.get("what", "")),
                error=str(outcome.get("error", "")),
                files=tuple(JobFile(file.name, file.stat().st_size) for file in files if file.is_file()),
            )
        except (KeyError, ValueError, TypeError):
            raise NoJobError(name) from None

    def jobs(self, trial: str | None = None, *, waiting: Collection[str] = ()) -> tuple[Job, ...]:
        """Return the jobs of a trial (None: of all), newest first."""
        names = [path.name for path in self._root.iterdir()] if self._root.is_dir() else []
        found = []
        for name in sorted(names, reverse=True):
            try:
                job = self.job(name, waiting=waiting)
            except NoJobError:
                continue
            if trial in (None, job.trial) and job.kind in KINDS:
                found.append(job)
        return tuple(found)

    def file(self, name: str, file: str) -> Path | None:
        """Return one of the files that a job wrote; None where it wrote none of that name. NoJobError."""
        written = {one.name for one in self.job(name).files}
        return self.folder(name) / "out" / file if file in written else None

    def renew(self, name: str) -> None:
        """Forget what came of a job, so that it can be worked on again. Raises NoJobError, StillWorkingError."""
        folder = self.folder(name)
        if not _let_go(folder):
            raise StillWorkingError
        for left in ("outcome.json", "progress.json", "cancel"):
            (folder / left).unlink(missing_ok=True)
        shutil.rmtree(folder / "out", ignore_errors=True)

    def call_off(self, name: str) -> None:
        """Note that a job is called off; whoever works on it stops at the next step. NoJobError."""
        folder = self.folder(name)
        if not (folder / "outcome.json").exists():
            (folder / "cancel").touch()

    def remove(self, name: str) -> None:
        """Remove a job with its files. Raises NoJobError, StillWorkingError."""
        folder = self.folder(name)
        if not _let_go(folder):
            raise StillWorkingError
        shutil.rmtree(folder, ignore_errors=True)

    def _prune(self, trial: str) -> None:
        for job in self.jobs(trial)[MOST_KEPT:]:
            if job.ended:
                self.remove(job.name)


def _let_go(folder: Path) -> bool:
    """Tell whether nobody works on a job; one that has ended lets go of its lock a moment after it says so."""
    for _ in range(LET_GO_TRIES):
        if not is_held(folder / "lock"):
            return True
        if not (folder / "outcome.json").exists():
            return False
        time.sleep(LET_GO_STEP_S)
    return False


def note_progress(folder: Path, done: int, total: int, what: str) -> None:
    """Write how far a job is. It is not brought to the disk at once: after a power cut nobody needs it."""
    part = folder / "progress.part"
    part.write_bytes(_text({"done": done, "total": total, "what": what}))
    os.replace(part, folder / "progress.json")


def note_outcome(folder: Path, state: State, *, files: Sequence[Path] = (), error: str = "") -> None:
    """Write what came of a job."""
    write_whole(
        folder / "outcome.json", _text({"state": state, "error": error, "files": [path.name for path in files]})
    )


def _text(value: Mapping[str, Any]) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=2) + "\n").encode()


def _read(path: Path) -> dict[str, Any]:
    """Return a file's object; {} where it is not there, or not whole."""
    try:
        if path.stat().st_size > LARGEST_TEXT:
            return {}
        found = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
