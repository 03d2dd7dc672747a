"""Take a trial with its entries and photos into a logbook: all of it or nothing."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from littoral.acts.check_trial import check_trial
from littoral.errors import Fault, FaultsError
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.trial.entries import Photo


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import changed; `left_out` are photos that were left out because they are bad.

    `corrected` counts entries and photos that took the place of others, `withdrawn` those that the entries file no
    longer holds; the old ones stay in the logbook, superseded. `version` counts the texts of the trial that the logbook
    holds, the last in force, and `text_changed` says that this import brought another than the one before.
    """

    trial: str
    new_entries: int
    new_photos: int
    corrected: int
    withdrawn: int
    left_out: tuple[Fault, ...]
    version: int = 1
    text_changed: bool = False

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return asdict(self)

    def text_words(self) -> str:
        """Return one line where the trial's text changed, else ""."""
        return f"the trial's text changed: version {self.version} is in force" if self.text_changed else ""


def import_trial(
    folder: Path,
    file: Path,
    *,
    entries_file: Path | None = None,
    leave_out_bad_photos: bool = False,
    now: datetime | None = None,
    progress: Progress | None = None,
) -> Imported:
    """Check a trial's files and write them to the logbook at `folder`, which is made if missing.

    FaultsError with every mistake, and nothing changed, where there is any; with `leave_out_bad_photos` faults of
    single photos only leave those out. Importing the same files again changes nothing; importing them mended corrects
    what the logbook holds of them, and withdraws rows that are gone. Raises what `Logbook` raises.
    """
    checked = check_trial(file, entries_file=entries_file, now=now, progress=progress)
    left_out = checked.photo_faults if leave_out_bad_photos else ()
    blocking = tuple(fault for fault in checked.faults if fault not in left_out)
    if blocking or checked.trial is None:
        raise FaultsError(blocking)
    with Logbook.create(folder, shared=True) as book:
        book.keep_originals({photo.sha256: (photo.path, photo.suffix) for photo in checked.photos})
        key = checked.trial.key
        before = len(book.written(key)) if key in book.trials() else 0
        changes = book.take_in(
            checked.trial,
            checked.text,
            [*checked.entries, *(photo.entry for photo in checked.photos)],
            file=checked.entries_file,
            kept={photo.sha256: (photo.suffix, photo.size_bytes) for photo in checked.photos},
        )
        version = len(book.written(key))
    photos = sum(isinstance(entry.payload, Photo) for entry in changes.new)
    return Imported(
        trial=checked.trial.key,
        new_entries=len(changes.new) - photos,
        new_photos=photos,
        corrected=len(changes.corrected),
        withdrawn=len(changes.withdrawn),
        left_out=tuple(left_out),
        version=version,
        text_changed=0 < before < version,
    )
