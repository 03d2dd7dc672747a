"""A logbook of every earlier schema opens with nothing lost; a migration happens whole or not at all."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from faults.earlier import fixture_of, write_earlier
from faults.filled import Filled, all_rows, entries, trial
from sqlalchemy import text

from littoral.logbook import schema
from littoral.logbook.book import Logbook
from littoral.logbook.database import engine_for
from littoral.logbook.refused import DATABASE
from littoral.logbook.rows import in_force
from littoral.logbook.schema import HEAD, KNOWN
from littoral.logbook.verify import failures, verify

EARLIER = KNOWN[:-1]


def test_every_earlier_schema_has_a_logbook_kept_of_it() -> None:
    assert EARLIER
    assert all(fixture_of(revision).is_file() for revision in EARLIER)


@pytest.mark.parametrize("revision", EARLIER)
def test_it_opens_with_nothing_lost(revision: str, tmp_path: Path) -> None:
    folder = tmp_path / "logbook"
    write_earlier(folder, revision)
    before = all_rows(folder / DATABASE)
    assert (len(before["trial_text"]), len(before["entry"]), len(before["original"])) == (2, 9, 3)
    with Logbook.open(folder) as book:
        assert book.entries(trial().key) == tuple(sorted(in_force(entries()), key=lambda entry: entry.at))
        with book._engine.connect() as connection:
            assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == HEAD
    assert all_rows(folder / DATABASE) == before
    assert failures(verify(folder, database=DATABASE)) == ()


LATER = '''
"""A migration that is only a test: it makes the table of entries anew, with a column more.

Revision: 9001, after all others
"""
import sqlalchemy as sa
from alembic import op

revision, down_revision = "9001", "{head}"
branch_labels = depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("entry", recreate="always") as batch:
        batch.add_column(sa.Column("weather", sa.Text, nullable=True))
    op.execute("UPDATE entry SET weather = 'dull'")
    {more}
'''


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A program that knows one schema more, whose migration rebuilds the table that others point into."""
    scripts = tmp_path / "migrations"
    shutil.copytree(schema.MIGRATIONS, scripts, ignore=shutil.ignore_patterns("__pycache__"))
    (scripts / "versions" / "9001_later.py").write_text(LATER.format(head=HEAD, more="pass"))
    monkeypatch.setattr(schema, "MIGRATIONS", scripts)
    monkeypatch.setattr(schema, "KNOWN", (*KNOWN, "9001"))
    monkeypatch.setattr(schema, "HEAD", "9001")
    return scripts


@pytest.mark.parametrize("revision", EARLIER)
def test_rebuilding_a_table_loses_no_row_that_points_into_it(revision: str, tmp_path: Path, later: Path) -> None:
    folder = tmp_path / "logbook"
    write_earlier(folder, revision)
    before = all_rows(folder / DATABASE)
    Logbook.open(folder).close()
    after = all_rows(folder / DATABASE)
    assert [row[:-1] for row in after["entry"]] == before["entry"]
    assert {row[-1] for row in after["entry"]} == {"dull"}
    assert failures(verify(folder, database=DATABASE)) == ()


@pytest.mark.parametrize(
    "more",
    [
        "op.execute('INSERT INTO nowhere VALUES (1)')",
        "raise RuntimeError('stopped')",
        "op.execute(\"DELETE FROM entry WHERE id = 'c'\")",  # breaks the link of its correction
    ],
)
def test_a_migration_that_fails_changes_nothing(filled: Filled, later: Path, more: str) -> None:
    (later / "versions" / "9001_later.py").write_text(LATER.format(head=HEAD, more=more))
    shutil.rmtree(later / "versions" / "__pycache__", ignore_errors=True)
    before = filled.rows()
    with pytest.raises(Exception, match=r"no such table|stopped|would break 1 links; undone"):
        Logbook.open(filled.folder)
    assert filled.rows() == before
    with closing(sqlite3.connect(filled.folder / DATABASE)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]
        assert "weather" not in {row[1] for row in connection.execute("PRAGMA table_info(entry)")}


@pytest.mark.parametrize("revision", EARLIER)
def test_a_write_protected_logbook_of_an_earlier_schema_is_read_as_it_is(revision: str, tmp_path: Path) -> None:
    folder = tmp_path / "logbook"
    write_earlier(folder, revision)
    engine = engine_for(folder / DATABASE)
    assert schema.bring_up_to_date(engine, folder / DATABASE, may_write=False) is None
    with engine.connect() as connection:
        assert schema.revision_of(connection) == revision
    engine.dispose()


def test_a_write_protected_logbook_that_must_be_migrated_first_is_refused(
    filled: Filled, later: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled.execute("ALTER TABLE entry RENAME COLUMN note TO remark")
    engine = engine_for(filled.folder / DATABASE)
    with pytest.raises(schema.OlderLogbookError, match="write-protected"):
        schema.bring_up_to_date(engine, filled.folder / DATABASE, may_write=False)
    engine.dispose()
