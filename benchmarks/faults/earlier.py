"""A logbook as an earlier version wrote it, made from the SQL text that is kept of it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from faults.filled import PICTURES
from littoral.logbook import originals
from littoral.logbook.refused import DATABASE

FIXTURES = Path(__file__).parent.parent.parent / "tests" / "logbook" / "fixtures"


def fixture_of(revision: str) -> Path:
    """Return the file that holds a small logbook of one schema as SQL."""
    return FIXTURES / f"schema-{revision}.sql"


def write_earlier(folder: Path, revision: str) -> None:
    """Make the logbook of `faults.filled` at `folder` as the version with this schema wrote it."""
    folder.mkdir(parents=True)
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.executescript(fixture_of(revision).read_text("utf-8"))
    for data in PICTURES:
        originals.keep(folder, data, ".jpg")
