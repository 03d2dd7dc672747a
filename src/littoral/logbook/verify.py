"""Whether a logbook holds what it says: every row, every original, every link, each checked and counted.

Nothing is changed, and an older schema is read as it is.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select
from sqlalchemy.exc import SQLAlchemyError

from littoral.errors import LittoralError
from littoral.logbook import tables
from littoral.logbook.database import RefusedByDatabaseError, engine_for, reading
from littoral.logbook.elsewhere import photos_elsewhere
from littoral.logbook.opening import engine_of, let_go
from littoral.logbook.originals import path_of
from littoral.logbook.payloads import from_json
from littoral.logbook.server import on_server
from littoral.logbook.space import free_bytes_at, space_row
from littoral.logbook.where_kept import NOTE
from littoral.progress import Progress
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.trial.entries import Photo
from littoral.trial.written.reader import read_trial

BLOCK_BYTES = 1 << 20
SHOWN = 3
MISSING = "originals: there"
COPY_OUT = "copy it from the `originals` folder of a backup to the same place here."
PUT_BACK = "Put it back from a backup: `littoral restore BACKUP NEWFOLDER` makes a whole logbook of one."


@dataclass(frozen=True, slots=True)
class OriginalRow:
    """What the database says of one original."""

    sha256: str
    suffix: str
    size_bytes: int

    def names_a_file(self) -> bool:
        """Return whether hash and suffix are such that a path may be made of them."""
        try:
            path_of(Path(), self.sha256, self.suffix)
        except ValueError:
            return False
        return True


def verify(
    folder: Path, *, database: str, pool: Path | None = None, progress: Progress | None = None
) -> tuple[CheckRow, ...]:
    """Check the logbook at `folder`, whose database is the file of that name in it, and return a row for each check.

    `pool` is where its originals lie, if not in `folder`: with those of others, so that none is in the way there.

    A row "fails" where something acknowledged is lost or wrong; it "warns" of what harms nothing, such as a file that
    no row names, which a crash between the copy of a photo and its row can leave. Never raises for a broken logbook.
    """
    found: list[CheckRow] = []
    try:
        engine = engine_of(folder) if (folder / NOTE).is_file() else engine_for(folder / database)
    except LittoralError as error:
        return (_row("database: can be read", [str(error)], "problem", ""),)
    try:
        with reading(engine) as connection:
            found += _database(connection)
            found += _entries(connection)
            found += _texts(connection)
            kept = original_rows(connection)
    except (RefusedByDatabaseError, SQLAlchemyError, ValueError) as error:
        said = error if isinstance(error, LittoralError) else f"{type(error).__name__}: {error}"
        found.append(_row("database: can be read", [str(said)], "problem", PUT_BACK))
        return tuple(found)
    finally:
        let_go(engine)
    found += check_originals(pool or folder, kept, progress=progress)
    if pool is None:
        found.append(_unnamed(folder, kept))
    found.append(space_row(folder, free_bytes_at(folder)))
    return tuple(found)


def original_rows(connection: Connection) -> tuple[OriginalRow, ...]:
    """Return what the database says of each original."""
    table = tables.original.c
    query = select(table.sha256, table.suffix, table.size_bytes).order_by(table.sha256)
    return tuple(OriginalRow(row.sha256, row.suffix, row.size_bytes) for row in connection.execute(query))


def check_originals(
    folder: Path, kept: Sequence[OriginalRow], *, progress: Progress | None = None
) -> tuple[CheckRow, ...]:
    """Read every original under `folder` and compare it with its row: there, readable, of the hash that names it."""
    missing, unreadable, changed = [], [], []
    for number, row in enumerate(kept):
        if progress is not None:
            progress(number, len(kept), "checking originals")
        try:
            path = path_of(folder, row.sha256, row.suffix)
            sha256, size_bytes = hash_of(path)
        except FileNotFoundError:
            missing.append(_short(row))
        except (OSError, ValueError) as error:
            unreadable.append(f"{_short(row)} ({getattr(error, 'strerror', None) or error})")
        else:
            if (sha256, size_bytes) != (row.sha256, row.size_bytes):
                changed.append(_short(row))
    return (
        _row(MISSING, missing, "missing", "Import the photo again, or " + COPY_OUT),
        _row("originals: can be read", unreadable, "unreadable", "Let this user read it, or " + COPY_OUT),
        _row("originals: unchanged, by SHA-256", changed, "changed", "To put it right, " + COPY_OUT),
    )


def _short(row: OriginalRow) -> str:
    return f"{row.sha256[:12]}…"


def hash_of(path: Path) -> tuple[str, int]:
    """Return the SHA-256 of a file and its bytes, read in blocks. Raises OSError."""
    digest, size_bytes = hashlib.sha256(), 0
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            digest.update(block)
            size_bytes += len(block)
    return digest.hexdigest(), size_bytes


def failures(rows: Iterable[CheckRow]) -> tuple[CheckRow, ...]:
    """Return the rows that fail."""
    return tuple(row for row in rows if row.verdict == "fails")


def _database(connection: Connection) -> list[CheckRow]:
    if on_server(connection.engine):
        return _server(connection)
    whole = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
    links = [f"{row[0]} row {row[1]}" for row in connection.exec_driver_sql("PRAGMA foreign_key_check")]
    return [
        _row("database: pages and indexes", [] if whole == ["ok"] else whole, "problem", PUT_BACK),
        _row("database: links between rows", links, "broken", PUT_BACK),
    ]


def _server(connection: Connection) -> list[CheckRow]:
    asked = ("fsync", "full_page_writes")
    off = [name for name in asked if connection.exec_driver_sql(f"SHOW {name}").scalar() == "off"]
    broken = connection.exec_driver_sql(
        "SELECT id FROM entry WHERE supersedes IS NOT NULL AND supersedes NOT IN (SELECT id FROM entry)"
    ).scalars()
    right = "Switch it on: without it a power cut can lose what was saved."
    return [
        _row("database: the server writes to its disk", off, "switched off", right, verdict="warns"),
        _row("database: links between rows", list(broken), "broken", PUT_BACK),
    ]


def _entries(connection: Connection) -> list[CheckRow]:
    kept = set(connection.execute(select(tables.original.c.sha256)).scalars())
    kept |= photos_elsewhere(connection)  # left out of a package: its measures are here instead
    trials = set(connection.execute(select(tables.trial_text.c.key)).scalars())
    unreadable, homeless, pictureless = [], [], []
    before: dict[str, str] = {}
    # As it is written: a time that cannot be read is a finding about one entry, not the end of the check.
    columns = "id, trial, at, zone, kind, payload, supersedes, recorded_at"
    for row in connection.exec_driver_sql(f"SELECT {columns} FROM entry ORDER BY id"):
        try:
            ZoneInfo(row.zone)
            _instant(row.at)
            _instant(row.recorded_at)
            payload = from_json(row.kind, row.payload)
        except (LittoralError, ValueError, TypeError, KeyError, OSError) as error:
            unreadable.append(f"{row.id} ({error})")
        else:
            if isinstance(payload, Photo) and payload.sha256 not in kept:
                pictureless.append(row.id)
        if row.trial not in trials:
            homeless.append(row.id)
        if row.supersedes is not None:
            before[row.id] = row.supersedes
    twice = [one for one, count in Counter(before.values()).items() if count > 1]
    right = "Open the logbook with the newest version of Littoral. " + PUT_BACK
    return [
        _row("entries: can be read", unreadable, "unreadable", right),
        _row("entries: of a trial that is there", homeless, "without", PUT_BACK),
        _row("photos: with their original", pictureless, "without", PUT_BACK),
        _row("corrections: lead to a last one", _circles(before), "in a circle", PUT_BACK),
        _row("corrections: one for an entry", twice, "twice", "Withdraw the wrong one.", verdict="warns"),
    ]


def _instant(text: str) -> datetime:
    at = datetime.fromisoformat(text)
    if at.utcoffset() is None:
        raise ValueError(f"{text!r} has no time zone")
    return at


def _circles(before: dict[str, str]) -> list[str]:
    circles, ended = [], set[str]()
    for start in sorted(before):
        path: dict[str, None] = {}
        one = start
        while one in before and one not in path and one not in ended:
            path[one] = None
            one = before[one]
        if one in path:
            circles.append(one)
        ended.update(path)
    return circles


def _texts(connection: Connection) -> list[CheckRow]:
    text = tables.trial_text.c
    latest = {row.key: row.text for row in connection.execute(select(text.key, text.text).order_by(text.id))}
    wrong = [f"{key} ({faults[0]})" for key, said in latest.items() if (faults := read_trial(said, where=key)[1])]
    return [_row("trials: their text can be read", wrong, "unreadable", "Import a mended trial file.")]


def _unnamed(folder: Path, kept: Sequence[OriginalRow]) -> CheckRow:
    named = {path_of(folder, row.sha256, row.suffix) for row in kept if row.names_a_file()}
    there = (path for path in sorted((folder / "originals").rglob("*")) if not path.is_dir())
    unnamed = [path.relative_to(folder).as_posix() for path in there if path not in named]
    right = "It harms nothing: importing the photo again gives it its row; what is no photo can be moved away."
    return _row("originals: each file has its row", unnamed, "without", right, verdict="warns")


def _row(what: str, wrong: Sequence[str], unit: str, right: str, *, verdict: Verdict = "fails") -> CheckRow:
    shown = ", ".join(one[:120] for one in wrong[:SHOWN]) + (" …" if len(wrong) > SHOWN else "")
    return CheckRow(
        what=what,
        value=float(len(wrong)),
        operator="<=",
        limit=0.0,
        unit=unit,
        verdict=verdict if wrong else "holds",
        comment=f"{shown}. {right}" if wrong else "",
        source="",
    )
