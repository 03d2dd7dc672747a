"""Check a trial's files: all mistakes at once, nothing written."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from littoral.acts.stock_warnings import StockWarning, stock_warnings
from littoral.acts.trial_files import FoundPhoto, photos_on_disk, read_photos, read_small
from littoral.errors import Fault, extras_needed
from littoral.progress import Progress
from littoral.quantities.counting import counted
from littoral.trial.entries import Entry
from littoral.trial.model import Trial
from littoral.trial.written.entries_csv import read_entries
from littoral.trial.written.reader import read_trial

ENTRIES_FILE = "entries.csv"


@dataclass(frozen=True, slots=True)
class CheckedTrial:
    """What a trial's files hold, and every fault in them; `trial` is None where its own file cannot be understood.

    `entries_file` is the name of the file that the entries are rows of, None where there was none. `photo_faults` are
    about single photos and folders, `faults` holds those and all others. `warnings` are no mistakes: what may fall out,
    not dissolve or spoil in the trial's bottles.
    """

    file: Path
    text: str
    trial: Trial | None
    entries: tuple[Entry, ...]
    entries_file: str | None
    photos: tuple[FoundPhoto, ...]
    faults: tuple[Fault, ...]
    photo_faults: tuple[Fault, ...]
    warnings: tuple[StockWarning, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return counts and faults as plain data."""
        return {
            "file": str(self.file),
            "trial": self.trial.key if self.trial else None,
            "entries": len(self.entries),
            "photos": len(self.photos),
            "faults": [asdict(fault) for fault in self.faults],
            "warnings": [warning.as_json() for warning in self.warnings],
        }

    def summary(self) -> str:
        """Return one line for a trial without faults."""
        assert self.trial is not None
        return (
            f"{self.file.name}: no mistakes. {counted(self.trial.tanks, 'tank')}, "
            f"{counted(self.trial.questions, 'question')}, {counted(self.entries, 'entry')}, "
            f"{counted(self.photos, 'photo')} in {counted(self.trial.views, 'view')}."
        )


@extras_needed()
def check_trial(
    file: Path, *, entries_file: Path | None = None, now: datetime | None = None, progress: Progress | None = None
) -> CheckedTrial:
    """Read a trial file, its entries (by default entries.csv beside it, if there) and photos; collect every fault.

    UnreadableFileError where a file that was named is not there.
    """
    moment = now or datetime.now(UTC)
    data = read_small(file)
    if b"\x00" in data:
        fault = Fault("is not UTF-8 text; it may be UTF-16.", "Save the trial file with encoding UTF-8.", file.name)
        return _unread(file, "", (fault,))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        fault = Fault("is not UTF-8 text.", "Save the trial file with encoding UTF-8.", file.name, line)
        return _unread(file, "", (fault,))
    trial, found = read_trial(text, where=file.name)
    faults = list(found)
    if trial is None:
        return _unread(file, text, found)
    entries: tuple[Entry, ...] = ()
    source = entries_file or file.parent / ENTRIES_FILE
    named = entries_file is not None or source.exists()
    if named:
        entries, found = read_entries(read_small(source), where=source.name, trial=trial, now=moment)
        faults.extend(found)
    on_disk, photo_faults = photos_on_disk(trial, file.parent)
    photos, found_photo_faults = read_photos(on_disk, trial, file.parent, now=moment, progress=progress)
    photo_faults.extend(found_photo_faults)
    return CheckedTrial(
        file=file,
        text=text,
        trial=trial,
        entries=entries,
        entries_file=source.name if named else None,
        photos=tuple(photos),
        faults=(*faults, *photo_faults),
        photo_faults=tuple(photo_faults),
        warnings=stock_warnings(trial, where=file.name),
    )


def _unread(file: Path, text: str, faults: tuple[Fault, ...]) -> CheckedTrial:
    return CheckedTrial(file, text, None, (), None, (), faults, ())
