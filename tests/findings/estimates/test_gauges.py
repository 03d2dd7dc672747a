"""Alarms and checks that rest on gauges: pH, KH, temperature, conductivity."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.conftest import FakeBook, build_trial

from littoral.findings.estimates.gauges import lately, shown_of
from littoral.findings.estimates.kept_tanks import kept_tanks
from littoral.findings.estimates.water_ahead import changes_by_conductivity, gauge_alarms, source_conductivity
from littoral.trial.entries import Dose, GaugeReading, WaterChange
from littoral.trial.model import SourceWater, Trial

SOURCE = {"calcium": 40.0, "magnesium": 6.0, "sodium": 10.0, "bicarbonate": 150.0, "chloride": 14.0, "sulphate": 20.0}


def trial_of(**content: float) -> Trial:
    trial = build_trial(baseline_days=0.0)
    bottle = replace(trial.bottles["macro"], content_mg_per_ml={"nitrate": 30.0, **content})
    return replace(trial, bottles={"macro": bottle}, source=SourceWater("tap", {"nitrate": 5.0, **SOURCE}))


def gauge(book: FakeBook, day: float, key: str, low: float, high: float | None = None) -> None:
    book.note(day, "left", GaugeReading(key, low, low if high is None else high, "meter", f"{low:g}"))


def alarms(book: FakeBook, *, now_day: float = 10.0) -> dict[str, object]:
    kept = kept_tanks(book.trial_, book.entries("small"), known=("nitrate",))
    left = next(tank for tank in kept.tanks if tank.key == "left")
    days = np.linspace(now_day, now_day + 14, 57)
    found = gauge_alarms(book.trial_, kept.entries, left, (), now_day=now_day, days=days)
    return {alarm.row.what: alarm for alarm in found}


def test_nothing_read_gives_no_alarm_and_old_readings_are_left_out():
    book = FakeBook(trial_of())
    book.note(1.0, "left", Dose("macro", ml=10.0))
    assert alarms(book) == {}
    gauge(book, 1.0, "kh", 4.0)
    assert alarms(book, now_day=20.0) == {}
    shown = shown_of(book.trial_, book.entries("small"), "left", "kh")
    assert [one.day for one in lately(shown, now_day=15.0)] == [pytest.approx(1.0)]
    assert lately(shown, now_day=0.5) == ()  # what will be read later is not known yet


def test_ph_and_kh_and_temperature_tell_co2_and_its_swing():
    book = FakeBook(trial_of())
    for day, ph in ((8.3, 7.6), (8.8, 6.4)):
        gauge(book, day, "ph", ph)
    gauge(book, 8.4, "kh", 4.0)
    gauge(book, 8.4, "temperature", 24.0)
    found = alarms(book)
    co2 = [alarm for what, alarm in found.items() if "co2" in what.casefold()]
    assert co2
    swing = found["swing of pH between day and night"]
    assert swing.row.value == pytest.approx(1.2)  # 7.6 less 6.4
    assert swing.row.verdict == "warns"
    # 4 dKH at pH 6.4 and 24 °C: about 45 mg/L by the carbonate system, far over what common practice names
    assert max(alarm.row.value for alarm in co2 if alarm.row.unit == "mg/L") > 35


def test_urea_eats_alkalinity_and_changes_bring_it_back():
    plain, fed = FakeBook(trial_of()), FakeBook(trial_of(urea=60.0))
    for book in (plain, fed):
        gauge(book, 9.0, "kh", 1.2, 1.3)
        for day in (7.3, 8.3, 9.3):
            book.note(day, "left", Dose("macro", ml=40.0))
    least_plain = alarms(plain)["alkalinity, a fall of pH"]
    least_fed = alarms(fed)["alkalinity, a fall of pH"]
    assert least_fed.row.value < least_plain.row.value - 0.2
    assert least_fed.row.verdict == "fails"
    # 150 mg/L of bicarbonate in the tap lifts it at the next change
    book = FakeBook(trial_of())
    gauge(book, 4.0, "kh", 1.2)
    book.note(5.4, "left", WaterChange(0.5))
    lifted = alarms(book, now_day=5.5)["alkalinity, a fall of pH"]
    assert lifted.row.value == pytest.approx((1.2 * 0.35663 + 150 / 61.017) / 2, rel=0.01)  # 1 dKH is 0.35663 meq/L


def test_salts_that_pile_up_are_told_against_the_source_water():
    trial = trial_of()
    tanks = {
        key: replace(tank, evaporation_l_per_day=1.0, topped_up_with="source water")
        for key, tank in trial.tanks.items()
    }
    book = FakeBook(replace(trial, tanks=tanks))
    source = source_conductivity(book.trial_)
    assert source is not None
    assert 280 < source < 420
    gauge(book, 9.0, "conductivity", 2.5 * source)
    (salts,) = (alarm for what, alarm in alarms(book).items() if what.startswith("salts"))
    assert salts.row.verdict in ("warns", "fails")


def test_a_change_is_told_by_conductivity_before_and_after():
    trial = trial_of()
    source = source_conductivity(trial)
    assert source is not None
    book = FakeBook(trial)
    before = 2.0 * source
    gauge(book, 5.35, "conductivity", before)
    book.note(5.4, "left", WaterChange(0.5))
    gauge(book, 5.45, "conductivity", before - 0.2 * (before - source))  # only a fifth was changed
    kept = kept_tanks(book.trial_, book.entries("small"), known=("nitrate",))
    left = next(tank for tank in kept.tanks if tank.key == "left")
    rows = changes_by_conductivity(book.trial_, kept.entries, left)
    assert any(row.verdict == "warns" and "day 5" in row.what for row in rows)
    right = next(tank for tank in kept.tanks if tank.key == "right")
    assert changes_by_conductivity(book.trial_, kept.entries, right) == ()


def test_a_source_water_of_few_ions_has_no_conductivity():
    trial = trial_of()
    assert source_conductivity(replace(trial, source=None)) is None
    assert source_conductivity(replace(trial, source=SourceWater("tap", {"nitrate": 5.0, "calcium": 40.0}))) is None


def test_a_kh_of_nothing_leaves_co2_open_and_the_other_alarms_there():
    book = FakeBook(trial_of())
    gauge(book, 8.3, "ph", 6.2)
    gauge(book, 8.4, "kh", 0.0)
    gauge(book, 8.4, "temperature", 24.0)
    found = alarms(book)
    open_ = found["CO2 from pH and KH"]
    assert open_.row.verdict == "cannot tell"
    assert "cannot be told" in open_.row.comment
    assert found["alkalinity, a fall of pH"].row.verdict == "fails"
