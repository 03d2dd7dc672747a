"""What became of each photo file: one row for every file, so that nothing is dropped silently."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, Literal

from littoral.quantities.counting import counted

State = Literal["added", "to decide", "duplicate", "asked", "refused"]
STATES: dict[State, str] = {
    "added": "in the logbook",
    "to decide": "in the logbook, used once you decide to keep it",
    "duplicate": "in the logbook already",
    "asked": "not taken in yet: something has to be told first",
    "refused": "not taken in: it cannot be",
}
BY_LOOK = "its view was told by its look: is it right?"
"""The doubt of a photo that was placed by likeness alone; it waits to be confirmed."""
ViewBy = Literal["", "told", "folder", "only view", "look"]


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A file to be taken in: its name (with folders, where they are known) and how its bytes are read."""

    name: str
    read: Callable[[], bytes]


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """What became of one file. `said` is one or more plain sentences, "" where there is nothing to say.

    `asks` names what has to be told ("view" or "date"); `choices` are the views, the likest first, and `propose_when` a
    moment that would fit, as `when` takes it. `view_by` says how the view is known; `photo` is the entry's id, `at` is
    UTC.
    """

    file: str
    state: State
    said: str = ""
    asks: Literal["", "view", "date"] = ""
    view: str | None = None
    view_by: ViewBy = ""
    at: datetime | None = None
    photo: str | None = None
    doubts: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    propose_when: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        plain = asdict(self)
        plain["at"] = None if self.at is None else self.at.isoformat()
        return plain


@dataclass(frozen=True, slots=True)
class AddedPhotos:
    """What became of many files; `stopped` says that somebody stopped before the last one."""

    trial: str
    rows: tuple[PhotoRow, ...]
    stopped: bool = False

    def count(self, *states: State) -> int:
        """Return how many files came to one of some ends."""
        return sum(row.state in states for row in self.rows)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        counts = {state: self.count(state) for state in STATES}
        rows = [row.as_json() for row in self.rows]
        return {"trial": self.trial, "stopped": self.stopped, "counts": counts, "files": rows}

    def words(self) -> str:
        """Return one line: how many files came to which end."""
        found = Counter(row.state for row in self.rows)
        told = [f"{found[state]} {_SHORT[state]}" for state in STATES if found[state]]
        return f"{counted(self.rows, 'file')}: {', '.join(told)}" if told else "no files"


_SHORT: dict[State, str] = {
    "added": "added",
    "to decide": "added and to be decided about",
    "duplicate": "there already",
    "asked": "asked about",
    "refused": "refused",
}


def with_said(row: PhotoRow, *more: str) -> PhotoRow:
    """Return a row with further sentences."""
    return replace(row, said=" ".join(filter(None, (row.said, *more))))
