"""A logbook: a folder that holds everything. It is the only thing that writes.

`logbook.sqlite3`, or a database on a server, holds the texts of trials and the stream of entries, `originals/` the
photos by content hash, and `cache/` what was computed from them, which can be deleted at any time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType

from sqlalchemy import Connection

from littoral.errors import FaultsError
from littoral.logbook import originals, rows
from littoral.logbook.changed_entries import NoEntryError
from littoral.logbook.database import reading, writing
from littoral.logbook.elsewhere import ElsewhereView, views_of
from littoral.logbook.new_entries import write_new
from littoral.logbook.opening import let_go, open_database
from littoral.logbook.read_once import read_once
from littoral.logbook.refused import (
    NoLogbookError,
    NoOriginalError,
    NoTrialError,
    UnusableFolderError,
)
from littoral.logbook.sync import Changes, changes
from littoral.logbook.taking_over import TakenOver, WholeTrial, take_over
from littoral.logbook.where_kept import is_logbook
from littoral.logbook.whole_files import make_folders, write_whole
from littoral.trial.belonging import misfits
from littoral.trial.entries import Drawn, Entry, Payload, Withdrawn
from littoral.trial.model import Trial

LATELY = timedelta(days=2)
"""How far back `clock_behind` looks for entries that were written down in the future."""
CLOCK_SLACK = timedelta(minutes=5)
"""Clocks of a phone and a computer differ by this much without anybody being wrong; common practice, no source."""


def _now() -> datetime:
    return datetime.now(UTC)


class Logbook:
    """An open logbook; use it as a context manager. `clock` says when things are recorded.

    Everything raises RefusedByDatabaseError where the database's file or server cannot be used. `read_only` is None, or
    the error that all that writes raises: file or disk are write-protected, or a newer version of Littoral wrote here.
    `place` is the same for the same database only.
    """

    def __init__(self, folder: Path, *, clock: Callable[[], datetime] = _now, shared: bool = False) -> None:
        self.folder = folder.resolve()
        self._clock = clock
        opened = open_database(self.folder, shared=shared)
        self._engine, self.read_only, self.place = opened.engine, opened.read_only, opened.place

    @classmethod
    def create(cls, folder: Path, *, clock: Callable[[], datetime] = _now, shared: bool = False) -> Logbook:
        """Open the logbook in a folder, making folder and database where they are missing; UnusableFolderError.

        A new one is `shared` on the server that LITTORAL_DATABASE_URL names, where it names one.
        """
        try:
            make_folders(folder)
        except OSError as error:
            raise UnusableFolderError(folder, error) from None
        return cls(folder, clock=clock, shared=shared)

    @classmethod
    def open(cls, folder: Path, *, clock: Callable[[], datetime] = _now) -> Logbook:
        """Open a logbook that is there; NoLogbookError otherwise, and nothing is made."""
        try:
            there = is_logbook(folder)
        except OSError as error:
            raise UnusableFolderError(folder, error) from None
        if not there:
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
        let_go(self._engine)

    # What is in it

    def trials(self) -> tuple[str, ...]:
        """Return the keys of all trials, oldest first."""
        with reading(self._engine) as connection:
            return rows.trial_keys(connection)

    def trial_text(self, key: str) -> str:
        """Return the text of a trial that is in force; NoTrialError where there is none."""
        with reading(self._engine) as connection:
            text = rows.latest_text(connection, key)
            if text is None:
                raise NoTrialError(key, rows.trial_keys(connection))
        return text

    def written(self, key: str) -> tuple[datetime, ...]:
        """Return when each text of a trial was taken in, the first first; NoTrialError where there is none."""
        with reading(self._engine) as connection:
            times = rows.text_times(connection, key)
            if not times:
                raise NoTrialError(key, rows.trial_keys(connection))
        return times

    def texts(self, key: str) -> tuple[tuple[datetime, str], ...]:
        """Return each text of a trial with the time it was taken in, the first first; NoTrialError."""
        with reading(self._engine) as connection:
            texts = rows.texts_of(connection, key)
            if not texts:
                raise NoTrialError(key, rows.trial_keys(connection))
        return texts

    def first_written(self, key: str) -> datetime:
        """Return when a trial was first written down here; NoTrialError where there is none."""
        return self.written(key)[0]

    def trial(self, key: str) -> Trial:
        """Return a trial, its views as they were drawn last; NoTrialError where there is none."""
        with reading(self._engine) as connection:
            text = rows.latest_text(connection, key)
            if text is None:
                raise NoTrialError(key, rows.trial_keys(connection))
            drawings = rows.in_force_of_kinds(connection, key, (Drawn,))
        return self._parsed(key, text, drawings)

    def _parsed(self, key: str, text: str, drawings: tuple[Entry, ...] = ()) -> Trial:
        made = tuple(entry.payload for entry in drawings if isinstance(entry.payload, Drawn))
        trial, faults = read_once(text, where=f"trial {key} in {self.folder.name}", drawings=made)
        if trial is None:
            raise FaultsError(faults)
        return trial

    def entries(self, trial_key: str) -> tuple[Entry, ...]:
        """Return a trial's entries in force, by time; NoTrialError. All of them fit the trial, see `take_in`."""
        with reading(self._engine) as connection:
            if rows.latest_text(connection, trial_key) is None:
                raise NoTrialError(trial_key, rows.trial_keys(connection))
            return rows.in_force(rows.entries_of(connection, trial_key))

    def entries_within(
        self, trial_key: str, first: datetime, until: datetime, *, tank: str | None = None
    ) -> tuple[Entry, ...]:
        """Return a trial's entries in force with first <= at < until, by time; a long logbook costs no more.

        With `tank` only those that name it or no tank at all (photos). Both moments have a zone. NoTrialError.
        """
        with reading(self._engine) as connection:
            if rows.latest_text(connection, trial_key) is None:
                raise NoTrialError(trial_key, rows.trial_keys(connection))
            return rows.entries_within(connection, trial_key, first, until, tank=tank)

    def versions_within(self, trial_key: str, first: datetime, until: datetime) -> tuple[tuple[Entry, ...], ...]:
        """Return what nothing supersedes with first <= at < until, by time, each followed by all that was before it.

        What was undone is among them, its withdrawal first. Both moments have a zone. NoTrialError.
        """
        with reading(self._engine) as connection:
            if rows.latest_text(connection, trial_key) is None:
                raise NoTrialError(trial_key, rows.trial_keys(connection))
            return rows.versions_within(connection, trial_key, first, until)

    def entries_of(self, trial_key: str, payloads: Collection[type[Payload]]) -> tuple[Entry, ...]:
        """Return a trial's entries in force with a payload of some kinds, by time; NoTrialError."""
        with reading(self._engine) as connection:
            if rows.latest_text(connection, trial_key) is None:
                raise NoTrialError(trial_key, rows.trial_keys(connection))
            return rows.in_force_of_kinds(connection, trial_key, payloads)

    def last_entry(self, trial_key: str, *, but: Collection[type[Payload]] = ()) -> Entry | None:
        """Return the last of a trial's entries in force that has another payload than some; None without any."""
        with reading(self._engine) as connection:
            return rows.last_in_force(connection, trial_key, but=but)

    def counts(self, trial_key: str, *, after: int = 0) -> dict[str, int]:
        """Return how many entries of each kind (`logbook.payloads.KINDS`) of a trial are in force; none is read.

        With `after` (see `last_row_of`) only what the rows written since then changed in these counts.
        """
        with reading(self._engine) as connection:
            return rows.counts_in_force(connection, trial_key, after=after)

    def entries_since(self, trial_key: str, *, after: int) -> tuple[Entry, ...]:
        """Return a trial's entries written after a row (see `last_row_of`), superseded or not, as they were written."""
        with reading(self._engine) as connection:
            return rows.entries_since(connection, trial_key, after=after)

    def last_row_of(self, trial_key: str) -> int:
        """Return a number that grows with every entry written of a trial, 0 without any."""
        with reading(self._engine) as connection:
            return rows.last_row(connection, trial_key)

    def last_entry_at(self, trial_key: str, *, before: datetime | None = None) -> datetime | None:
        """Return the moment of a trial's last entry, superseded or not; None without any."""
        with reading(self._engine) as connection:
            return rows.last_at(connection, trial_key, before=before)

    def first_entry_at(self, trial_key: str, *, since: datetime) -> datetime | None:
        """Return the moment of a trial's first entry at `since` or later, superseded or not; None without any."""
        with reading(self._engine) as connection:
            return rows.first_at(connection, trial_key, since=since)

    def entry(self, identity: str) -> tuple[Entry, Entry | None]:
        """Return an entry, superseded or not, and what supersedes it (None: nothing); NoEntryError."""
        with reading(self._engine) as connection:
            found = rows.entry_of(connection, identity)
            if found is None:
                raise NoEntryError(identity)
            return found, rows.successor_of(connection, identity)

    def ids_among(self, ids: Iterable[str]) -> set[str]:
        """Return those of some ids that an entry of any trial has, superseded or not."""
        with reading(self._engine) as connection:
            return rows.ids_among(connection, sorted(ids))

    def clock_behind(self, trial_key: str) -> datetime | None:
        """Return when the trial's last entry was written down if that is later than now: the clock was put back."""
        now = self._clock()
        with reading(self._engine) as connection:
            last = rows.last_recorded(connection, trial_key, since=now - LATELY)
        return last if last is not None and last > now + CLOCK_SLACK else None

    def original(self, sha256: str) -> Path:
        """Return the path of an original, to be read only; NoOriginalError where there is none."""
        with reading(self._engine) as connection:
            suffix = rows.suffix_of(connection, sha256)
        if suffix is None:
            raise NoOriginalError(sha256)
        return originals.path_of(self.folder, sha256, suffix)

    def has_original(self, sha256: str) -> bool:
        """Return whether there is an original of this hash."""
        return self._has_row(sha256)

    def measured_elsewhere(self, trial_key: str) -> tuple[ElsewhereView, ...]:
        """Return what data packages said was measured of a trial, oldest first."""
        with reading(self._engine) as connection:
            return views_of(connection, trial_key)

    def all_entries(self, trial_key: str) -> tuple[Entry, ...]:
        """Return every entry of a trial by time, superseded and withdrawn ones among them; NoTrialError."""
        with reading(self._engine) as connection:
            if rows.latest_text(connection, trial_key) is None:
                raise NoTrialError(trial_key, rows.trial_keys(connection))
            return rows.entries_of(connection, trial_key)

    def _has_row(self, sha256: str) -> bool:
        with reading(self._engine) as connection:
            return rows.suffix_of(connection, sha256) is not None

    def cache_path(self, kind: str, name: str) -> Path:
        """Return where a computed file lies, if it is there; `kind` and `name` are ours, never a user's words."""
        if not re.fullmatch(r"[a-z-]+", kind) or not re.fullmatch(r"[A-Za-z0-9_.-]+", name) or name.startswith("."):
            raise ValueError(f"{kind!r}/{name!r} cannot name a cached file")
        return self.folder / "cache" / kind / name

    # What is written

    def _writing(self) -> AbstractContextManager[Connection]:
        if self.read_only is not None:
            raise self.read_only
        return writing(self._engine)

    def keep_cached(self, kind: str, name: str, data: bytes) -> Path:
        """Write a computed file whole and return where it lies; UnwrittenFileError."""
        path = self.cache_path(kind, name)
        write_whole(path, data)
        return path

    def keep_originals(self, files: Mapping[str, tuple[Path, str]]) -> None:
        """Copy files into the originals: {sha256: (path, suffix)}; each was read and hashed by the caller.

        NoRoomError before anything is copied; UnkeptFileError where a file is gone or no longer has the hash it had;
        UnwrittenFileError. Rows follow in `take_in`, after the files are safe.
        """
        if self.read_only is not None:
            raise self.read_only
        originals.keep_files(self.folder, files, has_row=self._has_row)

    def keep_bytes(self, data: bytes, suffix: str) -> str:
        """Keep a photo that came in as bytes and return its SHA-256; its row follows in `add`, after it is safe.

        Sent again after a crash in between, it is found here and only gets its row. NoRoomError, UnwrittenFileError.
        """
        if self.read_only is not None:
            raise self.read_only
        return originals.keep_bytes(self.folder, data, suffix, has_row=self._has_row)

    def add(
        self,
        entries: Sequence[Entry],
        *,
        kept: Mapping[str, tuple[str, int]] | None = None,
        sure: Callable[[], None] | None = None,
    ) -> tuple[Entry, ...]:
        """Write entries that people made, all or none, and return those that were not there yet.

        `kept` are originals of theirs that lie in the logbook already: {sha256: (suffix, bytes)}. `sure` is called
        before anything is written and while nobody else can write; it may read, and refuses by raising.

        An id that is there already adds nothing where it says the same of the same tank, else AlreadyRecordedError. One
        that would supersede what is superseded already is refused (SupersededError), so that of two people who correct
        the same entry the second sees the first's. FaultsError where an entry does not fit its trial; NoTrialError;
        NoEntryError where what it supersedes is not there.
        """
        trials = {entry.trial: self.trial(entry.trial) for entry in entries}
        with self._writing() as connection:
            if sure is not None:
                sure()
            for sha256, (suffix, size_bytes) in (kept or {}).items():
                rows.write_original(connection, sha256, suffix, size_bytes, now=self._clock())
            added = write_new(connection, entries, now=self._clock())
            for key, trial in trials.items():
                mine = (entry for entry in added if entry.trial == key and not isinstance(entry.payload, Withdrawn))
                faults = misfits(mine, trial, where=f"trial {key} in {self.folder.name}")
                if faults:
                    raise FaultsError(faults)
        return tuple(added)

    def take_in(
        self,
        trial: Trial,
        text: str,
        entries: Sequence[Entry] = (),
        *,
        file: str | None = None,
        kept: Mapping[str, tuple[str, int]] | None = None,
    ) -> Changes:
        """Write a trial's text, its entries, and kept originals {sha256: (suffix, bytes)}, in one transaction.

        `file` is the entries' `origin` that was read whole: what it held before and no longer holds is withdrawn, and
        what it holds with another payload corrected (`logbook.sync`). Nothing is updated or deleted, and what is there
        already is left alone. Returns what was added. FaultsError, and nothing written, where any entry in force would
        not fit the trial.
        """
        if any(entry.trial != trial.key for entry in entries):
            raise ValueError(f"an entry is of another trial than {trial.key!r}")
        now = self._clock()
        with self._writing() as connection:
            rows.write_text(connection, trial.key, text, now=now)
            for sha256, (suffix, size_bytes) in (kept or {}).items():
                rows.write_original(connection, sha256, suffix, size_bytes, now=now)
            found = changes(rows.entries_of(connection, trial.key), entries, file=file)
            rows.write_entries(connection, found.added(), now=now)
            valid = rows.in_force(rows.entries_of(connection, trial.key))
            faults = misfits(valid, trial, where=f"trial {trial.key} in {self.folder.name}")
            if faults:
                raise FaultsError(faults)
        return found

    def take_over(
        self,
        trial: Trial,
        texts: Sequence[tuple[datetime, str]],
        entries: Sequence[Entry],
        *,
        kept: Mapping[str, tuple[str, int]],
        elsewhere: Sequence[ElsewhereView],
    ) -> TakenOver:
        """Write a whole trial of another logbook, all or nothing; see `logbook.taking_over`, which says what raises."""
        whole = WholeTrial(trial, tuple(texts), tuple(entries), kept, tuple(elsewhere))
        with self._writing() as connection:
            return take_over(connection, whole, now=self._clock(), where=f"trial {trial.key} in {self.folder.name}")
