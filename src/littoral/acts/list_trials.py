"""The trials of a logbook, each in a line."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Hashable
from dataclasses import dataclass
from pathlib import Path

from littoral.acts.published_files import published_files
from littoral.acts.start_trial import TRIAL_FILE
from littoral.logbook.book import Logbook
from littoral.logbook.payloads import kind_of_class
from littoral.publish.sheet_words import lead_words
from littoral.trial.entries import Photo

PHOTO = kind_of_class(Photo)


@dataclass(frozen=True, slots=True)
class ListedTrial:
    """One trial in the list; `photos` and `entries` count what is recorded so far.

    `files` is the folder of its files where they lie beside the logbook, else None.
    """

    key: str
    title: str
    design: str
    rendered: bool
    photos: int
    entries: int
    files: Path | None


def list_trials(folder: Path) -> tuple[ListedTrial, ...]:
    """Return the trials of the logbook at `folder`, newest first; NoLogbookError where there is none."""
    with Logbook.open(folder) as book:
        return tuple(_listed(book, key) for key in reversed(book.trials()))


def trial_text(folder: Path, key: str) -> str:
    """Return the text of a trial in force; NoTrialError where there is none."""
    with Logbook.open(folder) as book:
        return book.trial_text(key)


def fingerprint(folder: Path, key: str) -> str:
    """Return a text that changes whenever what the page of a trial shows would."""
    with Logbook.open(folder) as book:
        # entries are only ever added: how many there are of each kind, and the last, tell whether any was
        parts = [book.trial_text(key), repr(sorted(_counts(book, key).items())), str(book.last_row_of(key))]
    parts += [f"{name} {file.stat().st_mtime_ns}" for name, file in sorted(published_files(folder, key).items())]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


_COUNTS: dict[tuple[Hashable, str], tuple[int, dict[str, int]]] = {}
"""What was counted last, by the database and the trial, with the row up to which it was counted."""


def _counts(book: Logbook, key: str) -> dict[str, int]:
    """Return the counts of a trial's entries; of a long logbook only the rows that came since are counted."""
    place, row = (book.place, key), book.last_row_of(key)
    counted = _COUNTS.get(place)
    if counted is None or counted[0] > row:
        counted = _COUNTS[place] = row, book.counts(key)
    elif counted[0] < row:
        counts = Counter(counted[1])
        counts.update(book.counts(key, after=counted[0]))
        counted = _COUNTS[place] = row, dict(counts)
    return counted[1]


def _listed(book: Logbook, key: str) -> ListedTrial:
    trial, counts = book.trial(key), _counts(book, key)
    photos = counts.get(PHOTO, 0)
    files = book.folder.parent / key
    return ListedTrial(
        key=key,
        title=trial.title,
        design=lead_words(trial),
        rendered=trial.rendered,
        photos=photos,
        entries=sum(counts.values()) - photos,
        files=files if (files / TRIAL_FILE).is_file() else None,
    )
