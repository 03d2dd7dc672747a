"""A whole logbook moved into a new folder, with its entries in a file or on a server there; the old one is left alone.

Photos are copied first, each compared with its hash; what is there already from a try that was cut off is not copied
again. Then, while nobody can write in the old one, all rows go over in one transaction, which is kept only if the
digest of every table is the same on both sides. The new folder gets its name last.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, text

from littoral.errors import LittoralError
from littoral.logbook.backup import FOLDER as BACKUPS
from littoral.logbook.backup import copy_original
from littoral.logbook.database import engine_for, reading, writing
from littoral.logbook.every_row import copy_rows, digest_of
from littoral.logbook.opening import bind, engine_of, is_empty, let_go
from littoral.logbook.originals import path_of
from littoral.logbook.refused import DATABASE, NoLogbookError
from littoral.logbook.restore import NotNewError
from littoral.logbook.schema import bring_up_to_date
from littoral.logbook.server import engine_at
from littoral.logbook.space import need_room
from littoral.logbook.verify import OriginalRow, hash_of, original_rows
from littoral.logbook.where_kept import NOTE, OtherDatabaseError, address_words, is_logbook
from littoral.logbook.whole_files import UnwrittenFileError, make_folders, sync_folder
from littoral.logbook.writable import refusal_of_the_disk
from littoral.progress import Progress

ORIGINALS = "originals"


class NotMovedError(LittoralError):
    """What arrived was not what was sent; nothing was kept of it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(
            f"{folder} was not moved: what arrived differs from what is there. Nothing was kept of it, and the logbook "
            "is as it was. `littoral verify LOGBOOK` says whether it is whole."
        )


@dataclass(frozen=True, slots=True)
class Moved:
    """A logbook that was moved: its rows {table: rows}, their digest, and originals that the old one had lost."""

    folder: Path
    rows: dict[str, int]
    digest: str
    lost: tuple[str, ...]


def move(source: Path, folder: Path, *, to: URL | None, progress: Progress | None = None) -> Moved:
    """Move the logbook at `source` into `folder`, which is new: to a database on a server, or (None) into a file.

    NoLogbookError, NotNewError, OtherDatabaseError where the database holds something, NoRoomError, NotMovedError,
    UnwrittenFileError, RefusedByDatabaseError. Whatever goes wrong, doing it again goes on from there.
    """
    source, folder = source.resolve(), folder.absolute()
    if not is_logbook(source):
        raise NoLogbookError(source)
    if folder.exists():
        raise NotNewError(folder)
    part = folder.with_name(f".{folder.name}.moving")
    theirs = engine_of(source)
    if theirs.url == to:
        raise OtherDatabaseError(folder, address_words(to), "it is that of the logbook that is to be moved")
    bring_up_to_date(theirs, source / DATABASE, may_write=refusal_of_the_disk(source / DATABASE) is None)
    try:
        make_folders(part)
        with reading(theirs) as connection:
            _copy_originals(source, part, original_rows(connection), progress)
        with _held(theirs, source) as connection:
            lost = _copy_originals(source, part, original_rows(connection), None)
            _copy_others(source, part)
            digest, counts = _rows_over(connection, part, folder, to, progress)
        sync_folder(part)
        part.rename(folder)
        sync_folder(folder.parent)
    except OSError as error:
        raise UnwrittenFileError(folder, error) from error
    finally:
        let_go(theirs)
    return Moved(folder, counts, digest, lost)


@contextmanager
def _held(engine: Engine, source: Path) -> Iterator[Connection]:
    """Read while nobody can write; a logbook that may not be written stands still by itself."""
    still = refusal_of_the_disk(source / DATABASE) is not None
    with reading(engine) if still else writing(engine) as connection:
        yield connection


def _rows_over(
    source: Connection, part: Path, folder: Path, to: URL | None, progress: Progress | None
) -> tuple[str, dict[str, int]]:
    sent = digest_of(source)
    if to is None:
        (part / DATABASE).unlink(missing_ok=True)
        target = engine_for(part / DATABASE)
        bring_up_to_date(target, part / DATABASE)
        try:
            with writing(target) as connection:
                counts = copy_rows(source, connection, progress=progress)
                if digest_of(connection) != sent:
                    raise NotMovedError(folder)
        finally:
            target.dispose()
        (part / NOTE).unlink(missing_ok=True)
        return sent, counts
    for left in (DATABASE, f"{DATABASE}-journal"):  # of an earlier try that went into a file
        (part / left).unlink(missing_ok=True)
    target = engine_at(to)
    bring_up_to_date(target, part / DATABASE)
    with writing(target) as connection:
        theirs = connection.execute(text("SELECT folder FROM logbook")).scalar()
        if theirs not in (None, str(folder)):
            raise OtherDatabaseError(folder, address_words(to), f"it is that of {theirs}")
        if is_empty(connection):
            counts = copy_rows(source, connection, progress=progress)
        elif theirs is None or digest_of(connection) != sent:
            raise OtherDatabaseError(folder, address_words(to), "it is not empty")
        else:  # all arrived at an earlier try, which was cut off before the folder got its name
            counts = {}
        if digest_of(connection) != sent:
            raise NotMovedError(folder)
        bind(connection, part, folder)
    return sent, counts


def _copy_originals(
    source: Path, part: Path, kept: tuple[OriginalRow, ...], progress: Progress | None
) -> tuple[str, ...]:
    named = [row for row in kept if row.names_a_file()]
    missing = [row for row in named if not _is_whole(part, row)]
    need_room(part, sum(row.size_bytes for row in missing))
    lost = [row.sha256 for row in kept if not row.names_a_file()]
    for number, row in enumerate(missing):
        if progress is not None:
            progress(number, len(missing), "copying photos")
        if not copy_original(path_of(source, row.sha256, row.suffix), part, row):
            lost.append(row.sha256)
    return tuple(lost)


def _is_whole(part: Path, row: OriginalRow) -> bool:
    try:
        return hash_of(path_of(part, row.sha256, row.suffix)) == (row.sha256, row.size_bytes)
    except OSError:
        return False


def _copy_others(source: Path, part: Path) -> None:
    """Copy what else lies in the folder: devices, jobs, what was measured. Backups are the old logbook's own."""
    left = {DATABASE, f"{DATABASE}-journal", NOTE, ORIGINALS, BACKUPS}
    for path in sorted(source.iterdir()):
        if path.name in left or path.is_symlink() or path.name.endswith(".part"):
            continue
        if path.is_dir():
            shutil.copytree(path, part / path.name, dirs_exist_ok=True)
        else:
            shutil.copy2(path, part / path.name)
