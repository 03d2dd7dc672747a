"""Levels with their bands: valid Vega-Lite, drawn from zero, with what is ahead, readings as ranges and what if."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from datetime import UTC, datetime
from types import SimpleNamespace

import altair
import numpy as np
import pytest

from littoral.acts.see_levels import SeenLevels, see_levels
from littoral.publish.bands_chart import _say, band_rows, bands_chart, top_of
from littoral.publish.draw import to_png, to_svg
from littoral.publish.level_words import leaving_words
from littoral.publish.look import arm_look
from littoral.tank.fit.forecast import Estimate
from littoral.trial.model import Band

NOW = datetime(2026, 3, 17, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def seen(levels_logbook) -> SeenLevels:
    return see_levels(levels_logbook, None, now=NOW)


@pytest.fixture(scope="module", params=[340, 720, 1180])
def chart(seen, request):
    return bands_chart(seen.trial, seen.estimates, "nitrate", width_px=request.param)


def layers(chart):
    return chart.spec["concat"][0]["layer"]


def rows_of(chart, kind: str):
    """All rows of layers with a mark of this kind."""
    return [row for one in layers(chart) if one["mark"]["type"] == kind for row in one["data"].get("values", [])]


def test_it_is_valid_and_drawn_as_svg_and_png(chart):
    altair.Chart.from_dict(chart.spec, validate=True)
    json.dumps(chart.spec, allow_nan=False)
    words = " ".join(ET.fromstring(to_svg(chart.spec)).itertext())
    for said in ("mg/L", "now", "expected", "full", "sparing", "ceiling 25", "floor 5", "4 readings"):
        assert said in words
    assert to_png(chart.spec, scale=1).startswith(b"\x89PNG")


def test_the_axis_begins_at_zero_and_holds_every_band(chart, seen):
    top = next(param["value"] for param in chart.spec["params"] if param["name"] == "top")
    highest = max(one.bands.high_90.max() for one in seen.estimates.levels if one.nutrient == "nitrate")
    assert top > highest
    scales = [one["encoding"]["y"]["scale"] for one in layers(chart) if "scale" in one["encoding"].get("y", {})]
    assert scales
    assert all(scale["domainMin"] == 0 for scale in scales)


def test_arms_are_told_apart_by_shape_and_name_besides_colour(chart, seen):
    for arm in seen.trial.arms:
        look = arm_look(seen.trial, arm.key)
        marks = [one["mark"] for one in layers(chart)]
        assert any(mark.get("shape") == look.shape and mark.get("color") == look.colour for mark in marks)
        assert any(mark.get("text") == arm.name and mark["color"] == look.colour for mark in marks)


def test_bands_lie_within_one_another(seen):
    for one in seen.estimates.levels:
        for row in band_rows(one.bands):
            assert 0 <= row["low"] <= row["inner_low"] <= row["value"] <= row["inner_high"] <= row["high"]


def test_rows_can_begin_at_a_day(seen):
    one = seen.estimates.levels[0].bands
    later = band_rows(one, from_day=seen.estimates.now_day)
    assert min(row["day"] for row in later) >= seen.estimates.now_day - 1e-4
    assert len(later) == int((one.day >= seen.estimates.now_day).sum())


def test_a_reading_is_the_range_it_is_and_one_far_off_is_asked_about(chart, seen):
    bars = {(row["low"], row["high"]) for row in rows_of(chart, "rule") if "low" in row and row["low"] > 0}
    assert {(15.0, 30.0), (7.5, 15.0)} <= bars
    # 75 to 150 mg/L would flatten all else: it is told at the edge, not drawn
    assert not any(low == 75 for low, _ in bars)
    said = [one["mark"]["text"] for one in layers(chart) if one["mark"]["type"] == "text"]
    assert "? 75–150 ↑" in said


def test_what_is_planned_is_told_from_what_was_done(chart, seen):
    now = seen.estimates.now_day
    for one in layers(chart):
        if one["mark"]["type"] == "tick":
            days = [row["day"] for row in one["data"]["values"]]
            assert all(day >= now - 1e-4 for day in days) == (one["mark"]["opacity"] < 1)
            assert max(days) <= seen.estimates.to_day


def test_a_what_if_has_a_place_that_is_empty_until_it_is_asked(chart):
    names = {one["data"]["name"] for one in layers(chart) if "name" in one["data"]}
    assert names == {"instead-left", "instead-right"}
    dashed = [one for one in layers(chart) if "strokeDash" in one["mark"]]
    assert {one["data"]["name"] for one in dashed} == names
    assert all(len(one["data"]["values"]) == 1 for one in dashed)  # a line through one point draws nothing


def test_all_other_lines_are_solid(chart):
    assert all("name" in one["data"] for one in layers(chart) if "strokeDash" in one["mark"])


def test_a_ceiling_far_above_does_not_flatten_the_rest(seen):
    levels = [one for one in seen.estimates.levels if one.nutrient == "nitrate"]
    highest = max(float(np.max(one.bands.high_90)) for one in levels)
    assert highest < top_of(levels) < 2 * highest


def test_an_unknown_nutrient_is_an_error(seen):
    with pytest.raises(KeyError):
        bands_chart(seen.trial, seen.estimates, "boron")


def test_drawn_near_now_it_holds_nothing_from_before(seen):
    chart = bands_chart(seen.trial, seen.estimates, "nitrate", width_px=720, from_day=7.0)
    altair.Chart.from_dict(chart.spec, validate=True)
    drawn = [one for one in layers(chart) if "name" not in one["data"]]
    days = [row["day"] for one in drawn for row in one["data"]["values"] if "day" in row]
    assert min(days) >= 7.0
    assert {tuple(one["encoding"]["x"]["scale"]["domain"]) for one in layers(chart)} == {(7.0, 29.5417)}
    assert min(layers(chart)[0]["encoding"]["x"]["axis"]["values"]) >= 7


def test_high_levels_are_said_without_powers_of_ten_and_floors_as_what_they_are():
    high = Estimate(123.0, 120.0, 130.0, 112.3, 151.2)
    bands = SimpleNamespace(median=[130.0], low_90=[118.0], high_90=[1204.0])
    level = SimpleNamespace(tank="left", now=high, bands=bands, band=Band(5.0, None))
    trial = SimpleNamespace(tanks={"left": SimpleNamespace(name="left tank")})
    said = _say(trial, level)
    assert "e+" not in said
    assert "now 123 (90 %: 112 to 151) mg/L" in said
    assert leaving_words(level) == "falls below its floor of 5 mg/L"
    level.band = Band(None, 20.0)
    assert leaving_words(level) == "rises above its ceiling of 20 mg/L"
