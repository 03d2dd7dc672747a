"""A logbook of the invented trial, without an entry."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

TEXT = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")


@pytest.fixture
def now() -> datetime:
    return datetime(2026, 4, 8, 17, 30, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    made = tmp_path / "logbook"
    with Logbook.create(made) as book:
        book.take_in(trial, TEXT)
    return made
