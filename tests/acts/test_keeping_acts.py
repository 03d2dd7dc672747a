"""The acts that keep a logbook from being lost, and their commands, end to end."""

from __future__ import annotations

import csv
import io
import json
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from faults.filled import NOW, Filled
from typer.testing import CliRunner

from littoral.acts import verify_logbook as verifying
from littoral.acts.back_up import back_up_if_due, back_up_logbook
from littoral.acts.export_logbook import NotEmptyError, export_logbook
from littoral.acts.restore_logbook import restore_logbook
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.cli.main import app
from littoral.logbook.refused import NoLogbookError
from littoral.logbook.space import WARN_BELOW_BYTES
from littoral.web.daily_backup import DailyBackup

run = CliRunner().invoke


def test_a_backup_is_made_once_a_day(filled: Filled) -> None:
    assert back_up_if_due(filled.folder, now=NOW) is not None
    assert back_up_if_due(filled.folder, now=NOW + timedelta(hours=22)) is None
    later = back_up_if_due(filled.folder, now=NOW + timedelta(hours=23))
    assert later is not None
    assert later.path.parent == filled.folder / "backups"
    assert is_whole(verify_logbook(filled.folder))


def test_the_page_makes_one_when_it_opens_and_goes_on_where_that_fails(
    filled: Filled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr(verifying, "free_bytes_at", lambda _: WARN_BELOW_BYTES)
    with DailyBackup(filled.folder, to=None, say=said.append, now=lambda: NOW):
        pass
    assert said == [f"backed up to {filled.folder / 'backups' / '2026-03-20T080000Z'}, with 3 photos"]
    (tmp_path / "file").write_text("in the way")
    failing = DailyBackup(filled.folder, to=tmp_path / "file", say=said.append, now=lambda: NOW)
    failing.once()
    failing.once()
    assert len(said) == 2
    assert said[1].startswith("No backup was made: ")
    monkeypatch.setattr(verifying, "free_bytes_at", lambda _: WARN_BELOW_BYTES - 1)
    DailyBackup(filled.folder, to=None, say=said.append, now=lambda: NOW).once()
    assert said[2:] == ["The disk with “logbook” is nearly full: make room before the next photos."]


def test_a_backup_is_verified_where_it_lies(filled: Filled, tmp_path: Path) -> None:
    back_up_logbook(filled.folder, now=NOW, to=tmp_path / "disk")
    path = back_up_logbook(filled.folder, now=NOW + timedelta(days=1), to=tmp_path / "disk").path
    before = {file: file.read_bytes() for file in path.iterdir()}
    assert is_whole(verify_logbook(path))
    assert {file: file.read_bytes() for file in path.iterdir()} == before
    photo = next((tmp_path / "disk" / "originals").rglob("*.jpg"))
    photo.write_bytes(photo.read_bytes()[::-1])
    database = path / "logbook.sqlite3"
    database.write_bytes(database.read_bytes() + bytes(4096))
    assert [row.what for row in verify_logbook(path) if row.verdict == "fails"] == [
        "backup: as it was made",
        "originals: unchanged, by SHA-256",
    ]


def test_no_logbook_is_said(tmp_path: Path) -> None:
    for act in (verify_logbook, lambda folder: back_up_logbook(folder, now=NOW)):
        with pytest.raises(NoLogbookError):
            act(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_the_exported_table_holds_no_formula_and_the_lines_hold_everything(filled: Filled, tmp_path: Path) -> None:
    done = export_logbook(filled.folder, tmp_path / "plain", now=NOW)
    assert (done.texts, done.entries, done.originals, done.lost) == (2, 9, 3, ())
    table = list(csv.DictReader(io.StringIO((done.folder / "entries.csv").read_text("utf-8"), newline="")))
    assert [row["id"] for row in table] == ["a", "b", "d", "e", "f", "p0", "p1", "p2"]
    assert table[0]["note"] == "'=HYPERLINK(1)"
    lines = [json.loads(line) for line in (done.folder / "entries.jsonl").read_text("utf-8").split("\n") if line]
    assert [line["id"] for line in lines] == [entry.id for entry in filled.entries]
    assert lines[0]["note"] == "=HYPERLINK(1)"
    assert lines[0]["payload"]["ml"] == 2.0
    with pytest.raises(NotEmptyError):
        export_logbook(filled.folder, done.folder, now=NOW)


def test_export_restore_export_is_the_same(filled: Filled, tmp_path: Path) -> None:
    first = export_logbook(filled.folder, tmp_path / "first", now=NOW)
    restore_logbook(first.folder, tmp_path / "new")
    second = export_logbook(tmp_path / "new", tmp_path / "second", now=NOW)
    names = sorted(path.relative_to(first.folder) for path in first.folder.rglob("*") if path.is_file())
    assert names == sorted(path.relative_to(second.folder) for path in second.folder.rglob("*") if path.is_file())
    assert all((first.folder / name).read_bytes() == (second.folder / name).read_bytes() for name in names)


def test_the_commands_back_up_wipe_restore_verify(filled: Filled, tmp_path: Path) -> None:
    book, to, new = str(filled.folder), str(tmp_path / "disk"), str(tmp_path / "new")
    done = run(app, ["backup", book, "--to", to, "--json"])
    assert done.exit_code == 0, done.output
    said = json.loads(done.stdout)
    assert said["photos"] == 3
    shutil.rmtree(filled.folder)
    done = run(app, ["restore", said["path"], new])
    assert done.exit_code == 0, done.output
    assert "with 3 photos; every check holds" in done.stdout
    done = run(app, ["verify", new])
    assert done.exit_code == 0, done.output
    assert "Nothing is lost." in done.stdout
    done = run(app, ["export", new, str(tmp_path / "plain")])
    assert done.exit_code == 0, done.output
    next((tmp_path / "new" / "originals").rglob("*.jpg")).unlink()
    done = run(app, ["verify", new])
    assert done.exit_code == 1
    assert "Something is lost or damaged" in done.stdout
    assert run(app, ["restore", said["path"], new]).exit_code == 1
