"""What the page of a trial is given, on the demo's logbook."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from littoral.acts.answer_questions import answer_questions
from littoral.acts.list_trials import fingerprint, list_trials, trial_text
from littoral.acts.trial_page import TrialPage
from littoral.acts.twin_pictures import THUMB_PX, WIDTH_PX, twin_picture
from littoral.acts.view_trial import view_trial
from littoral.logbook.book import Logbook
from littoral.logbook.refused import NoTrialError
from littoral.publish.findings_json import findings_json
from littoral.trial.entries import Photo

KEY = "sparing-or-full"


@pytest.fixture(scope="module")
def page(small_demo) -> TrialPage:
    return view_trial(small_demo.logbook, KEY)


@pytest.fixture(scope="module")
def entries(small_demo):
    with Logbook.open(small_demo.logbook) as book:
        return book.entries(KEY)


def test_every_day_is_there_with_its_date(page):
    assert [moment.day for moment in page.moments] == list(range(28))
    assert page.moments[0].date == page.trial.start
    assert page.moments[27].label == "Day 27"
    assert page.whole_days


def test_tanks_stand_in_the_order_of_the_file_in_the_colour_of_their_arm(page):
    assert [tank.key for tank in page.tanks] == ["left", "right"]
    for tank in page.tanks:
        assert page.trial.arms[tank.arm_place].key == tank.arm
        assert tank.key in page.trial.arms[tank.arm_place].tanks


def test_days_with_a_photo_show_one_of_theirs_and_the_others_the_last_before(page, entries):
    for tank in page.tanks:
        mine = {entry.id for entry in entries if isinstance(entry.payload, Photo) and entry.payload.view == tank.key}
        last = ""
        for moment, shown in zip(page.moments, tank.shown, strict=True):
            assert shown.photo is not None
            assert shown.photo.entry_id in mine
            if not shown.held:
                assert int(shown.photo.day) == moment.day
                last = moment.label
            assert shown.from_label == last
        assert any(shown.held for shown in tank.shown)  # the demo leaves days out


def test_each_entry_but_photos_is_an_event_on_its_day(page, entries):
    assert [event.entry_id for event in page.events] == [e.id for e in entries if not isinstance(e.payload, Photo)]
    doses = [event for event in page.events if event.kind == "dose"]
    assert doses
    assert all(event.text.startswith("dosed ") and " mL " in event.text for event in doses)
    assert {event.kind for event in page.events} >= {"dose", "water change", "trim", "reading", "care"}


def test_findings_are_those_of_the_command_line(page, small_demo):
    answered = answer_questions(small_demo.logbook)
    assert page.findings_json == findings_json(answered.trial, answered.findings)
    assert [finding.question for finding in page.findings] == [question.key for question in page.trial.questions]
    json.dumps(page.findings_json, allow_nan=False)


def test_charts_are_the_same_in_each_width(page):
    assert len(page.charts) >= 5
    for widths in page.charts:
        assert list(widths) == [340, 720, 1180]
        assert len({chart.key for chart in widths.values()}) == 1
        assert all("day" in json.dumps(chart.spec) for chart in widths.values())


def test_tables_are_even(page):
    titles = [table.title for table in page.tables]
    assert titles[0] == "What one dose adds, mg/L"
    assert titles[2] == "Given week by week, mg/L"
    assert "Levels in the last week, mg/L" in titles
    for table in page.tables:
        assert len(table.columns) == len(table.units)
        assert all(len(row) == len(table.columns) for row in table.rows)
    weeks = page.tables[2]
    assert [row[0] for row in weeks.rows] == ["1 (baseline)", "2 (baseline)", "3", "4"]


def test_in_the_baseline_both_tanks_are_given_alike(page):
    weeks = page.tables[2]
    pairs = [(row[at], row[at + 1]) for row in weeks.rows[:2] for at in range(1, len(row), 2)]
    assert len(pairs) == 8
    assert all(one == other for one, other in pairs)
    later = [(row[at], row[at + 1]) for row in weeks.rows[2:] for at in range(1, len(row), 2)]
    assert all(one != other for one, other in later)


def test_pictures_have_one_shape_and_are_cut_once(page):
    for tank in page.tanks:
        made: dict[str, Path] = {}
        for look in ("even", "original", "thumb"):
            path = twin_picture(page, entry_id=tank.shown[3].photo.entry_id, tank=tank.key, look=look)
            made[look] = path
            with Image.open(path) as image:
                assert image.format == "JPEG"
                width = THUMB_PX if look == "thumb" else WIDTH_PX
                assert image.size == (width, round(width * tank.shape_px[1] / tank.shape_px[0]))
                assert not image.getexif()
        assert len(set(made.values())) == 3
        before = made["even"].stat().st_mtime_ns
        again = twin_picture(page, entry_id=tank.shown[3].photo.entry_id, tank=tank.key, look="even")
        assert again == made["even"]
        assert again.stat().st_mtime_ns == before
    assert not list(page.pictures.glob("*.part"))


def test_a_picture_of_another_tank_or_of_no_entry_is_none(page):
    left, right = page.tanks
    photo = left.shown[0].photo
    assert twin_picture(page, entry_id=photo.entry_id, tank=right.key, look="even") is None
    assert twin_picture(page, entry_id="../../secret", tank=left.key, look="even") is None
    assert twin_picture(page, entry_id=photo.entry_id, tank="..", look="even") is None


def test_a_photo_that_could_not_be_prepared_is_shown_as_it_is(page, tmp_path):
    left = page.tanks[0]
    photo = replace(left.shown[0].photo, prepared=None, stamp="other")
    alone = replace(page, tanks=(replace(left, shown=(replace(left.shown[0], photo=photo),)),), pictures=tmp_path)
    assert twin_picture(alone, entry_id=photo.entry_id, tank=left.key, look="even") is not None


def test_the_list_counts_what_is_recorded(small_demo, entries):
    (one,) = list_trials(small_demo.logbook)
    assert one.key == KEY
    assert one.rendered
    assert one.photos == sum(isinstance(entry.payload, Photo) for entry in entries)
    assert one.entries == len(entries) - one.photos
    assert one.files is None  # they lie elsewhere than where the page would have put them
    assert trial_text(small_demo.logbook, KEY) == (small_demo.files / "trial.toml").read_text()


def test_the_fingerprint_changes_with_an_entry_and_a_result(tmp_path):
    from littoral.acts.start_trial import start_in_logbook

    Logbook.create(tmp_path / "logbook").close()
    key = start_in_logbook(
        tmp_path / "logbook",
        title="Mine",
        glass="60 x 30 x 30 cm",
        start="2026-03-02",
        length="8 weeks",
        baseline="2 weeks",
        zone="UTC",
    )
    before = fingerprint(tmp_path / "logbook", key)
    assert fingerprint(tmp_path / "logbook", key) == before
    results = tmp_path / "results"
    results.mkdir()
    (results / "findings.json").write_text(json.dumps({"trial": {"key": key}}))
    assert fingerprint(tmp_path / "logbook", key) != before
    with pytest.raises(NoTrialError):
        fingerprint(tmp_path / "logbook", "other")
