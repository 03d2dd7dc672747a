"""The pages of series and of plant or camera: what they say, what they refuse, and the same as JSON and CSV."""

from __future__ import annotations

import csv
import html
import io
import json
import math
import re
import threading
from collections.abc import Iterator
from dataclasses import replace
from types import SimpleNamespace

import pytest
from tests.findings.conftest import FakeBook, build_measured, build_trial
from tests.web.conftest import PORT, Asking, SmallBench, small_page

from littoral.acts.photos.colour_page import colour_page_of
from littoral.acts.photos.series_page import PhotoSeries
from littoral.findings.measured import Measured
from littoral.findings.plant_or_camera import plant_or_camera
from littoral.trial.entries import Trim
from littoral.trial.model import Question
from littoral.web.app import create_app
from littoral.web.waiting import Waiting

RED = Question("red", "Did the red stem plant turn redder?", "redness", ("red-stem",))
GATED = "photo-right-30"


def said(text: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", text)))


@pytest.fixture(scope="module")
def made() -> SimpleNamespace:
    """A trial of one red plant, with a photo set aside, one over the gate, and a trim; both pages of it."""

    def red(day: int, tank: str) -> dict[str, float]:
        wobble = ((7 * day + len(tank)) % 5 - 2) / 10
        rise = 8.0 if tank == "right" and day >= 14 else 0.0
        return {"a": 30 + rise + wobble, "colour_error": 0.8, "height_cm": 8 + 0.1 * day + wobble / 10}

    trial = build_trial(RED)
    trial = replace(
        trial, stands={"red-stem": replace(trial.stands["red-stem"], name="red <stem> plant")}, rendered=True
    )
    photos = []
    for one in build_measured(trial, {"red-stem": red}, skip=(20,)).photos:
        if one.entry_id == "photo-left-9":
            one = replace(one, excluded="set aside by a person: a <hand>", regions=())
        if one.entry_id == GATED:
            one = replace(one, colour_residual=5.2)
        photos.append(one)
    measured = Measured(tuple(photos), "test")
    book = FakeBook(trial)
    book.note(25.0, "left", Trim("red-stem", 4.0, 5.0))
    entries = book.entries(trial.key)
    stands = plant_or_camera(book, trial, measured, marks={})
    page = colour_page_of(trial, measured, entries, stands, marks={}, gate=4.0, charts=True)
    return SimpleNamespace(trial=trial, colour=page, series=PhotoSeries(trial, measured, entries, {}))


@pytest.fixture
def asked(made, tmp_path) -> Iterator[Asking]:
    bench = SmallBench(tmp_path, {"small": replace(small_page(tmp_path), trial=made.trial)})
    app = create_app(tmp_path, port=PORT, bench=bench)
    work = app.state.measured
    work.series = Waiting(lambda key: key, lambda key, progress: made.series)
    work.colour = Waiting(lambda key: key, lambda key, progress: made.colour)
    yield Asking(app)
    work.close()
    app.state.waiting.close()


def test_a_stand_s_answer_stands_with_its_number_and_the_camera_s_beside_it(asked, made) -> None:
    text = asked.get("/trial/small/colour").text
    words = said(text)
    assert "Red <stem> plant: the plant differs, by more than the camera makes; full minus sparing is +8.0 a*" in words
    assert words.index("Red <stem> plant: the plant differs") < words.index("Each stand")  # the answer comes first
    assert made.colour.stands[0].finding.wording in words
    assert "+8.0 a* (95 % interval" in words
    assert "However many photos: the camera alone may make 2.9 a*" in words
    assert "One photo leaves open, by what is left on the reference (95 %) ± 1.6 a*" in words
    assert "Repeat shots within minutes differ by (SD) none taken" in words
    assert "rendered demo" in words
    assert "<stem>" not in text


@pytest.mark.parametrize("path", ["colour", "series"])
def test_the_navigation_is_that_of_all_photo_pages(asked, path: str) -> None:
    nav = asked.get(f"/trial/small/{path}").text.split('aria-label="Photos of this trial"')[1].split("</nav>")[0]
    ends = re.findall(r'href="(?:/trial/small)?/?([^"]+)"', nav)
    assert [end.partition("?")[0] for end in ends if not end.startswith("views/")] == [
        "photos", "photos/add", "camera", "series", "colour",
    ]  # fmt: skip
    assert f'/{path}" aria-current="page"' in nav


def test_a_photo_over_the_gate_is_named_and_linked(asked) -> None:
    text = asked.get("/trial/small/colour").text
    assert f'href="/trial/small/photos/{GATED}"' in text
    assert "right view, day 30 : 5.2 ΔE00" in said(text)


def test_the_json_of_colour_holds_every_number_of_the_page(asked, made) -> None:
    found = asked.get("/trial/small/colour.json").json()
    assert found == json.loads(json.dumps(made.colour.as_json()))
    (stand,) = found["stands"]
    assert stand["camera"]["least_claimed"] == 2.9
    assert stand["by_day"]["camera_band"] == 2.9
    assert len(stand["by_day"]["day"]) == 54  # a day without photos, and one whose photo was set aside
    assert [one["photo"] for one in found["over_the_gate"]] == [GATED]
    charts = asked.get("/trial/small/colour/charts.json").json()
    assert [one["key"] for one in charts["charts"]] == ["camera-red-stem", "series-camera"]


def test_the_picture_rings_exactly_the_days_outside_the_camera_s_bands_and_marks_trims(asked, made) -> None:
    sent = asked.get("/trial/small/colour/charts.json").json()
    first, second = sent["charts"][0]["widths"]["720"]["concat"]
    rings = [one["data"]["values"] for one in first["layer"] if one["mark"].get("strokeWidth") == 1.8]
    difference = made.colour.stands[0].difference
    reach = math.hypot(2.9, 1.96 * math.sqrt(2) * 0.8)
    outside = [day for day, gap in zip(difference.day, difference.value, strict=True) if abs(gap) > reach]
    assert [[row["day"] for row in rows] for rows in rings] == [pytest.approx(outside)]
    assert min(outside) >= 14
    bands = [one["data"]["values"] for one in first["layer"] if one["mark"]["type"] == "rect"]
    assert [{"low": -2.9, "high": 2.9}] in bands
    triangles = [one["data"]["values"] for one in second["layer"] if one["mark"].get("shape") == "triangle-down"]
    assert triangles == [[{"day": 25.0}]]


def test_a_series_shows_one_measure_the_arms_on_a_day_and_what_is_left_out(asked) -> None:
    words = said(asked.get("/trial/small/series?measure=height&of=red-stem&day=9").text)
    assert "Canopy height of the red <stem> plant" in words
    assert "Day 9" in words
    assert "left out" in words
    assert "set aside by a person: a <hand>" in words
    assert "8.9" in words
    assert "± is how far single photos scatter (95 %); what all of them get wrong alike comes on top" in words
    assert "± is what one photo leaves open (95 %)" in said(asked.get("/trial/small/series?measure=redness").text)
    gap = said(asked.get("/trial/small/series?measure=height&day=20").text)
    assert gap.count("No photo on this day.") == 2
    first = asked.get("/trial/small/series").text
    assert 'data-day="55"' in first  # the last day that both tanks share


def test_a_day_beyond_the_photos_is_the_last_and_nonsense_is_no_day(asked) -> None:
    assert 'data-day="55"' in asked.get("/trial/small/series?day=99999").text
    for nonsense in ("-3", "1e3", "²", "9" * 20, ""):
        assert asked.get(f"/trial/small/series?day={nonsense}").status_code == 200


@pytest.mark.parametrize("query", ["measure=moss", "measure=height&of=root", "of=%3Cb%3E"])
def test_what_is_not_measured_is_refused_with_what_is(asked, query: str) -> None:
    answer = asked.get(f"/trial/small/series?{query}")
    assert answer.status_code == 404
    assert re.search(r"Measured here: height, redness|is measured on red-stem", said(answer.text))
    assert "<b>" not in answer.text.split("<main")[1]


def test_csv_and_json_hold_every_photo_also_those_left_out(asked, made) -> None:
    answer = asked.get("/trial/small/series.csv?measure=redness&of=red-stem")
    assert answer.headers["content-disposition"] == 'attachment; filename="redness.csv"'
    rows = list(csv.DictReader(io.StringIO(answer.text)))
    assert len(rows) == 2 * 55
    out = next(row for row in rows if row["photo"] == "photo-left-9")
    assert (out["value"], out["used"], out["why"]) == ("", "no", "set aside by a person: a <hand>")
    assert {row["half_95"] for row in rows if row["value"]} == {"1.57"}
    found = asked.get("/trial/small/series.json?measure=redness&of=red-stem").json()
    assert found == json.loads(json.dumps(made.series.chosen("redness", "red-stem").as_json()))
    assert [len(one["photos"]) for one in found["series"]] == [55, 55]
    assert found["series"][0]["trims"] == [25.0]


def test_the_chart_breaks_at_gaps_and_trims_and_marks_photos_without_a_value(asked) -> None:
    sent = asked.get("/trial/small/series/charts.json?measure=height").json()
    (chart,) = sent["charts"]
    layers = chart["widths"]["720"]["concat"][0]["layer"]
    lines = [one["data"]["values"] for one in layers if one["mark"]["type"] == "line"]
    empty = [[row["day"] for row in rows if row["value"] is None] for rows in lines]
    assert empty == [[9.5, 20.5, 25.0], [20.5]] or empty == [[9.5, 20.5, 25.0], [20.5]][::-1]
    strokes = [one["data"]["values"] for one in layers if one["mark"]["type"] == "tick"]
    assert strokes == [[{"day": 9.5}]]


def test_while_photos_are_measured_both_pages_say_how_far(asked, made, monkeypatch) -> None:
    monkeypatch.setattr("littoral.web.photos.measured_work.QUICK_ANSWER_S", 0.05)
    go = threading.Event()

    def slow(key, progress):
        progress(3, 18, "preparing photos")
        go.wait(20)
        return made.series

    asked.app.state.measured.series = Waiting(lambda key: key, slow)
    try:
        answer = asked.get("/trial/small/series")
        assert answer.status_code == 202
        assert 'data-from="/trial/small/series/progress.json"' in answer.text
        assert asked.get("/trial/small/series/charts.json").status_code == 503
        assert asked.get("/trial/small/series/progress.json").json()["ready"] is False
    finally:
        go.set()
        asked.app.state.measured.series.close()


def test_a_trial_without_photos_says_what_to_do_and_another_trial_is_not_there(asked, made) -> None:
    empty = Measured((), "test")
    asked.app.state.measured.series = Waiting(
        lambda key: key, lambda key, progress: PhotoSeries(made.trial, empty, (), {})
    )
    page = colour_page_of(made.trial, empty, (), (), marks={}, gate=4.0, charts=True)
    asked.app.state.measured.colour = Waiting(lambda key: key, lambda key, progress: page)
    for path in ("series", "colour"):
        words = said(asked.get(f"/trial/small/{path}").text)
        assert "There is no photo in this trial yet." in words
        assert "Add photos" in words
        assert asked.get(f"/trial/other/{path}").status_code == 404
    assert asked.get("/trial/small/series.csv").text.startswith("day,arm,tank")
