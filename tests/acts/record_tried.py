"""A trial with its logbook, to record in."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from littoral.acts.see_today import see_today
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.trial.written.reader import read_trial

TEXT = (
    (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
    + """
[schedule]
doses_at = "18:00"
tests = [{ of = ["nitrate"], on = ["Fri"], at = "17:00" }]
trims = [{ of = ["red-stem"], every = "14 days" }]
photos = [{ on = "every day", at = "19:00" }]
"""
)


TRIAL = read_trial(TEXT, where="trial.toml")[0]


assert TRIAL is not None


NOW = datetime(2026, 3, 8, 17, 30, tzinfo=UTC)  # Sunday, 18:30 in Berlin


DOSE = "2026-03-08/left/dose macro"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
    return tmp_path / "logbook"


def stored(folder: Path):
    with Logbook.open(folder) as book:
        return book.entries(TRIAL.key)


def rows(folder: Path) -> int:
    connection = sqlite3.connect(folder / DATABASE)
    (count,) = connection.execute("SELECT count(*) FROM entry").fetchone()
    connection.close()
    return count


def task(folder: Path, item: str, *, now: datetime = NOW):
    (trial,) = see_today(folder, now=now).trials
    return next(one for tank in trial.tanks for one in (*tank.tasks, *tank.open_before) if one.item == item)
