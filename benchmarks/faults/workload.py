"""Work that a fault interrupts: it says on stdout what is acknowledged, and all it writes can be told from its number.

`python -m faults.workload KIND FOLDER` does it in a process of its own.
"""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, event

from littoral.logbook import originals
from littoral.logbook.backup import FOLDER, back_up
from littoral.logbook.backup_keeping import Keeping
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Note, Photo
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

Ack = Callable[[str], None]
TEXT = starting_text(title="Two ways of feeding", start="2026-03-02")
NOW = datetime(2026, 3, 20, 8, tzinfo=UTC)
LONG_NOTE = 9_000
"""Characters of every fifth note: more than two pages of the database, so that a write can be torn between them."""


def trial() -> Trial:
    """Return the trial that all work is about."""
    found, _ = read_trial(TEXT, where="trial.toml")
    assert found is not None
    return found


TRIAL = trial()
TANK, VIEW = next(iter(TRIAL.tanks)), next(iter(TRIAL.views))


def note(name: str) -> Entry:
    """Return the entry of a name such as "n7": every fifth is long, every third corrects the one before it."""
    number = int(name[1:])
    said = f"note {number} " + ("x" * LONG_NOTE if number % 5 == 0 else "")
    before = f"{name[0]}{number - 1}" if number % 3 == 2 else None
    entry = Entry(name, instant_of(1 + number % 40, TRIAL), TRIAL.zone, TANK, Note(said), trial=TRIAL.key)
    return replace(entry, supersedes=before)


def picture(number: int) -> bytes:
    """Return the bytes of a photo: no photo, but of a size that takes several writes."""
    return f"picture {number} ".encode() * 3_000


def photo(number: int) -> Entry:
    """Return the entry of a photo."""
    payload = Photo(originals.sha256_of(picture(number)), VIEW, "exif", f"{number}.jpg")
    return Entry(f"p{number}", instant_of(2 + number, TRIAL), TRIAL.zone, TANK, payload, trial=TRIAL.key)


def entry(name: str) -> Entry:
    """Return the entry of a name."""
    return photo(int(name[1:])) if name.startswith("p") else note(name)


def write_entries(folder: Path, ack: Ack, *, count: int = 8) -> None:
    """Record entries one by one; each is acknowledged when the logbook says that it is kept."""
    with Logbook.create(folder) as book:
        book.take_in(TRIAL, TEXT)
        ack("trial")
        for number in range(count):
            book.add([note(f"n{number}")])
            ack(f"entry n{number}")


def import_photos(folder: Path, ack: Ack, *, count: int = 4) -> None:
    """Take photos in two by two, the files before their rows, each pair with its entries in one transaction."""
    with Logbook.create(folder) as book:
        for first in range(0, count, 2):
            files, kept = {}, {}
            for number in (first, first + 1):
                source, data = folder.parent / f"{folder.name}-{number}.jpg", picture(number)
                source.write_bytes(data)
                files[originals.sha256_of(data)] = (source, ".jpg")
                kept[originals.sha256_of(data)] = (".jpg", len(data))
            book.keep_originals(files)
            book.take_in(TRIAL, TEXT, [photo(first), photo(first + 1)], kept=kept)
            ack(f"entry p{first}")
            ack(f"entry p{first + 1}")


def back_up_between(folder: Path, ack: Ack) -> None:
    """Back up between entries, and let older backups go."""
    import_photos(folder, ack, count=2)
    for number in range(4):
        with Logbook.open(folder) as book:
            book.add([note(f"n{number}")])
        ack(f"entry n{number}")
        keeping, now = Keeping(days=2, weeks=0, months=0), NOW + timedelta(days=number)
        made, gone = back_up(folder, folder / FOLDER, database=DATABASE, now=now, keeping=keeping)
        for name in gone:
            ack(f"gone {name}")
        ack(f"backup {made.path.name} n{number}")


def migrate(folder: Path, ack: Ack) -> None:
    """Open a logbook that an earlier version wrote; the caller has put it there, with its entries acknowledged."""
    Logbook.open(folder).close()
    ack("migrated")
    with Logbook.open(folder) as book:
        book.add([note("n9")])
    ack("entry n9")


def take_many_in(folder: Path, ack: Ack) -> None:
    """Take the folder of photos FAULTS_PHOTOS in, as a person does; each row is said when it is acknowledged."""
    from faults.many_photos import new_book, take_in

    new_book(folder)
    take_in(folder, Path(os.environ["FAULTS_PHOTOS"]), ack=ack)


WORK: dict[str, Callable[[Path, Ack], None]] = {
    "entries": write_entries,
    "photos": import_photos,
    "backups": back_up_between,
    "migration": migrate,
    "intake": take_many_in,
}


def weaken(how: str) -> None:
    """Take a promise back: no sync of files, or none of folders, or SQLite's `synchronous` at another value."""
    if how.startswith("no sync"):
        spared = how.endswith("folders")
        sync = os.fsync

        def some(opened: Any) -> None:
            if stat.S_ISREG(os.fstat(opened).st_mode) == spared:
                sync(opened)

        os.fsync = some  # type: ignore[assignment]
    else:

        @event.listens_for(Engine, "engine_connect")
        def _set(connection: Connection) -> None:
            driver = connection.connection.dbapi_connection
            assert driver is not None
            driver.cursor().execute(f"PRAGMA synchronous={how}")


def main() -> None:
    """Do one kind of work in a folder."""

    def ack(line: str) -> None:
        os.write(1, f"{line}\n".encode())

    if "FAULTS_WEAKEN" in os.environ:
        weaken(os.environ["FAULTS_WEAKEN"])
    WORK[sys.argv[1]](Path(sys.argv[2]), ack)


if __name__ == "__main__":
    main()
