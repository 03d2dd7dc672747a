"""The trials of a logbook, each in a line."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from littoral.acts.published_files import published_files
from littoral.acts.start_trial import TRIAL_FILE
from littoral.logbook.book import Logbook
from littoral.publish.sheet_words import lead_words
from littoral.trial.entries import Photo


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
        parts = [book.trial_text(key), *(entry.id for entry in book.entries(key))]
    parts += [f"{name} {file.stat().st_mtime_ns}" for name, file in sorted(published_files(folder, key).items())]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _listed(book: Logbook, key: str) -> ListedTrial:
    trial, entries = book.trial(key), book.entries(key)
    photos = sum(isinstance(entry.payload, Photo) for entry in entries)
    files = book.folder.parent / key
    return ListedTrial(
        key=key,
        title=trial.title,
        design=lead_words(trial),
        rendered=trial.rendered,
        photos=photos,
        entries=len(entries) - photos,
        files=files if (files / TRIAL_FILE).is_file() else None,
    )
