"""`littoral photos`: what a person types, and what stands on the screen then."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.photos_made import blurred, file_of, shot
from typer.testing import CliRunner

from littoral.cli.main import app
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    trial, _ = read_trial(WHOLE, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, WHOLE)
    for day in range(2):
        (tmp_path / f"{day}.jpg").write_bytes(file_of(shot("left", day), taken=f"2026:03:0{3 + day} 18:00:00"))
    (tmp_path / "soft.jpg").write_bytes(file_of(blurred(shot("left", 2)), taken="2026:03:05 18:00:00"))
    (tmp_path / "text.jpg").write_text("no photo")
    return tmp_path


def run(*words: object):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_photos_are_added_listed_and_decided_about(folder: Path) -> None:
    book = folder / "logbook"
    done = run("photos", "add", book, folder / "0.jpg", folder / "1.jpg", folder / "soft.jpg", folder / "text.jpg")
    assert done.exit_code == 1  # one was refused
    assert "text.jpg: refused. This is not a JPEG" in done.stdout
    assert "soft.jpg: left, to decide. Blurred" in done.stdout
    assert "4 files: 2 added, 1 added and to be decided about, 1 refused" in done.stdout
    listed = run("photos", "list", book, "--to-decide")
    assert "blurred: much softer" in listed.stdout
    identity = listed.stdout.split()[0]
    assert run("photos", "decide", book, "set-aside", identity).exit_code == 1  # no reason
    assert run("photos", "decide", book, "keep", "zzz").exit_code == 1
    assert run("photos", "decide", book, "set-aside", identity, "--reason", "shaken").exit_code == 0
    assert "set aside: shaken" in run("photos", "list", book, "--set-aside").stdout
    again = run("photos", "add", book, folder / "0.jpg", "--json")
    assert again.exit_code == 0
    assert json.loads(again.stdout)["counts"]["duplicate"] == 1
    photos = json.loads(run("photos", "list", book, "--json").stdout)["photos"]
    assert [photo["state"] for photo in photos] == ["in use", "in use", "set aside"]


def test_what_is_typed_wrong_is_said(folder: Path) -> None:
    done = run("photos", "add", folder / "logbook", folder / "0.jpg", "--view", "lfet", "--clock", "soon")
    assert done.exit_code == 1
    assert "view" in done.output
    assert "clock" in done.output


def test_a_photo_that_is_asked_about_comes_with_the_command_that_answers(folder: Path) -> None:
    (folder / "undated.jpg").write_bytes(file_of(shot("left", 3)))
    done = run("photos", "add", folder / "logbook", folder / "undated.jpg", "--view", "left")
    assert done.exit_code == 1
    assert "undated.jpg: asked." in done.stdout
    assert '--when "2026-03-08 18:30"' in done.stdout
    assert "--view VIEW" not in done.stdout
    told = run(
        "photos", "add", folder / "logbook", folder / "undated.jpg", "--view", "left", "--when", "2026-03-06 18:00"
    )
    assert told.exit_code == 0, told.output
    assert "Say when" not in told.stdout
