"""`verify` finds nothing in a sound logbook, and each kind of damage by its own row."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from faults.filled import Filled

from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.logbook.verify import failures, verify
from littoral.quantities.check_row import CheckRow


def wrong(filled: Filled) -> dict[str, CheckRow]:
    rows = verify(filled.folder, database=DATABASE)
    return {row.what: row for row in rows if row.verdict != "holds" and row.what != "room on the disk"}


def test_a_sound_logbook_has_nothing_wrong_and_is_not_changed(filled: Filled) -> None:
    before = (filled.folder / DATABASE).read_bytes()
    assert wrong(filled) == {}
    assert (filled.folder / DATABASE).read_bytes() == before
    assert len(verify(filled.folder, database=DATABASE)) == 13


def lose(filled: Filled) -> None:
    filled.original(0).unlink()


def rot(filled: Filled) -> None:
    data = bytearray(filled.original(1).read_bytes())
    data[3] ^= 1
    filled.original(1).write_bytes(data)


def lengthen(filled: Filled) -> None:
    filled.original(1).write_bytes(filled.original(1).read_bytes() + b"\0")


def make_unreadable(filled: Filled) -> None:
    path = filled.original(2)
    path.unlink()
    path.mkdir()  # what cannot be read even by an administrator


def loop(filled: Filled) -> None:
    filled.execute("UPDATE entry SET supersedes = 'd' WHERE id = 'c'")


def drop_page(filled: Filled) -> None:
    file = filled.folder / DATABASE
    with file.open("rb+") as opened:
        opened.seek(os.path.getsize(file) // 4096 // 2 * 4096)
        opened.write(b"\xff" * 4096)


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (lose, "originals: there"),
        (rot, "originals: unchanged, by SHA-256"),
        (lengthen, "originals: unchanged, by SHA-256"),
        (make_unreadable, "originals: can be read"),
        (loop, "corrections: lead to a last one"),
        ("UPDATE original SET size_bytes = 1 WHERE rowid = 1", "originals: unchanged, by SHA-256"),
        ("UPDATE original SET suffix = '/../..' WHERE rowid = 1", "originals: can be read"),
        ("UPDATE entry SET supersedes = 'nowhere' WHERE id = 'd'", "database: links between rows"),
        ("UPDATE entry SET payload = '{' WHERE id = 'a'", "entries: can be read"),
        ("UPDATE entry SET payload = '{\"minutes\": 1, \"more\": 2}' WHERE id = 'd'", "entries: can be read"),
        ("UPDATE entry SET kind = 'weather' WHERE id = 'a'", "entries: can be read"),
        ("UPDATE entry SET at = '2026-03-03 12:00' WHERE id = 'a'", "entries: can be read"),
        ("UPDATE entry SET recorded_at = 'noon' WHERE id = 'a'", "entries: can be read"),
        ("UPDATE entry SET zone = 'Mars/Base' WHERE id = 'a'", "entries: can be read"),
        ("UPDATE entry SET trial = 'other' WHERE id = 'a'", "entries: of a trial that is there"),
        ("DELETE FROM original WHERE rowid = 1", "photos: with their original"),
        ("UPDATE trial_text SET text = 'tanks = ' WHERE id = 2", "trials: their text can be read"),
        ("DROP INDEX ix_entry_trial_at", ""),
        ("DROP TABLE original", "database: can be read"),
        (drop_page, "database: "),
        (lambda filled: (filled.folder / DATABASE).write_bytes(b"dear diary" * 1000), "database: can be read"),
        (lambda filled: (filled.folder / DATABASE).write_bytes(b""), "database: can be read"),
    ],
)
def test_each_damage_fails_its_own_row(filled: Filled, spoil: Callable[[Filled], object] | str, what: str) -> None:
    filled.execute(spoil) if isinstance(spoil, str) else spoil(filled)
    failed = failures(wrong(filled).values())
    if not what:
        assert failed == ()
        return
    assert any(row.what.startswith(what) for row in failed), failed
    assert all(row.value and row.comment for row in failed)


def test_a_file_without_a_row_and_a_second_correction_warn(filled: Filled) -> None:
    stray = filled.folder / "originals" / "ab" / ".0123.part"
    stray.parent.mkdir()
    stray.write_bytes(b"half")
    filled.execute("UPDATE entry SET supersedes = 'c' WHERE id = 'e'")
    found = wrong(filled)
    assert {what: row.verdict for what, row in found.items()} == {
        "originals: each file has its row": "warns",
        "corrections: one for an entry": "warns",
    }
    assert "originals/ab/.0123.part" in found["originals: each file has its row"].comment


def test_a_failure_names_what_is_wrong_and_what_to_do(filled: Filled, tmp_path: Path) -> None:
    lose(filled)
    comment = wrong(filled)["originals: there"].comment
    assert filled.hashes[0][:12] in comment
    assert "Import the photo again" in comment


def test_importing_a_lost_photo_again_puts_it_right(filled: Filled, tmp_path: Path) -> None:
    again = tmp_path / "again.jpg"
    again.write_bytes(filled.original(0).read_bytes())
    lose(filled)
    with Logbook.open(filled.folder) as book:
        book.keep_originals({filled.hashes[0]: (again, ".jpg")})
    assert wrong(filled) == {}
