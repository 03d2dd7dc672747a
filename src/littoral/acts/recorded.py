"""What an act of recording left in the logbook, and the one way such an act writes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from littoral.acts.choosing import chosen_trial
from littoral.acts.entry_words import payload_words
from littoral.acts.large_doses import large_dose_remark
from littoral.acts.told import Told
from littoral.logbook.book import Logbook
from littoral.trial.entries import Entry, Photo, Withdrawn
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class Recorded:
    """What an act left in the logbook: its entries, how many of them are new, and remarks for the person.

    `words` says each entry in plain words. `new` is 0 where the same had been recorded already.
    """

    trial: str
    entries: tuple[Entry, ...]
    new: int
    words: tuple[str, ...]
    remarks: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return ids, words, remarks, and the doubts of photos that wait for a decision, as plain data."""
        return {
            "trial": self.trial,
            "ids": [entry.id for entry in self.entries],
            "new": self.new,
            "words": list(self.words),
            "remarks": list(self.remarks),
            "doubts": list(self.doubts),
        }

    @property
    def doubts(self) -> tuple[str, ...]:
        """What makes a person look twice at the photos among the entries that wait for a decision."""
        photos = (entry.payload for entry in self.entries if isinstance(entry.payload, Photo))
        return tuple(doubt for photo in photos if photo.waits for doubt in photo.doubts)


@contextmanager
def book_of(folder: Path, told: Told, now: datetime) -> Iterator[tuple[Logbook, Trial]]:
    """Open a logbook whose clock shows `now`, and the trial that was told."""
    with Logbook.open(folder, clock=lambda: now) as book:
        yield book, book.trial(chosen_trial(book, told.trial))


def keep(
    book: Logbook,
    trial: Trial,
    entries: tuple[Entry, ...],
    *,
    kept: Mapping[str, tuple[str, int]] | None = None,
    sure: Callable[[], None] | None = None,
) -> Recorded:
    """Write entries unless they are there, with the rows of their originals, and say what they are.

    `sure` refuses by raising, while nobody else can write (`Logbook.add`).
    """
    added = book.add(entries, kept=kept, sure=sure)
    there = tuple(entry if entry in added else book.entry(entry.id)[0] for entry in entries)
    return Recorded(
        trial.key, there, len(added), tuple(words_of(one, trial) for one in there), _remarks(book, trial, there)
    )


def words_of(entry: Entry, trial: Trial) -> str:
    """Return an entry in plain words, its tank first."""
    if isinstance(entry.payload, Photo):
        return f"{_view_name(entry.payload.view, trial)}: photo {entry.payload.file_name}"
    name = trial.tanks[entry.tank].name if entry.tank is not None and entry.tank in trial.tanks else "no tank"
    said = "undone" if isinstance(entry.payload, Withdrawn) else payload_words(entry.payload, trial)[1]
    return f"{name}: {said}" + (f" ({entry.note})" if entry.note else "")


def _view_name(view: str, trial: Trial) -> str:
    return trial.views[view].name if view in trial.views else view


def _remarks(book: Logbook, trial: Trial, entries: tuple[Entry, ...]) -> tuple[str, ...]:
    large = tuple(remark for one in entries if (remark := large_dose_remark(one, trial)))
    ahead = book.clock_behind(trial.key)
    if ahead is None:
        return large
    shown = ahead.astimezone(ZoneInfo(trial.zone))
    return (
        *large,
        f"Entries here were written down as late as {shown:%Y-%m-%d %H:%M}: is this computer's clock slow?",
    )
