"""A logbook: a folder that holds everything. It is the only thing that writes.

`logbook.sqlite3` holds the texts of trials and the stream of entries, `originals/` the photos by content hash, and
`cache/` what was computed from them, which can be deleted at any time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from littoral.errors import FaultsError, LittoralError
from littoral.logbook import originals, rows
from littoral.logbook.database import engine_for, reading, writing
from littoral.logbook.schema import bring_up_to_date
from littoral.logbook.sync import Changes, changes
from littoral.logbook.whole_files import write_whole
from littoral.trial.belonging import misfits
from littoral.trial.entries import Entry
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial

DATABASE = "logbook.sqlite3"


class NoLogbookError(LittoralError):
    """There is no logbook in this folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        super().__init__(
            f"{folder} holds no logbook (no {DATABASE} in it). `littoral import FILE` makes one from a trial file."
        )


class UnusableFolderError(LittoralError):
    """A folder cannot hold a logbook: it is a file, or this user may not use it."""

    def __init__(self, folder: Path, error: OSError) -> None:
        self.folder = folder
        super().__init__(
            f"{folder} cannot hold a logbook ({error.strerror or error}). "
            "Name a folder that this user can write in, or a new one."
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


class UnkeptFileError(LittoralError):
    """A file that was to be kept could not be read again as it was."""

    def __init__(self, path: Path, why: str) -> None:
        self.path = path
        super().__init__(f"{path} {why}; import it again. Nothing was changed.")


def _now() -> datetime:
    return datetime.now(UTC)


class Logbook:
    """An open logbook; use it as a context manager. `clock` says when things are recorded.

    Everything raises RefusedByDatabaseError where the database's file cannot be used.
    """

    def __init__(self, folder: Path, *, clock: Callable[[], datetime] = _now) -> None:
        self.folder = folder.resolve()
        self._clock = clock
        self._read: dict[str, Trial] = {}
        self._engine = engine_for(self.folder / DATABASE)
        bring_up_to_date(self._engine, self.folder / DATABASE)

    @classmethod
    def create(cls, folder: Path, *, clock: Callable[[], datetime] = _now) -> Logbook:
        """Open the logbook in a folder, making folder and database where they are missing; UnusableFolderError."""
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise UnusableFolderError(folder, error) from None
        return cls(folder, clock=clock)

    @classmethod
    def open(cls, folder: Path, *, clock: Callable[[], datetime] = _now) -> Logbook:
        """Open a logbook that is there; NoLogbookError otherwise, and nothing is made."""
        try:
            there = (folder / DATABASE).is_file()
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
        self._engine.dispose()

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
        """Return a trial; NoTrialError where there is none."""
        return self._parsed(key, self.trial_text(key))

    def _parsed(self, key: str, text: str) -> Trial:
        if text not in self._read:
            trial, faults = read_trial(text, where=f"trial {key} in {self.folder.name}")
            if trial is None:
                raise FaultsError(faults)
            self._read[text] = trial
        return self._read[text]

    def entries(self, trial_key: str) -> tuple[Entry, ...]:
        """Return a trial's entries in force, by time; NoTrialError. All of them fit the trial, see `take_in`."""
        with reading(self._engine) as connection:
            if rows.latest_text(connection, trial_key) is None:
                raise NoTrialError(trial_key, rows.trial_keys(connection))
            return rows.in_force(rows.entries_of(connection, trial_key))

    def original(self, sha256: str) -> Path:
        """Return the path of an original, to be read only; NoOriginalError where there is none."""
        with reading(self._engine) as connection:
            suffix = rows.suffix_of(connection, sha256)
        if suffix is None:
            raise NoOriginalError(sha256)
        return originals.path_of(self.folder, sha256, suffix)

    def cache_path(self, kind: str, name: str) -> Path:
        """Return where a computed file lies, if it is there; `kind` and `name` are ours, never a user's words."""
        if not re.fullmatch(r"[a-z-]+", kind) or not re.fullmatch(r"[A-Za-z0-9_.-]+", name) or name.startswith("."):
            raise ValueError(f"{kind!r}/{name!r} cannot name a cached file")
        return self.folder / "cache" / kind / name

    # What is written

    def keep_cached(self, kind: str, name: str, data: bytes) -> Path:
        """Write a computed file whole and return where it lies; UnwrittenFileError."""
        path = self.cache_path(kind, name)
        write_whole(path, data)
        return path

    def keep_originals(self, files: Mapping[str, tuple[Path, str]]) -> None:
        """Copy files into the originals: {sha256: (path, suffix)}; each was read and hashed by the caller.

        UnkeptFileError where a file is gone or no longer has the hash it had; UnwrittenFileError. Rows follow in
        `take_in`, after the files are safe.
        """
        for sha256, (path, suffix) in files.items():
            if originals.path_of(self.folder, sha256, suffix).exists():
                continue
            try:
                data = path.read_bytes()
            except OSError as error:
                raise UnkeptFileError(path, f"cannot be read ({error.strerror or error})") from None
            if originals.sha256_of(data) != sha256:
                raise UnkeptFileError(path, "changed while it was read")
            originals.keep(self.folder, data, suffix)

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
        with writing(self._engine) as connection:
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

    def note(self, entry: Entry) -> bool:
        """Write one entry that was made here (an `origin` of ""); return False, and write nothing, if its id is there.

        NoTrialError where its trial is not; FaultsError, and nothing written, where it does not fit the trial.
        """
        now = self._clock()
        with writing(self._engine) as connection:
            text = rows.latest_text(connection, entry.trial)
            if text is None:
                raise NoTrialError(entry.trial, rows.trial_keys(connection))
            if any(one.id == entry.id for one in rows.entries_of(connection, entry.trial)):
                return False
            where = f"trial {entry.trial} in {self.folder.name}"
            if faults := misfits([entry], self._parsed(entry.trial, text), where=where):
                raise FaultsError(faults)
            rows.write_entries(connection, (entry,), now=now)
        return True
