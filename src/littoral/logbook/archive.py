"""A logbook as plain files that need no Littoral to be read, with nothing left out, and back again.

    manifest.json      what this is, and the SHA-256 of each file below
    trials.jsonl       every text of every trial, the last of a key in force: one JSON object a line
    entries.jsonl      every entry, corrected and withdrawn ones among them
    originals.jsonl    hash, suffix and size of every original
    elsewhere.jsonl    what data packages said was measured on photos that are not here
    originals/ab/…     the originals themselves

Lines hold the columns of the database as they are there; a payload is an object where it is JSON that we would write
the same way, and otherwise the text as it is.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from littoral import __version__
from littoral.errors import LittoralError
from littoral.logbook.backup import MANIFEST, copy_original
from littoral.logbook.database import engine_for, reading
from littoral.logbook.every_row import raw_rows
from littoral.logbook.opening import engine_of, let_go
from littoral.logbook.originals import path_of
from littoral.logbook.schema import HEAD, bring_up_to_date
from littoral.logbook.space import need_room
from littoral.logbook.tables import metadata
from littoral.logbook.verify import OriginalRow
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress

FORMAT = "littoral export 1"
FILES = {
    "trials.jsonl": "trial_text",
    "entries.jsonl": "entry",
    "originals.jsonl": "original",
    "elsewhere.jsonl": "measured_elsewhere",
}
LATER = ("elsewhere.jsonl",)
"""Files that exports of earlier versions do not have."""


class UnreadableArchiveError(LittoralError):
    """An export cannot be read back."""


def write_archive(
    book_folder: Path, folder: Path, *, now: datetime, progress: Progress | None = None
) -> tuple[dict[str, int], tuple[str, ...]]:
    """Write the logbook of `book_folder` as plain files into `folder`; its manifest comes last.

    Returns how many {table: rows} it has, and the originals that the logbook no longer had whole. NoRoomError before
    anything is written; UnwrittenFileError.
    """
    engine = engine_of(book_folder)
    with reading(engine) as connection:  # one picture of all tables
        lines = {name: list(_lines(connection, table)) for name, table in FILES.items()}
    let_go(engine)
    kept = [
        OriginalRow(*(said[key] for key in ("sha256", "suffix", "size_bytes"))) for said in lines["originals.jsonl"]
    ]
    need_room(folder, sum(row.size_bytes for row in kept))
    hashes = {}
    for name, rows in lines.items():
        data = "".join(json.dumps(row, ensure_ascii=False, sort_keys=True) + "\n" for row in rows).encode()
        hashes[name] = hashlib.sha256(data).hexdigest()
        write_whole(folder / name, data)
    lost = []
    for number, row in enumerate(kept):
        if progress is not None:
            progress(number, len(kept), "copying photos")
        if not row.names_a_file() or not copy_original(path_of(book_folder, row.sha256, row.suffix), folder, row):
            lost.append(row.sha256)
    manifest = {
        "format": FORMAT,
        "made_at": now.astimezone(UTC).isoformat(),
        "made_by": f"littoral {__version__}",
        "schema": HEAD,
        "files": hashes,
        "lost": lost,
    }
    write_whole(folder / MANIFEST, (json.dumps(manifest, indent=1) + "\n").encode())
    return {table: len(lines[name]) for name, table in FILES.items()}, tuple(lost)


def read_archive(folder: Path, database: Path) -> tuple[tuple[OriginalRow, ...], tuple[str, ...]]:
    """Write what an export holds into a new database, and return its originals and those that it had lost.

    UnreadableArchiveError where a file is missing, changed or written by a later format.
    """
    try:
        manifest = json.loads((folder / MANIFEST).read_text("utf-8"))
        hashes = manifest["files"]
        there = [name for name in FILES if name in hashes or name not in LATER]
        read = {name: _read(folder / name, str(hashes[name])) for name in there}
        lost = tuple(str(one) for one in manifest["lost"])
        kept = tuple(_original(said) for said in read["originals.jsonl"])
        if not all(row.names_a_file() for row in kept if row.sha256 not in lost):
            raise ValueError("it names an original by what is no SHA-256")
    except OSError as error:
        raise UnreadableArchiveError(f"{error.filename} cannot be read ({error.strerror})") from error
    except (ValueError, KeyError, TypeError) as error:
        raise UnreadableArchiveError(f"it cannot be read ({type(error).__name__}: {error})") from error
    engine = engine_for(database)
    bring_up_to_date(engine, database)
    engine.dispose()
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous=EXTRA")
        connection.execute("BEGIN IMMEDIATE")
        try:
            for name, lines in read.items():
                _insert(connection, FILES[name], lines)
        except (sqlite3.Error, KeyError, TypeError) as error:
            raise UnreadableArchiveError(f"a line of it does not fit ({type(error).__name__}: {error})") from error
        connection.execute("COMMIT")
    return kept, lost


def _original(said: dict[str, Any]) -> OriginalRow:
    return OriginalRow(str(said["sha256"]), str(said["suffix"]), int(said["size_bytes"]))


def _columns(table: str) -> list[str]:
    return [column.name for column in metadata.tables[table].columns]


def _lines(connection: Connection, table: str) -> Iterator[dict[str, Any]]:
    columns = _columns(table)
    for row in raw_rows(connection, metadata.tables[table]):
        said = dict(zip(columns, row, strict=True))
        if "payload" in said:
            said["payload"] = _object(said["payload"])
        yield said


def _object(text: str) -> Any:
    """Return a payload as the object that it is, or as text where writing it again would give another text."""
    try:
        found = json.loads(text)
        same = isinstance(found, dict) and _text(found) == text
    except ValueError:
        return text
    return found if same else text


def _text(payload: Any) -> str:
    return payload if isinstance(payload, str) else json.dumps(payload, ensure_ascii=False, sort_keys=True)


def _read(path: Path, sha256: str) -> list[dict[str, Any]]:
    data = path.read_bytes()
    if hashlib.sha256(data).hexdigest() != sha256:
        raise ValueError(f"{path.name} has not the hash of its {MANIFEST}")
    return [json.loads(line) for line in data.decode().split("\n") if line]


def _insert(connection: sqlite3.Connection, table: str, rows: Sequence[dict[str, Any]]) -> None:
    columns = _columns(table)
    values = ", ".join("?" * len(columns))
    for row in rows:
        cells = [_text(row[column]) if column == "payload" else row[column] for column in columns]
        connection.execute(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({values})", cells)
