"""A logbook made anew from a backup or an export: in a new place only, checked whole before it gets its name."""

from __future__ import annotations

import json
import os
import secrets
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from littoral.errors import LittoralError
from littoral.logbook import archive, backup
from littoral.logbook.originals import path_of
from littoral.logbook.space import need_room
from littoral.logbook.verify import MISSING, OriginalRow, failures, hash_of, verify
from littoral.logbook.whole_files import UnwrittenFileError, make_folders, sync_folder
from littoral.progress import Progress
from littoral.quantities.check_row import CheckRow


class NoBackupError(LittoralError):
    """What was named is neither a backup nor an export."""

    def __init__(self, path: Path, why: str) -> None:
        self.path = path
        within = list(backup.backups_in(path))
        newest = f"the newest backup in it is {path / within[-1]}" if within else ""
        right = newest or "such as logbook/backups/2026-03-02T080000Z"
        super().__init__(
            f"{path} is neither a backup nor an export ({why}). Name a folder with a {backup.MANIFEST} in it: {right}."
        )


class NotNewError(LittoralError):
    """A logbook was to be restored where there is something already."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(f"{folder} is there already; nothing was changed. Name a folder that is new.")


class DamagedBackupError(LittoralError):
    """What was to be restored is not whole; `rows` say what is wrong. Nothing was left behind."""

    def __init__(self, path: Path, why: str, rows: tuple[CheckRow, ...] = ()) -> None:
        self.path, self.rows = path, rows
        more = "".join(f"\n  {row.what}: {row.comment}" for row in rows)
        super().__init__(f"{path} is damaged: {why}. Nothing was changed; take another backup.{more}")


@dataclass(frozen=True, slots=True)
class Restored:
    """A logbook that was made anew: how much it holds, and which originals the backup had lost already."""

    folder: Path
    originals: int
    lost: tuple[str, ...]


def restore(path: Path, folder: Path, *, database: str, progress: Progress | None = None) -> Restored:
    """Make a logbook at `folder`, which is new, from the backup or export at `path`.

    Every file is compared with its hash and the whole is verified before the folder gets its name. NoBackupError,
    NotNewError, DamagedBackupError, NoRoomError, UnwrittenFileError; whatever goes wrong, nothing is left behind.
    """
    if folder.exists():
        raise NotNewError(folder)
    try:
        said = json.loads((path / backup.MANIFEST).read_text("utf-8"))
        kind = said["format"]
    except OSError as error:
        raise NoBackupError(path, error.strerror or str(error)) from None
    except (ValueError, KeyError, TypeError) as error:
        raise DamagedBackupError(path, f"its {backup.MANIFEST} cannot be read ({error})") from None
    makers: dict[str, Callable[[Path, Path, str, Progress | None], tuple[tuple[OriginalRow, ...], tuple[str, ...]]]]
    makers = {backup.FORMAT: _from_backup, archive.FORMAT: _from_archive}
    if kind not in makers:
        raise NoBackupError(path, f"its format is {kind!r}")
    part = folder.absolute().parent / f".{secrets.token_hex(8)}.part"
    try:
        make_folders(part)
        try:
            kept, lost = makers[kind](path, part, database, progress)
            _refuse_if_wrong(path, part, lost, database, progress)
            sync_folder(part)
            part.rename(folder)
            sync_folder(part.parent)
        except BaseException:
            shutil.rmtree(part, ignore_errors=True)
            raise
    except OSError as error:
        raise UnwrittenFileError(folder, error) from error
    return Restored(folder, len(kept) - len(lost), lost)


def _from_backup(
    path: Path, part: Path, database: str, progress: Progress | None
) -> tuple[tuple[OriginalRow, ...], tuple[str, ...]]:
    try:
        said, name = backup.read_manifest(path)
    except (ValueError, KeyError, TypeError) as error:
        raise DamagedBackupError(path, f"its {backup.MANIFEST} cannot be read ({error})") from None
    if name != database:
        raise DamagedBackupError(path, f"its database is called {name!r}")
    need_room(part, said.database_bytes + sum(row.size_bytes for row in said.originals))
    source, target = path / database, part / database
    try:
        shutil.copyfile(source, target)
    except FileNotFoundError:
        raise DamagedBackupError(path, f"{database} is missing") from None
    if hash_of(target) != (said.database_sha256, said.database_bytes):
        raise DamagedBackupError(path, f"{database} has not the hash of its {backup.MANIFEST}")
    with target.open("rb+") as file:
        os.fsync(file.fileno())
    _copy_originals(path, path.parent, part, said.originals, said.lost, progress)
    return said.originals, said.lost


def _from_archive(
    path: Path, part: Path, database: str, progress: Progress | None
) -> tuple[tuple[OriginalRow, ...], tuple[str, ...]]:
    try:
        kept, lost = archive.read_archive(path, part / database)
    except archive.UnreadableArchiveError as error:
        raise DamagedBackupError(path, str(error)) from error
    need_room(part, sum(row.size_bytes for row in kept))
    _copy_originals(path, path, part, kept, lost, progress)
    return kept, lost


def _copy_originals(
    path: Path,
    source: Path,
    part: Path,
    kept: tuple[OriginalRow, ...],
    lost: tuple[str, ...],
    progress: Progress | None,
) -> None:
    for number, row in enumerate(kept):
        if progress is not None:
            progress(number, len(kept), "copying photos")
        if row.sha256 in lost:
            continue
        if not backup.copy_original(path_of(source, row.sha256, row.suffix), part, row):
            raise DamagedBackupError(path, f"its photo {row.sha256} is missing or changed")


def _refuse_if_wrong(path: Path, part: Path, lost: tuple[str, ...], database: str, progress: Progress | None) -> None:
    """Raise DamagedBackupError where more is wrong with what was made than that those originals are not there."""
    wrong = failures(verify(part, database=database, progress=progress))
    if lost:
        wrong = tuple(row for row in wrong if not (row.what == MISSING and row.value == len(lost)))
    if wrong:
        raise DamagedBackupError(path, "what it holds does not verify", wrong)
