"""`littoral import-table`: shown first, written on request, once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from littoral.cli.main import app
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, TEXT)
    return tmp_path / "logbook"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    file = tmp_path / "log.csv"
    file.write_text("date;tank;temp;mood\n2026-03-03;left;24;good\n2026-03-04;left;warm;\n")
    return file


def run(*arguments: object) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["import-table", *(str(one) for one in arguments)])
    return done.exit_code, done.output


def entries(folder: Path) -> int:
    with Logbook.open(folder) as book:
        return len(book.entries("sparing-or-full"))


def test_it_is_only_shown_until_it_is_to_be_written(folder, table):
    code, said = run(table, "--logbook", folder)
    assert code == 1  # there is a problem to look at
    assert 'C3: is "warm"' in said
    assert "names no unit" in said
    assert "Nothing is written yet: mend the file, or say --write --leave-out-problems" in said
    assert entries(folder) == 0


def test_problems_are_left_out_on_request_and_twice_changes_nothing(folder, table):
    assert run(table, "--logbook", folder, "--write")[0] == 1
    assert entries(folder) == 0
    said = run(table, "--logbook", folder, "--write", "--leave-out-problems")[1]
    assert "1 new entry" in said
    assert "0 new entries, 1 there already" in run(table, "--logbook", folder, "--write", "--leave-out-problems")[1]


def test_columns_are_chosen_by_their_letters(folder, table):
    code, said = run(table, "--logbook", folder, "--column", "C=", "--column", "d=note", "--json")
    assert code == 0
    found = json.loads(said)
    assert [one["means"] for one in found["columns"]] == ["date", "tank", "", "note"]
    assert found["new"] == 1
    run(table, "--logbook", folder, "--column", "C=reading temperature in °C", "--column", "D=note", "--write",
        "--leave-out-problems")  # fmt: skip
    assert entries(folder) == 1


@pytest.mark.parametrize("column", ["C", "3=note", "C=note=x", "ABCD=note"])
def test_a_column_that_is_said_wrongly_is_wrong_usage(folder, table, column):
    assert run(table, "--logbook", folder, "--column", column)[0] == 2


@pytest.mark.parametrize("arguments", [("--tank", "middle"), ("--column", "C=nonsense"), ("--encoding", "rot13")])
def test_a_choice_that_cannot_be_is_refused(folder, table, arguments):
    code, said = run(table, "--logbook", folder, *arguments)
    assert code == 1
    assert "Traceback" not in said


def test_a_file_that_is_not_there_is_named(folder, tmp_path):
    code, said = run(tmp_path / "nothing.csv", "--logbook", folder)
    assert code == 1
    assert "cannot be read" in said


def test_a_meaning_that_there_is_not_is_answered_with_those_there_are(folder, table):
    said = run(table, "--logbook", folder, "--column", "D=mood")[1]
    assert "The meanings are date, time" in said
