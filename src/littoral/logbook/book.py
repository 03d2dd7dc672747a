"""A logbook: a folder that holds everything. It is the only thing that writes.

`logbook.sqlite3` holds the texts of trials and the stream of entries, `originals/` the photos by content hash, and
`cache/` what was computed from them, which can be deleted at any time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from sqlalchemy import Row, insert, select

from littoral.errors import FaultsError, LittoralError
from littoral.logbook import originals, tables
from littoral.logbook.database import engine_for, reading, writing
from littoral.logbook.payloads import from_json, kind_of, to_json
from littoral.logbook.schema import bring_up_to_date
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial

DATABASE = "logbook.sqlite3"


class NoLogbookError(LittoralError):
    """There is no logbook in this folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(
            f"{folder} holds no logbook (no {DATABASE} in it). `littoral import` makes one from a trial file."
        )


class NoTrialError(LittoralError):
    """The logbook holds no trial of this key."""

    def __init__(self, key: str, known: tuple[str, ...]) -> None:
        self.key, self.known = key, known
        super().__init__(f"no trial {key!r} in this logbook; it holds {', '.join(known) if known else 'none yet'}.")


class NoOriginalError(LittoralError):
    """The logbook holds no original of this hash."""

    def __init__(self, sha256: str) -> None:
        self.sha256 = sha256
        super().__init__(f"no original {sha256[:12]}… in this logbook.")


def _now() -> datetime:
    return datetime.now(UTC)


class Logbook:
    """An open logbook; use it as a context manager. `clock` says when things are recorded."""

    def __init__(self, folder: Path, *, clock: Callable[[], datetime] = _now) -> None:
        self.folder = folder
        self._clock = clock
        self._read: dict[str, Trial] = {}
        self._engine = engine_for(folder / DATABASE)
        bring_up_to_date(self._engine, folder / DATABASE)

    @classmethod
    def create(cls, folder: Path, *, clock: Callable[[], datetime] = _now) -> Logbook:
        """Open the logbook in a folder, making folder and database where they are missing."""
        folder.mkdir(parents=True, exist_ok=True)
        return cls(folder, clock=clock)

    @classmethod
    def open(cls, folder: Path, *, clock: Callable[[], datetime] = _now) -> Logbook:
        """Open a logbook that is there; NoLogbookError otherwise, and nothing is made."""
        if not (folder / DATABASE).is_file():
            raise NoLogbookError(folder)
        return cls(folder, clock=clock)

    def __enter__(self) -> Logbook:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    # What is in it

    def trials(self) -> tuple[str, ...]:
        """Return the keys of all trials, oldest first."""
        first = select(tables.trial_text.c.key).order_by(tables.trial_text.c.id)
        with reading(self._engine) as connection:
            return tuple(dict.fromkeys(connection.execute(first).scalars()))

    def trial_text(self, key: str) -> str:
        """Return the text of a trial that is in force; NoTrialError where there is none."""
        latest = (
            select(tables.trial_text.c.text)
            .where(tables.trial_text.c.key == key)
            .order_by(tables.trial_text.c.id.desc())
            .limit(1)
        )
        with reading(self._engine) as connection:
            text: str | None = connection.execute(latest).scalar()
        if text is None:
            raise NoTrialError(key, self.trials())
        return text

    def trial(self, key: str) -> Trial:
        """Return a trial; NoTrialError where there is none."""
        text = self.trial_text(key)
        if text not in self._read:
            trial, faults = read_trial(text, where=f"trial {key} in {self.folder.name}")
            if trial is None:
                raise FaultsError(faults)
            self._read[text] = trial
        return self._read[text]

    def entries(self, trial_key: str) -> tuple[Entry, ...]:
        """Return a trial's entries in force, by time: of its tanks and views, within its days, not superseded."""
        trial = self.trial(trial_key)
        superseded = select(tables.entry.c.supersedes).where(tables.entry.c.supersedes.is_not(None))
        query = (
            select(tables.entry)
            .where(tables.entry.c.id.not_in(superseded))
            .order_by(tables.entry.c.at, tables.entry.c.id)
        )
        with reading(self._engine) as connection:
            found = [_entry(row) for row in connection.execute(query)]
        return tuple(entry for entry in found if _belongs(entry, trial))

    def original(self, sha256: str) -> Path:
        """Return the path of an original, to be read only; NoOriginalError where there is none."""
        query = select(tables.original.c.suffix).where(tables.original.c.sha256 == sha256)
        with reading(self._engine) as connection:
            suffix = connection.execute(query).scalar()
        if suffix is None:
            raise NoOriginalError(sha256)
        return originals.path_of(self.folder, sha256, suffix)

    def cache_path(self, kind: str, name: str) -> Path:
        """Return where a computed file lies or may be written; `kind` and `name` are ours, never a user's words."""
        if not re.fullmatch(r"[a-z-]+", kind) or not re.fullmatch(r"[A-Za-z0-9_.-]+", name) or name.startswith("."):
            raise ValueError(f"{kind!r}/{name!r} cannot name a cached file")
        folder = self.folder / "cache" / kind
        folder.mkdir(parents=True, exist_ok=True)
        return folder / name

    # What is written

    def keep_originals(self, files: Mapping[str, tuple[Path, str]]) -> None:
        """Copy files into the originals: {sha256: (path, suffix)}; each was read and hashed by the caller.

        ValueError where a file no longer has the hash it had. Rows follow in `add`, after the files are safe.
        """
        for sha256, (path, suffix) in files.items():
            if originals.path_of(self.folder, sha256, suffix).exists():
                continue
            if originals.keep(self.folder, path.read_bytes(), suffix) != sha256:
                raise ValueError(f"{path} changed while it was read; import it again")

    def add(
        self,
        *,
        trial: tuple[str, str] | None,
        entries: Iterable[Entry],
        kept: Mapping[str, tuple[str, int]] | None = None,
    ) -> int:
        """Write a trial's (key, text), entries, and kept originals {sha256: (suffix, bytes)} in one transaction.

        Returns the number of entries that are new. What is there already is left alone.
        """
        now = self._clock()
        with writing(self._engine) as connection:
            if trial is not None:
                key, text = trial
                latest = (
                    select(tables.trial_text.c.text)
                    .where(tables.trial_text.c.key == key)
                    .order_by(tables.trial_text.c.id.desc())
                    .limit(1)
                )
                if connection.execute(latest).scalar() != text:
                    connection.execute(insert(tables.trial_text).values(key=key, text=text, added_at=now))
            for sha256, (suffix, size) in (kept or {}).items():
                row = {"sha256": sha256, "suffix": suffix, "size_bytes": size, "added_at": now}
                connection.execute(insert(tables.original).prefix_with("OR IGNORE").values(row))
            rows = [_row(entry, now) for entry in entries]
            there = set(connection.execute(select(tables.entry.c.id)).scalars())
            new = {row["id"]: row for row in rows if row["id"] not in there}
            if new:
                connection.execute(insert(tables.entry), list(new.values()))
        return len(new)


def _row(entry: Entry, now: datetime) -> dict[str, object]:
    return {
        "id": entry.id,
        "at": entry.at,
        "zone": entry.zone,
        "tank": entry.tank,
        "kind": kind_of(entry.payload),
        "payload": to_json(entry.payload),
        "who": entry.who,
        "note": entry.note,
        "supersedes": entry.supersedes,
        "recorded_at": now,
    }


def _entry(row: Row[tuple[object, ...]]) -> Entry:
    return Entry(
        id=row.id,
        at=row.at,
        zone=row.zone,
        tank=row.tank,
        payload=from_json(row.kind, row.payload),
        who=row.who,
        supersedes=row.supersedes,
        note=row.note,
    )


def _belongs(entry: Entry, trial: Trial) -> bool:
    if not 0 <= day_of(entry.at, trial) < trial.length_days:
        return False
    if isinstance(entry.payload, Photo):
        return entry.payload.view in trial.views
    return entry.tank in trial.tanks
