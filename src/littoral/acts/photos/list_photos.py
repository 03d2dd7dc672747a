"""List a trial's photos: when, of which view, by which camera, what is doubtful, and what a person decided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

from littoral.acts.choosing import chosen_trial
from littoral.acts.photos.rows import BY_LOOK
from littoral.errors import Fault, FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.bursts import bursts
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial

PhotoState = Literal["in use", "to decide", "set aside"]


@dataclass(frozen=True, slots=True)
class ListedPhoto:
    """One photo in force. `photo` is its entry's id, `day` float days since day 0, `at` UTC, `local` its local time.

    `burst` numbers the groups of repeat shots (`trial.bursts`), None for a single shot; `note` is why it was kept or
    set aside where somebody decided.
    """

    photo: str
    file: str
    view: str
    view_name: str
    at: datetime
    local: str
    day: float
    dated_by: str
    camera: str
    state: PhotoState
    doubts: tuple[str, ...]
    note: str
    who: str
    burst: int | None

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {**asdict(self), "at": self.at.isoformat()}


@dataclass(frozen=True, slots=True)
class PhotoList:
    """The photos of one trial, by time."""

    trial: str
    title: str
    photos: tuple[ListedPhoto, ...]

    def count(self, state: PhotoState) -> int:
        """Return how many photos are in a state."""
        return sum(photo.state == state for photo in self.photos)

    def among(self, beginnings: Sequence[str]) -> tuple[str, ...]:
        """Return the whole ids that some beginnings name; FaultsError for one that names none or several photos."""
        found, faults = [], []
        for written in beginnings:
            hits = [photo.photo for photo in self.photos if written and photo.photo.startswith(written)]
            if len(hits) == 1:
                found += hits
            else:
                what = f'"{written[:60]}" begins the id of {len(hits) or "no"} photo{"s" * (len(hits) != 1)}.'
                faults.append(Fault(what, "`littoral photos list LOGBOOK` shows them.", "photo"))
        if faults:
            raise FaultsError(faults)
        return tuple(dict.fromkeys(found))

    def placed_by_look(self, view: str) -> tuple[str, ...]:
        """Return the ids of photos that wait only because their view was told by their look."""
        waiting = (photo for photo in self.photos if photo.state == "to decide" and photo.view == view)
        return tuple(photo.photo for photo in waiting if photo.doubts == (BY_LOOK,))

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {"trial": self.trial, "title": self.title, "photos": [photo.as_json() for photo in self.photos]}


def list_photos(
    folder: Path, trial_key: str | None = None, *, states: Sequence[PhotoState] = (), view: str = ""
) -> PhotoList:
    """Return the photos of a trial, only those in some `states` (none: all) and of a `view` ("": all)."""
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        entries = book.entries_of(trial.key, (Photo,))
    numbers = {entry.id: number for number, group in enumerate(bursts(entries), start=1) for entry in group}
    rows = [_row(entry, trial, numbers.get(entry.id)) for entry in entries]
    kept = (row for row in rows if (not states or row.state in states) and view in ("", row.view))
    return PhotoList(trial.key, trial.title, tuple(kept))


def _row(entry: Entry, trial: Trial, burst: int | None) -> ListedPhoto:
    photo = entry.payload
    assert isinstance(photo, Photo)
    state: PhotoState = "to decide" if photo.waits else "set aside" if photo.decided == "set aside" else "in use"
    return ListedPhoto(
        photo=entry.id,
        file=photo.file_name,
        view=photo.view,
        view_name=trial.views[photo.view].name,
        at=entry.at,
        local=f"{entry.at.astimezone(ZoneInfo(trial.zone)):%Y-%m-%d %H:%M}",
        day=day_of(entry.at, trial),
        dated_by=photo.dated_by,
        camera=photo.camera,
        state=state,
        doubts=photo.doubts,
        note=entry.note,
        who=entry.who,
        burst=burst,
    )
