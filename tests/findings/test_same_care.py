"""Whether care was the same: what is shown equal, what is shown unequal, and what nobody can know."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from littoral.findings.care_readings import co2_readings, gauge_readings
from littoral.findings.same_care import MOST_DAYS, same_care
from littoral.trial.entries import Entry, GaugeReading, Payload, Trim, WaterChange
from littoral.trial.gauges import GAUGES
from littoral.trial.schedule import SameCare
from littoral.trial.written.reader import read_trial

TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
TRIAL = read_trial(TEXT, where="trial.toml")[0]
assert TRIAL is not None
RNG = np.random.default_rng


def entry(tank: str, day: float, payload: Payload) -> Entry:
    at = datetime(2026, 3, 2, 17, tzinfo=UTC) + timedelta(days=day)
    return Entry(f"{tank}{day}{payload}", at, TRIAL.zone, tank, payload, trial=TRIAL.key)


def readings(gauge: str, left, right, *, half: float = 0.0) -> list[Entry]:
    """Readings of both tanks, one a day."""
    return [
        entry(tank, float(day), GaugeReading(gauge, value - half, value + half, "", ""))
        for tank, values in (("left", left), ("right", right))
        for day, value in enumerate(values)
    ]


def items(entries=(), trial=TRIAL):
    return {item.key: item for item in same_care(trial, entries)}


def test_there_is_an_item_for_everything_held_equal_and_each_says_where_its_margin_is_from():
    found = items()
    assert list(found) == ["volume", "temperature", "light", "par", "bubbles", "co2", "changes", "trims"]
    for item in found.values():
        assert item.row.source.startswith("margin: ")
        assert item.row.limit > 0
        assert item.row.comment
    assert {key for key, item in found.items() if item.row.verdict != "cannot tell"} == {"volume"}


def test_the_second_arm_minus_the_first():
    """The arms in the file: sparing (right), then full (left)."""
    found = items(readings("temperature", [25.0] * 6, [24.0] * 6))["temperature"]
    assert (found.row.value, found.row.verdict) == (1.0, "fails")
    assert "say so beside every finding" in found.row.comment


@pytest.mark.parametrize(
    ("apart", "noise", "days", "verdict"),
    [
        (0.0, 0.1, 30, "holds"),
        (0.1, 0.1, 30, "holds"),
        (1.0, 0.1, 30, "fails"),
        (0.0, 3.0, 8, "cannot tell"),
        (0.5, 0.2, 30, "cannot tell"),  # as large as the margin: neither can be shown
    ],
)
def test_temperatures_of_paired_days(apart, noise, days, verdict):
    rng = RNG(7)
    room = 24 + np.cumsum(rng.normal(0, 0.5, days))  # what both share cancels
    left, right = room + apart + rng.normal(0, noise, days), room + rng.normal(0, noise, days)
    found = items(readings("temperature", left, right))["temperature"]
    assert found.row.verdict == verdict, found
    assert found.low < found.row.value < found.high
    assert found.row.value == pytest.approx((left - right).mean(), abs=0.2 * noise + 1e-9)
    assert found.days == days


def test_readings_on_different_days_are_no_pairs():
    left = [entry("left", day, GaugeReading("temperature", 24, 24, "", "")) for day in (0.0, 2.0, 4.0, 6.0, 8.0)]
    right = [entry("right", day, GaugeReading("temperature", 24, 24, "", "")) for day in (1.0, 3.0, 5.0, 7.0, 9.0)]
    found = items([*left, *right])["temperature"]
    assert found.row.verdict == "cannot tell"
    assert found.row.comment == "Read in both arms on 0 days; at least 4 are needed."


def test_what_was_read_in_one_tank_only_is_unknown():
    assert items(readings("par", [60.0] * 9, []))["par"].row.comment == "Not read in right tank."


def test_gauges_read_too_coarsely_show_no_equality():
    fine, coarse = (items(readings("temperature", [24.0] * 9, [24.0] * 9, half=half)) for half in (0.4, 1.0))
    assert fine["temperature"].row.verdict == "holds"
    assert coarse["temperature"].row.verdict == "cannot tell"
    assert "may be off by 1 °C, more than the margin" in coarse["temperature"].row.comment


def test_relative_margins_are_of_the_mean_of_both():
    found = items(readings("par", [63.0] * 6, [57.0] * 6))["par"]
    assert (found.row.value, found.row.limit, found.row.verdict) == (pytest.approx(10.0), 10.0, "holds")
    found = items(readings("co2 bubbles", [66.0] * 6, [54.0] * 6))["bubbles"]
    assert (found.row.value, found.row.verdict) == (pytest.approx(20.0), "fails")
    assert items(readings("co2 bubbles", [0.0] * 6, [0.0] * 6))["bubbles"].row.verdict == "holds"  # no gas in either


def test_margins_are_those_of_the_trial():
    strict = replace(TRIAL, same_care=SameCare({**TRIAL.same_care.margins, "temperature": 0.05}))
    entries = readings("temperature", [24.1] * 6, [24.0] * 6)
    assert items(entries)["temperature"].row.verdict == "holds"
    assert items(entries, strict)["temperature"].row.verdict == "fails"


def test_co2_comes_from_ph_and_kh():
    """pH 6.6 and 4 dKH at 25 °C: Plummer & Busenberg, checked against PHREEQC in tests/published."""
    entries = [
        *readings("ph", [6.6] * 8, [7.0] * 8, half=0.05),
        *(entry(tank, 3.0, GaugeReading("kh", 4.0, 4.0, "", "")) for tank in ("left", "right")),
        *readings("temperature", [25.0] * 8, [25.0] * 8),
    ]
    left = co2_readings(TRIAL, entries, "left")
    assert left.series.value == pytest.approx(34.0, rel=0.05)
    found = items(entries)["co2"]
    assert found.row.verdict == "fails"
    assert found.row.value == pytest.approx(left.series.value[0] * (1 - 10**-0.4), rel=0.02)
    assert items([one for one in entries if one.payload.gauge != "kh"])["co2"].row.verdict == "cannot tell"


def test_volume_changes_and_trims_are_counted_not_estimated():
    smaller = replace(TRIAL.tanks["right"].vessel, fill_cm=24.0)
    trial = replace(TRIAL, tanks={**TRIAL.tanks, "right": replace(TRIAL.tanks["right"], vessel=smaller)})
    assert items(trial=trial)["volume"].row.verdict == "fails"
    assert items(trial=trial)["volume"].low is None
    weekly = [entry(tank, day, WaterChange(0.4)) for tank in ("left", "right") for day in (5.0, 12.0, 19.0)]
    assert items(weekly)["changes"].row.verdict == "holds"
    found = items(weekly[:-1])["changes"]
    assert (found.row.verdict, found.row.value) == ("fails", pytest.approx(40 / (20 / 7)))
    found = items(weekly[:3])["changes"]
    assert (found.row.verdict, found.row.value) == ("cannot tell", None)
    assert "None was noted for right tank: taken as planned." in found.row.comment
    trims = [entry("left", day, Trim("red-stem")) for day in (5.0, 12.0, 19.0)]
    assert items(trims)["trims"].row.verdict == "fails"
    assert (
        items([*trims, *(replace(one, tank="right", id=one.id + "r") for one in trims)])["trims"].row.verdict == "holds"
    )


def test_of_three_tanks_in_each_arm_the_tanks_are_counted():
    names = [f"{side}{number}" for side in ("left", "right") for number in range(3)]
    arms = tuple(
        replace(arm, tanks=tuple(name for name in names if name.startswith(arm.tanks[0]))) for arm in TRIAL.arms
    )
    trial = replace(TRIAL, tanks={name: replace(TRIAL.tanks["left"], key=name) for name in names}, arms=arms)
    rng = RNG(3)
    entries = [
        entry(name, float(day), GaugeReading("temperature", value, value, "", ""))
        for name in names
        for day, value in enumerate(24 + (name[-1] == "2") * 2 + rng.normal(0, 0.05, 10))
    ]
    found = items(entries, trial)["temperature"]
    assert "3 and 3 tanks" in found.row.comment
    assert found.row.verdict == "cannot tell"  # one warm tank in each arm: days alone would have called it equal


def test_years_of_days_are_taken_by_the_week():
    rng = RNG(5)
    days = MOST_DAYS + 165
    trial = replace(TRIAL, length_days=400.0)
    entries = readings("light", 8 + rng.normal(0, 0.1, days), 8 + rng.normal(0, 0.1, days))
    found = items(entries, trial)["light"]
    assert (found.row.verdict, found.days) == ("holds", days)


def test_readings_of_one_day_are_one_value_and_those_off_the_scale_none():
    noon = [
        entry("left", 0.0, GaugeReading("ph", 6.0, 6.0, "", "")),
        entry("left", 0.1, GaugeReading("ph", 7.0, 7.0, "", "")),
    ]
    off = entry("left", 1.0, GaugeReading("ph", 8.0, float("inf"), "", ">8"))
    found = gauge_readings(TRIAL, [*noon, off], "left", gauge="ph")
    assert list(found.series.value) == [6.5]
    assert set(GAUGES) >= {"ph", "temperature", "light", "par", "co2 bubbles", "kh"}


def test_a_few_days_are_not_counted_up_to_a_week():
    first_day = [
        entry("left", 0.0, WaterChange(0.4)),
        entry("right", 0.0, WaterChange(0.3)),
        entry("left", 0.0, Trim("red-stem")),
    ]
    found = items(first_day)
    for key in ("changes", "trims"):
        assert (found[key].row.verdict, found[key].row.value) == ("cannot tell", None)
        assert "Less than a week was recorded" in found[key].row.comment
    week = [*first_day, entry("left", 6.0, Trim("red-stem"))]
    assert items(week)["changes"].row.verdict == "fails"
