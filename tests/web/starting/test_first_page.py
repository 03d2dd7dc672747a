"""The three questions: where the logbook is empty, with what is wrong beside each answer, ending on Today."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from littoral.acts.list_trials import list_trials
from littoral.logbook.book import Logbook
from littoral.web.app import create_app

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
ANSWERS = {"know": "feed", "words": "", "tanks": "left, right", "glass": "60 x 30 x 30 cm", "feed": "Green <bottle>",
           "holds": "NO3 6 %, K2O 3 %", "dose": "2 mL", "often": "three times a week"}  # fmt: skip


@pytest.fixture
def empty(tmp_path: Path, monkeypatch, asking_of):
    monkeypatch.setenv("TZ", "Europe/Berlin")
    Logbook.create(tmp_path / "logbook").close()
    return asking_of(create_app(tmp_path / "logbook", port=8765, now=lambda: NOW))


def test_an_empty_logbook_asks_three_things_and_offers_the_demo_beside(empty):
    text = empty.get("/").text
    assert len(re.findall("<legend>", text)) == 3
    assert "littoral demo" in text
    assert 'href="/new"' in text
    assert text.count('type="text"') == 6
    assert empty.get("/start").status_code == 200


def test_the_answers_end_on_today_with_the_first_dose_one_tap_away(empty, tmp_path):
    answer = empty.post("/start", ANSWERS)
    assert answer.status_code == 303
    today = empty.get(answer.headers["location"].removeprefix("http://127.0.0.1:8765")).text
    assert "Your trial has begun" in today
    assert "Green &lt;bottle&gt;" in today
    assert "2 mL" in today
    assert "half of it" in today
    assert 'value="planned" class="big">Done' in today
    assert [one.key for one in list_trials(tmp_path / "logbook")] == ["all-the-feed-or-half-of-it"]
    assert "Trials of this logbook" in empty.get("/").text


def test_what_is_wrong_stands_beside_its_answer_and_what_was_written_is_kept(empty, tmp_path):
    answer = empty.post("/start", {**ANSWERS, "holds": "N 6 %", "glass": 'big"'})
    assert answer.status_code == 422
    assert 'id="glass-wrong"' in answer.text
    assert 'value="big&#34;"' in answer.text
    assert "nothing was changed" in answer.text
    answer = empty.post("/start", {**ANSWERS, "holds": "N 6 %"})
    assert "NO3-N" in answer.text.partition('id="holds-wrong"')[2]
    assert list_trials(tmp_path / "logbook") == ()
