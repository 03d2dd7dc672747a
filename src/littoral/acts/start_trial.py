"""Start a trial: the files a person then edits."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from littoral.errors import FaultsError, LittoralError
from littoral.logbook.originals import write_whole
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_entries, starting_text

TRIAL_FILE, ENTRIES_FILE = "trial.toml", "entries.csv"


class FolderInUseError(LittoralError):
    """The folder for a new trial holds something already."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(f"{folder} is there already and not empty; nothing was changed. Name a new folder.")


@dataclass(frozen=True, slots=True)
class Started:
    """The files of a new trial."""

    trial_file: Path
    entries_file: Path
    text: str


def start_trial(
    folder: Path,
    *,
    title: str,
    start: str | None = None,
    glass: str | None = None,
    seed: int | None = None,
    **more: str,
) -> Started:
    """Write a trial file with sensible defaults, an entries file with its header, and a folder for each view's photos.

    Which tank gets which arm is drawn by lot, and the lot's `seed` is kept in the file; it is fresh unless given.
    FolderInUseError where the folder is not empty; FaultsError where a value given makes no valid trial.
    """
    values = {"start": start or date.today().isoformat(), "glass": glass, **more}
    lot = secrets.randbelow(2**31) if seed is None else seed
    text = starting_text(title=title, seed=lot, **{name: value for name, value in values.items() if value is not None})
    trial, faults = read_trial(text, where=TRIAL_FILE)
    if trial is None or faults:
        raise FaultsError(faults)
    if folder.exists() and any(folder.iterdir()):
        raise FolderInUseError(folder)
    for view in trial.views.values():
        (folder / view.photos).mkdir(parents=True, exist_ok=True)
    write_whole(folder / TRIAL_FILE, text.encode())
    write_whole(folder / ENTRIES_FILE, starting_entries().encode())
    return Started(folder / TRIAL_FILE, folder / ENTRIES_FILE, text)
