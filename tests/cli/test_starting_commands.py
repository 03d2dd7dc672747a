"""`littoral start`, `again` and `today` without a folder: the same answers as the page's, the keeper's own logbook."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from littoral.cli.main import app

FED = ("--feed", "Green bottle", "--holds", "NO3 6 %, K2O 3 %", "--dose", "2 mL")


@pytest.fixture
def run(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return lambda *arguments: CliRunner().invoke(app, [str(one) for one in arguments], catch_exceptions=False)


def test_from_nothing_to_today_and_on_to_a_further_trial_in_ones_own_logbook(run, tmp_path):
    empty = run("today")
    assert empty.exit_code == 1
    assert "littoral start" in empty.output
    begun = run("start", *FED)
    assert begun.exit_code == 0, begun.output
    assert "littoral open  shows" in begun.output
    assert "2 mL Green bottle" in run("today").output
    again = json.loads(run("again", tmp_path / "littoral" / "logbook", "--json").stdout)
    assert again["wash_out"]["half_life_days"] > 0
    made = run("again", tmp_path / "littoral" / "logbook", "--title", "Light", "--factor", "hours of light",
               "--first", "8 hours", "--second", "10 hours", "--regime", "all-of-it")  # fmt: skip
    assert made.exit_code == 0, made.output
    assert "No longer held the same: light 8 h a day" in made.output


def test_wrong_answers_are_named_and_nothing_is_made(run, tmp_path):
    refused = run("start", "--feed", "Green bottle", "--holds", "N 6 %", "--dose", "2 mL")
    assert refused.exit_code == 1
    assert "NO3-N" in refused.output
    assert list(tmp_path.iterdir()) == []
    assert "nothing is fed" in run("start", "--often", "nothing").output
