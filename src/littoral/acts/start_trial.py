"""Start a trial: the files a person then edits, alone in a folder or beside the logbook that takes them in."""

from __future__ import annotations

import secrets
import shutil
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from littoral.acts.check_trial import ENTRIES_FILE
from littoral.acts.machine_zone import machine_zone
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.where_kept import is_logbook
from littoral.logbook.whole_files import write_whole
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_entries, starting_text

TRIAL_FILE = "trial.toml"
OUR_FOLDERS = frozenset({"logbook", "results", "charts", "photos", "truth", "cache", "originals"})
"""Folders that Littoral itself makes: no trial started in a logbook is kept under one of these names."""


class FolderInUseError(LittoralError):
    """The folder for a new trial holds something already."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(f"{folder} is there already and not empty; nothing was changed. Name a new folder.")


@dataclass(frozen=True, slots=True)
class Started:
    """A trial that was started, and its files."""

    trial: Trial
    trial_file: Path
    entries_file: Path


def start_trial(
    folder: Path,
    *,
    title: str,
    start: str | None = None,
    zone: str | None = None,
    seed: int | None = None,
    **more: str,
) -> Started:
    """Write a trial file with sensible defaults, an entries file with its header, and a folder for each view's photos.

    All are what a person writes, `more` those of `starting_text`: the start is today, the zone this computer's, unless
    given. Which tank gets which arm is drawn by lot; the lot's `seed` is kept in the file, and fresh unless given.
    FolderInUseError where the folder is not empty; FaultsError where a value given makes no valid trial.
    """
    if folder.exists() and any(folder.iterdir()):
        raise FolderInUseError(folder)
    trial, text = _written(title, start=start, zone=zone, seed=seed, **more)
    return _write(folder, trial, text)


def start_in_logbook(book_folder: Path, *, title: str, start: str, zone: str, **more: str) -> str:
    """Start a trial in the logbook at `book_folder` and return its key; its files lie in a folder of that name beside.

    Takes what `start_trial` takes. FaultsError names each value that is wrong, or a title that is taken. Whatever goes
    wrong, nothing is changed.
    """
    fields = {"title": title, "start": start, "zone": zone, **more}
    empty = tuple(Fault("is empty.", "Write something there.", name) for name, value in fields.items() if not value)
    if empty:
        raise FaultsError(empty)
    trial, text = _written(title, start=start, zone=zone, seed=None, **more)
    return keep_started(book_folder, trial, text, named=title)


def keep_started(book_folder: Path, trial: Trial, text: str, *, named: str) -> str:
    """Write a new trial's files beside the logbook at `book_folder`, take it in, and return its key.

    `named` is the title that a person gave it. FaultsError where its key is taken; then nothing is changed.
    """
    book_folder = book_folder.resolve()  # so that `.` has a name and a folder around it
    folder = book_folder.parent / trial.key
    if trial.key in OUR_FOLDERS or trial.key == book_folder.name:
        what = f"{named!r} would keep its files in “{trial.key}”, which is a folder of Littoral's own."
        raise FaultsError([Fault(what, "Give this trial a longer title.", "title")])
    taken = FaultsError([Fault(f"{named!r} is taken already.", "Give this trial another title.", "title")])
    with Logbook.open(book_folder) as book:
        if trial.key in book.trials():
            raise taken
        try:
            folder.mkdir()  # of two at once one makes it, so that the other never clears it away
        except FileExistsError:
            raise taken from None
        try:
            _write(folder, trial, text)
            book.take_in(trial, text)
        except BaseException:
            shutil.rmtree(folder, ignore_errors=True)
            raise
    return trial.key


def taken_keys(book_folder: Path) -> tuple[str, ...]:
    """Return every key that a new trial of this logbook cannot have: those of trials, and of folders beside it."""
    around = book_folder.resolve()
    trials: tuple[str, ...] = ()
    if is_logbook(around):
        with Logbook.open(around) as book:
            trials = book.trials()
    beside = [one.name for one in around.parent.iterdir() if one.is_dir()] if around.parent.is_dir() else []
    return (*trials, *sorted({*beside, *OUR_FOLDERS, around.name} - set(trials)))


def _written(title: str, *, start: str | None, zone: str | None, seed: int | None, **more: str) -> tuple[Trial, str]:
    """Return a new trial with its text, read once; FaultsError where a value makes no valid trial."""
    if more.get("first", "first").casefold() == more.get("second", "second").casefold():
        raise FaultsError([Fault("is the name of the first regime, too.", "Give it a name of its own.", "second")])
    text = starting_text(
        title=title,
        start=start or date.today().isoformat(),
        zone=zone or machine_zone(),
        seed=secrets.randbelow(2**31) if seed is None else seed,
        **more,
    )
    trial, faults = read_trial(text, where="the new trial")
    if trial is None or faults:
        raise FaultsError([replace(fault, line=None) for fault in faults])  # of a file that is not written
    return trial, text


def _write(folder: Path, trial: Trial, text: str) -> Started:
    for view in trial.views.values():
        (folder / view.photos).mkdir(parents=True, exist_ok=True)
    write_whole(folder / TRIAL_FILE, text.encode())
    write_whole(folder / ENTRIES_FILE, starting_entries().encode())
    return Started(trial, folder / TRIAL_FILE, folder / ENTRIES_FILE)
