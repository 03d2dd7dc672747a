"""Backups of a logbook: its database as of one moment, and a copy of every original, once, by hash.

    backups/
      originals/ab/abcd….jpg        copies of originals, shared by all backups, never links
      2026-03-02T080000Z/           one backup
        logbook.sqlite3
        manifest.json               hashes and sizes of all it needs; without it there is no backup

A backup is made under a name that counts for nothing and renamed when it is whole and on the disk.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from littoral import __version__
from littoral.errors import LittoralError
from littoral.logbook.backup_keeping import Keeping, to_prune
from littoral.logbook.database import BUSY_TIMEOUT_MS
from littoral.logbook.originals import path_of, sha256_of
from littoral.logbook.server_copy import copy_shared
from littoral.logbook.space import need_room
from littoral.logbook.verify import OriginalRow, hash_of
from littoral.logbook.where_kept import NOTE
from littoral.logbook.whole_files import UnwrittenFileError, make_folders, sync_folder, write_whole
from littoral.progress import Progress

FOLDER = "backups"
MANIFEST = "manifest.json"
LOCK = ".lock.sqlite3"
FORMAT = "littoral backup 1"
_NAME = re.compile(r"(\d{4}-\d\d-\d\dT\d{6}Z)(-\d+)?\Z")


class BackupRunningError(LittoralError):
    """Another backup is being made into the same folder."""

    def __init__(self, to: Path) -> None:
        self.to = to
        super().__init__(f"a backup is being made in {to} right now; nothing was changed. Try again when it is done.")


class DamagedLogbookError(LittoralError):
    """The logbook's database is damaged, so that a backup of it would be worth nothing; older ones stay."""

    def __init__(self, file: Path, problem: str) -> None:
        self.file = file
        super().__init__(
            f"{file} is damaged ({problem}), so no backup was made of it and none was removed. "
            "`littoral verify LOGBOOK` says what is wrong; `littoral restore BACKUP NEWFOLDER` makes a logbook of the "
            "last backup."
        )


@dataclass(frozen=True, slots=True)
class Backup:
    """One backup: where it lies, when it was made, and what it needs.

    `lost` are the originals that the logbook itself no longer had whole, and that no earlier backup had either.
    """

    path: Path
    made_at: datetime
    database_sha256: str
    database_bytes: int
    originals: tuple[OriginalRow, ...]
    lost: tuple[str, ...]


def backups_in(folder: Path) -> dict[str, datetime]:
    """Return the backups in a folder, {name: moment it was made}, by their names alone, oldest first."""
    found: dict[str, datetime] = {}
    if folder.is_dir():
        for path in sorted(folder.iterdir()):
            name = _NAME.match(path.name)
            if name and (path / MANIFEST).is_file():
                found[path.name] = datetime.strptime(name[1], "%Y-%m-%dT%H%M%SZ").replace(tzinfo=UTC)
    return found


def back_up(
    book_folder: Path,
    to: Path,
    *,
    database: str,
    now: datetime,
    keeping: Keeping,
    progress: Progress | None = None,
) -> tuple[Backup, tuple[str, ...]]:
    """Back a logbook up into the folder `to`, prune what `keeping` lets go, and return the backup and what went.

    Writers of the logbook may go on meanwhile. NoRoomError before anything is copied; DamagedLogbookError;
    UnwrittenFileError. Whatever goes wrong, no backup that was there is touched.
    """
    source = book_folder / database
    shared = (book_folder / NOTE).is_file()
    try:
        make_folders(to)
        with _alone(to):
            _clear_parts(to)
            need_room(to, 0 if shared else source.stat().st_size)
            part = to / f".{secrets.token_hex(8)}.part"
            part.mkdir()
            try:
                kept = (copy_shared if shared else _copy_database)(source, part / database)
                lost = _copy_originals(book_folder, to, kept, progress=progress)
                sha256, size_bytes = hash_of(part / database)
                backup = Backup(_free_name(to, now), now, sha256, size_bytes, kept, lost)
                write_whole(part / MANIFEST, _manifest(backup, database).encode())
                part.rename(backup.path)
                sync_folder(to)
            except BaseException:
                shutil.rmtree(part, ignore_errors=True)
                raise
            gone = to_prune(backups_in(to), now=now, keeping=keeping)
            for name in gone:
                _remove(to / name)
    except OSError as error:
        raise UnwrittenFileError(to, error) from error
    return backup, gone


def read_manifest(path: Path) -> tuple[Backup, str]:
    """Return the backup at `path` and its database's name; ValueError where its manifest is none of ours."""
    said: dict[str, Any] = json.loads((path / MANIFEST).read_text("utf-8"))
    if said.get("format") != FORMAT:
        raise ValueError(f"its format is {said.get('format')!r}, not {FORMAT!r}")
    held = said["database"]
    originals, lost = tuple(OriginalRow(**row) for row in said["originals"]), tuple(str(one) for one in said["lost"])
    if not all(row.names_a_file() for row in originals if row.sha256 not in lost):
        raise ValueError("it names an original by what is no SHA-256")
    return Backup(
        path=path,
        made_at=datetime.fromisoformat(said["made_at"]),
        database_sha256=str(held["sha256"]),
        database_bytes=int(held["size_bytes"]),
        originals=originals,
        lost=lost,
    ), str(held["file"])


def copy_original(source: Path, to_folder: Path, row: OriginalRow) -> bool:
    """Copy one original under `to_folder` and return whether it had the hash of its row; only then it was copied."""
    try:
        data = source.read_bytes()
    except OSError:
        return False
    if sha256_of(data) != row.sha256:
        return False
    write_whole(path_of(to_folder, row.sha256, row.suffix), data)
    return True


def _copy_database(source: Path, target: Path) -> tuple[OriginalRow, ...]:
    """Copy the database as of one moment, check the copy, and return the originals that it names."""
    timeout = BUSY_TIMEOUT_MS / 1000
    here, there = sqlite3.connect(source, timeout=timeout), sqlite3.connect(target, isolation_level=None)
    try:
        here.backup(there)
        problems = [row[0] for row in there.execute("PRAGMA integrity_check(1)")]
        if problems != ["ok"]:
            raise DamagedLogbookError(source, str(problems[0]))
        query = "SELECT sha256, suffix, size_bytes FROM original ORDER BY sha256"
        kept = tuple(OriginalRow(*row) for row in there.execute(query))
    except sqlite3.DatabaseError as error:
        raise DamagedLogbookError(source, str(error)) from error
    finally:
        there.close()
        here.close()
    with target.open("rb+") as file:
        os.fsync(file.fileno())
    return kept


def _copy_originals(
    book_folder: Path, to: Path, kept: Sequence[OriginalRow], *, progress: Progress | None
) -> tuple[str, ...]:
    """Copy the originals that no backup has yet, and return those that could not be had whole."""
    lost = [row.sha256 for row in kept if not row.names_a_file()]
    named = [row for row in kept if row.names_a_file()]
    missing = [row for row in named if not _is_there(path_of(to, row.sha256, row.suffix), row.size_bytes)]
    need_room(to, sum(row.size_bytes for row in missing))
    for number, row in enumerate(missing):
        if progress is not None:
            progress(number, len(missing), "copying photos")
        if not copy_original(path_of(book_folder, row.sha256, row.suffix), to, row):
            lost.append(row.sha256)
    # Copies that were there already may be of a backup that was cut off before their names were on the disk.
    there = {path.parent for row in named if (path := path_of(to, row.sha256, row.suffix)).exists()}
    for folder in sorted(there | {one.parent for one in there}):
        sync_folder(folder)
    return tuple(lost)


def _is_there(path: Path, size_bytes: int) -> bool:
    try:
        return path.stat().st_size == size_bytes
    except OSError:
        return False


def _manifest(backup: Backup, database: str) -> str:
    said = {
        "format": FORMAT,
        "made_at": backup.made_at.astimezone(UTC).isoformat(),
        "made_by": f"littoral {__version__}",
        "database": {"file": database, "sha256": backup.database_sha256, "size_bytes": backup.database_bytes},
        "originals": [asdict(row) for row in backup.originals],
        "lost": list(backup.lost),
    }
    return json.dumps(said, indent=1) + "\n"


def _free_name(to: Path, now: datetime) -> Path:
    name = f"{now.astimezone(UTC):%Y-%m-%dT%H%M%SZ}"
    path, number = to / name, 2
    while path.exists():
        path, number = to / f"{name}-{number}", number + 1
    return path


def _remove(path: Path) -> None:
    """Remove a backup so that a crash on the way leaves no half of one: without its manifest it is none."""
    (path / MANIFEST).unlink()
    sync_folder(path)
    shutil.rmtree(path)


def _clear_parts(to: Path) -> None:
    """Remove what a crash left of a backup that was not finished, and of one that was being removed."""
    for path in to.iterdir():
        unfinished = path.name.startswith(".") and path.name.endswith(".part")
        half_removed = _NAME.match(path.name) and not (path / MANIFEST).is_file()
        if path.is_dir() and (unfinished or half_removed):
            shutil.rmtree(path)


@contextmanager
def _alone(to: Path) -> Iterator[None]:
    """Hold the right to make backups in a folder; the system gives it back even where the process is killed."""
    lock = sqlite3.connect(to / LOCK, timeout=0, isolation_level=None)
    try:
        try:
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            raise BackupRunningError(to) from error
        yield
    finally:
        lock.close()
