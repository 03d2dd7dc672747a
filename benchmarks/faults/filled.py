"""A small logbook with everything in it: two texts, entries of several kinds, corrections, originals."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from littoral.logbook import originals
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.trial.days import instant_of
from littoral.trial.entries import Care, Dose, Entry, Note, Payload, Photo, Reading, WaterChange
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

TEXT = starting_text(title="Two ways of feeding", start="2026-03-02")
NOW = datetime(2026, 3, 20, 8, tzinfo=UTC)
PICTURES = (b"left of the bench", b"right of the bench", b"both")


@dataclass(frozen=True)
class Filled:
    """A logbook's folder, closed, and what was written to it."""

    folder: Path
    trial: Trial
    entries: tuple[Entry, ...]
    hashes: tuple[str, ...]

    def original(self, number: int) -> Path:
        return originals.path_of(self.folder, self.hashes[number], ".jpg")

    def execute(self, sql: str) -> None:
        """Change the database behind the logbook's back."""
        with closing(sqlite3.connect(self.folder / DATABASE)) as connection, connection:
            connection.execute(sql)

    def rows(self) -> dict[str, list[tuple[object, ...]]]:
        return all_rows(self.folder / DATABASE)


def all_rows(file: Path) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table of a logbook's database, in the order in which they were written."""
    with closing(sqlite3.connect(file)) as connection:
        return {
            table: connection.execute(f"SELECT * FROM {table} ORDER BY rowid").fetchall()
            for table in ("trial_text", "entry", "original")
        }


def trial() -> Trial:
    """Return the trial that the logbook holds."""
    found, faults = read_trial(TEXT, where="trial.toml")
    assert found is not None
    assert not faults
    return found


def entries() -> tuple[Entry, ...]:
    """Return the entries that the logbook holds: of several kinds, one of them corrected."""
    of = trial()
    tank, bottle, view = next(iter(of.tanks)), next(iter(of.bottles)), next(iter(of.views))

    def made(identity: str, day: float, payload: Payload, **more: object) -> Entry:
        return Entry(identity, instant_of(day, of), of.zone, tank, payload, trial=of.key, **more)  # type: ignore[arg-type]

    return (
        made("a", 1.0, Dose(bottle, ml=2.0), who="J", note="=HYPERLINK(1)"),
        made("b", 2.0, Reading("nitrate", 40.0, float("inf"), "test kit", "over 40")),
        made("c", 3.0, Care(120)),
        made("d", 3.0, Care(12), supersedes="c"),
        made("e", 4.0, WaterChange(0.5)),
        made("f", 5.0, Note('línea\u2028otra, "quoted"\n\x01')),
        *(
            made(f"p{number}", 6.0 + number, Photo(originals.sha256_of(data), view, "exif", f"{number}.jpg"))
            for number, data in enumerate(PICTURES)
        ),
    )


def fill(folder: Path) -> Filled:
    """Make the logbook at `folder`."""
    of, held = trial(), entries()
    hashes = tuple(originals.sha256_of(data) for data in PICTURES)
    with Logbook.create(folder, clock=lambda: NOW) as book:
        for data in PICTURES:
            originals.keep(folder, data, ".jpg")
        kept = {sha256: (".jpg", len(data)) for sha256, data in zip(hashes, PICTURES, strict=True)}
        book.take_in(of, TEXT, held, kept=kept)
        book.take_in(of, TEXT + "# mended\n")
    return Filled(folder, of, held, hashes)
