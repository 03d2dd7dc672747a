"""A fresh demo replaces an earlier one, and never a person's own work."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from littoral.acts.clear_demo import OwnWorkError, clear_demo
from littoral.acts.start_trial import start_in_logbook
from littoral.logbook.book import Logbook


@pytest.fixture
def book(small_demo, tmp_path: Path) -> Path:
    shutil.copytree(small_demo.logbook, tmp_path / "logbook")
    return tmp_path / "logbook"


def test_an_earlier_demo_goes(book: Path) -> None:
    clear_demo(book)
    assert not book.exists()
    clear_demo(book)  # nothing there: nothing to do


def test_a_trial_of_ones_own_stays(book: Path) -> None:
    key = start_in_logbook(book, title="My own", start="2026-03-02", zone="UTC")
    with pytest.raises(OwnWorkError, match=key):
        clear_demo(book)
    with Logbook.open(book) as opened:
        assert key in opened.trials()
