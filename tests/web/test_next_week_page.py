"""What to do next week on a logbook with levels: it starts no fit, and leaves a running trial alone."""

from __future__ import annotations

import html
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.web.conftest import PORT, Asking

from littoral.web.app import create_app

PAGE = "/trial/two-tanks/decide"


def served(folder: Path, now: datetime) -> Asking:
    return Asking(create_app(folder, port=PORT, now=lambda: now))


def test_no_fit_is_started_and_a_running_trial_is_left_alone(
    levels_logbook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("littoral.web.bench_pages.QUICK_ANSWER_S", 200)
    asking = served(levels_logbook, datetime(2026, 3, 17, 12, tzinfo=UTC))
    try:
        page = html.unescape(asking.get(PAGE).text)
        assert "The levels are not worked out yet: open Levels" in page
        assert "The trial runs until 22 March 2026: change nothing in its arms before the end" in page
        assert "Small steps" not in page
        works = asking.app.state.levels.pages
        assert works.begun("two-tanks") is None
        works.ask("two-tanks", patience_s=200)
        later = html.unescape(asking.get(PAGE).text)
        assert "As of Tuesday 17 March 2026, day 15" in later
        assert "Small steps" not in later
        assert "change nothing in its arms" in later
    finally:
        asking.app.state.levels.close()
