"""Write a logbook out as plain files: lossless ones to make a logbook of again, and a table for a spreadsheet."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from littoral.errors import LittoralError
from littoral.logbook import archive
from littoral.logbook.book import Logbook
from littoral.logbook.payloads import kind_of, to_json
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress
from littoral.publish.spreadsheet import Cell, csv_text
from littoral.trial.entries import Entry

TABLE = "entries.csv"
README = """A logbook of Littoral as plain files.

trials.jsonl     every text of every trial, one JSON object a line; the last of a key is in force
entries.jsonl    every entry ever recorded; `supersedes` names the one it corrects or withdraws
elsewhere.jsonl  what data packages said was measured on photos that are not here
originals.jsonl  the photos' SHA-256 hashes and sizes; the photos lie in originals/
manifest.json    hashes of these files
entries.csv      the entries in force, for a spreadsheet; a text that begins like a formula has ' before it

`littoral restore THISFOLDER NEWFOLDER` makes a logbook of it again, with nothing lost; entries.csv is not read then.
"""
COLUMNS = ("trial", "at_utc", "zone", "tank", "kind", "amounts", "who", "note", "id")


class NotEmptyError(LittoralError):
    """A logbook was to be exported where there is something already."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(f"{folder} is there already and not empty; nothing was changed. Name a new folder.")


@dataclass(frozen=True, slots=True)
class Exported:
    """What an export holds; `lost` are photos that the logbook itself no longer had whole."""

    folder: Path
    texts: int
    entries: int
    originals: int
    lost: tuple[str, ...]


def export_logbook(book_folder: Path, folder: Path, *, now: datetime, progress: Progress | None = None) -> Exported:
    """Write the logbook at `book_folder` as plain files into `folder`, which is new or empty.

    NoLogbookError, NotEmptyError, NoRoomError, UnwrittenFileError.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise NotEmptyError(folder)
    with Logbook.open(book_folder) as book:
        rows = [_cells(entry) for key in book.trials() for entry in book.entries(key)]
        write_whole(folder / TABLE, csv_text(COLUMNS, rows).encode())
        write_whole(folder / "README.txt", README.encode())
        counts, lost = archive.write_archive(book.folder, folder, now=now, progress=progress)
    return Exported(folder, counts["trial_text"], counts["entry"], counts["original"] - len(lost), lost)


def _cells(entry: Entry) -> tuple[Cell, ...]:
    said = json.loads(to_json(entry.payload))
    amounts = "; ".join(f"{name} {value}" for name, value in said.items() if value not in (None, ""))
    kind = kind_of(entry.payload)
    at = entry.at.isoformat(timespec="seconds")
    return entry.trial, at, entry.zone, entry.tank, kind, amounts, entry.who, entry.note, entry.id
