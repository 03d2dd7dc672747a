"""What a fault left: whether all that was acknowledged is there, nothing is half done, and the logbook goes on."""

from __future__ import annotations

import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from faults.workload import TEXT, TRIAL, entry, note
from littoral.errors import LittoralError
from littoral.logbook.backup import FOLDER, backups_in
from littoral.logbook.book import Logbook
from littoral.logbook.database import reading
from littoral.logbook.refused import DATABASE
from littoral.logbook.restore import restore
from littoral.logbook.rows import entries_of
from littoral.logbook.verify import failures, verify
from littoral.trial.entries import Entry, Photo


@dataclass(frozen=True, slots=True)
class Left:
    """How many entries, photos and backups were acknowledged, which of them are lost, and what else is wrong."""

    acknowledged: int
    lost: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()


@dataclass(slots=True)
class _Due:
    entries: set[str] = field(default_factory=set)
    backups: dict[str, str] = field(default_factory=dict)


def what_is_left(folder: Path, acknowledged: Sequence[str], *, started_with: Mapping[str, Entry] | None = None) -> Left:
    """Open the logbook that a fault left at `folder`, as the next start would, and compare it with what was told.

    `started_with` are entries by id that were there before the work began.
    """
    earlier = started_with or {}
    due = _due(acknowledged)
    due.entries |= earlier.keys()

    def right(name: str) -> Entry:
        return earlier[name] if name in earlier else entry(name)

    count = len(due.entries) + len(due.backups)
    try:
        with Logbook.create(folder) as book:
            with reading(book._engine) as connection:
                there = {one.id: one for one in entries_of(connection, TRIAL.key)}
            lost = [name for name in sorted(due.entries) if there.get(name) != right(name)]
            lost += _lost_files(book, [there[name] for name in sorted(due.entries - set(lost))])
            wrong = [f"never written: {name}" for name, one in there.items() if one != right(name)]
            if not earlier and (("p0" in there) != ("p1" in there) or ("p2" in there) != ("p3" in there)):
                wrong.append("half of a transaction")
            if acknowledged and book.trials() != (TRIAL.key,):
                lost.append("trial")
            book.take_in(TRIAL, TEXT)
            book.add([note("z0")])
    except (LittoralError, ValueError) as error:  # ValueError: what JSON or time could not be read
        return Left(count, tuple(sorted(due.entries)), (str(error),))
    wrong += [f"{row.what}: {row.comment}" for row in failures(verify(folder, database=DATABASE))]
    lost += _lost_backups(folder, due)
    return Left(count, tuple(lost), tuple(wrong))


def _due(acknowledged: Sequence[str]) -> _Due:
    due = _Due()
    for line in acknowledged:
        match line.split():
            case ["entry", name]:
                due.entries.add(name)
            case ["backup", name, last]:
                due.backups[name] = last
            case ["gone", name]:
                due.backups.pop(name, None)
            case _:
                pass
    return due


def _lost_files(book: Logbook, entries: Sequence[Entry]) -> list[str]:
    return [
        f"photo {one.id}"
        for one in entries
        if isinstance(one.payload, Photo) and not book.original(one.payload.sha256).is_file()
    ]


def _lost_backups(folder: Path, due: _Due) -> list[str]:
    """Restore the last acknowledged backup, and whatever else counts as one: half a backup must not."""
    lost = []
    last = list(due.backups)[-1:]
    for name in dict.fromkeys([*last, *backups_in(folder / FOLDER)]):
        new = folder.with_name(f"{folder.name}-restored-{name}")
        try:
            restore(folder / FOLDER / name, new, database=DATABASE)
            if name in last:
                with Logbook.open(new) as book:
                    found, _ = book.entry(due.backups[name])
                if found != entry(due.backups[name]):
                    lost.append(f"backup {name}")
        except LittoralError as error:
            lost.append(f"backup {name} ({error})")
        shutil.rmtree(new, ignore_errors=True)
    return lost
