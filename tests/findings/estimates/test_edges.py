"""Levels at the edges of a record: today, long silence, an early end, one tank's nutrient, top-ups, broken caches."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.findings.conftest import FakeBook
from tests.findings.estimates.test_estimates import CachingBook, small_trial

from littoral.acts.levels_page import page_of
from littoral.cli.level_words import levels_text
from littoral.findings.estimates import estimated
from littoral.findings.estimates.ahead import planned_ahead, usual_hour
from littoral.findings.estimates.fitting import fitted
from littoral.findings.estimates.kept_tanks import kept_tanks
from littoral.findings.estimates.nitrifying import Nitrified
from littoral.findings.estimates.told_priors import priors_of
from littoral.publish.bands_chart import bands_chart
from littoral.tank.fit import surprise
from littoral.tank.fit.forecast import Estimate, level_draws
from littoral.tank.fit.methods import Reading as FitReading
from littoral.tank.fit.sampler import Mixing
from littoral.trial.days import instant_of
from littoral.trial.entries import Dose, GaugeReading, Reading, TopUp, WaterChange
from littoral.trial.model import Trial

KNOWN = ("nitrate", "phosphate", "potassium", "iron")
CARD = Reading("nitrate", 7.5, 15.0, "colour card", "10 mg/L")


@pytest.fixture(autouse=True)
def quick_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw from the prior alone where a test is not about the draws: what is done to tanks is what counts here."""

    def from_prior(density, columns, rng, *, walkers):
        return rng.standard_normal((200, columns)), Mixing(1.0, 500.0, 0.3, 1, (1.0,))

    monkeypatch.setattr("littoral.tank.fit.fit.draw_posterior", from_prior)


def days_of(events, *, changes: bool) -> list[float]:
    return [
        round(one.day, 3)
        for one in events
        if (one.share_changed > 0 if changes else one.adds_mg is not None and not isinstance(one, Nitrified))
    ]


def tank_of(kept, key: str):
    return next(tank for tank in kept.tanks if tank.key == key)


def test_what_was_done_today_is_not_planned_once_more_today():
    book = FakeBook(small_trial())
    for day in (0.75, 2.75, 4.75):
        book.note(day, "right", Dose("macro", ml=10.0))
    book.note(5.5, "right", WaterChange(0.5))
    book.note(7.6, "right", Dose("macro", ml=10.0))  # a Monday; the usual hour is 18:00
    book.note(12.4, "right", WaterChange(0.5))  # a Saturday; the usual hour is noon
    trial = book.trial_
    entries = book.entries("small")
    tank = tank_of(kept_tanks(trial, entries, known=KNOWN, now_day=7.7), "right")
    ahead = planned_ahead(trial, tank, from_day=7.7, to_day=9.9, entries=entries)
    assert days_of(ahead, changes=False) == [9.75]
    tank = tank_of(kept_tanks(trial, entries, known=KNOWN, now_day=12.42), "right")
    ahead = planned_ahead(trial, tank, from_day=12.42, to_day=20.0, entries=entries)
    assert len(days_of(ahead, changes=True)) == 1


def test_a_dose_noted_as_missed_today_is_not_planned_once_more_today():
    book = FakeBook(small_trial())
    book.note(0.75, "right", Dose("macro", ml=10.0))
    book.note(7.3, "right", Dose("macro", given=False))
    entries = book.entries("small")
    tank = tank_of(kept_tanks(book.trial_, entries, known=KNOWN, now_day=7.4), "right")
    ahead = planned_ahead(book.trial_, tank, from_day=7.4, to_day=9.9, entries=entries)
    assert days_of(ahead, changes=False) == [9.75]


def test_today_holds_one_planned_dose_where_the_plan_counts(tmp_path):
    trial = replace(small_trial(), doses_noted="exceptions")
    book = CachingBook(trial, cache=tmp_path)
    for tank in trial.tanks:
        book.note(7.2, tank, CARD)
    one = estimated.estimate_levels(book, trial, now=instant_of(7.3, trial)).of("right", "nitrate")
    assert [day for day, _ in one.doses if 7 <= day < 8] == [7.5]
    later = estimated.estimate_levels(book, trial, now=instant_of(7.6, trial)).of("right", "nitrate")
    assert [day for day, _ in later.doses if 7 <= day < 8] == [7.5]


def test_the_plan_counts_up_to_now_where_only_exceptions_are_noted(tmp_path):
    trial = replace(small_trial(), doses_noted="exceptions")
    book = CachingBook(trial, cache=tmp_path)
    for tank in trial.tanks:
        book.note(1.2, tank, CARD)
    one = estimated.estimate_levels(book, trial, now=instant_of(20.3, trial)).of("right", "nitrate")
    assert [day for day, _ in one.doses if day < 20] == [0.5, 2.5, 4.5, 7.5, 9.5, 11.5, 14.5, 16.5, 18.5]
    assert [day for day in one.change_days if day < 20] == [5.5, 12.5, 19.5]


def test_a_trial_that_is_over_says_so_though_its_record_stopped_early(tmp_path):
    trial = small_trial()
    book = CachingBook(trial, cache=tmp_path)
    book.note(10.5, "right", Dose("macro", ml=10.0))
    found = estimated.estimate_levels(book, trial, now=instant_of(2000.0, trial))
    assert found.now_day == 11.0
    assert found.ended
    assert page_of(trial, found).over
    assert "The record ends with Thursday 12 March 2026, day 10" in page_of(trial, found).lead
    assert "the record ends with Thursday, day 10" in levels_text(trial, found)
    assert "expected after 2026-03-12" in str(bands_chart(trial, found, "nitrate").spec)
    assert not estimated.estimate_levels(book, trial, now=instant_of(55.9, trial)).ended


def test_a_nutrient_that_only_one_tank_speaks_of_is_followed_in_all(tmp_path):
    trial = small_trial()
    left = replace(trial.tanks["left"], start_level_mg_per_l={"nitrate": 8.0, "potassium": 10.0})
    trial = replace(trial, tanks={**trial.tanks, "left": left})
    book = CachingBook(trial, cache=tmp_path)
    book.note(1.0, "left", Reading("potassium", 8.0, 12.0, "drop test", "10 mg/L"))
    found = estimated.estimate_levels(book, trial, now=instant_of(2.0, trial))
    assert found.nutrients == ("nitrate", "potassium")
    assert found.of("right", "potassium").without_readings


def test_entries_of_later_than_now_are_left_out_and_said():
    book = FakeBook(small_trial())
    book.note(1.0, "left", Dose("macro", ml=10.0))
    book.note(4.0, "left", Dose("macro", ml=10.0))
    book.note(4.0, "left", CARD)
    kept = kept_tanks(book.trial_, book.entries("small"), known=KNOWN, now_day=3.0)
    assert kept.readings == ()
    assert [round(one.day, 3) for one in tank_of(kept, "left").events if one.adds_mg is not None] == [1.0]
    assert kept.unused == ("entries of later than now: is this computer's clock slow?",)


def evaporating(trial: Trial, litres: float) -> Trial:
    return replace(trial, tanks={key: replace(tank, evaporation_l_per_day=litres) for key, tank in trial.tanks.items()})


def test_too_few_top_ups_take_the_tank_as_kept_full_and_say_so(tmp_path):
    trial = evaporating(small_trial(), 12.0)  # 100 L: dry in nine days
    book = CachingBook(trial, cache=tmp_path)
    book.note(0.5, "left", TopUp(1.0))
    book.note(0.6, "left", WaterChange(0.5))
    book.note(12.0, "left", CARD)
    found = estimated.estimate_levels(book, trial, now=instant_of(13.0, trial))
    assert [one for one in found.remarks if one.startswith("left tank: too few top-ups")]


def test_a_tank_that_is_topped_up_does_not_dry_out_in_the_forecast(tmp_path):
    trial = evaporating(small_trial(), 9.0)
    arms = tuple(replace(arm, regime=None) for arm in trial.arms)
    trial = replace(trial, arms=arms, baseline_regime=None)
    book = CachingBook(trial, cache=tmp_path)
    for day in range(4):
        book.note(day + 0.9, "left", TopUp(9.0))
    found = estimated.estimate_levels(book, trial, now=instant_of(4.0, trial))
    low, high = found.of("left", "nitrate").bands.median[[0, -1]]
    assert high < 3 * low  # without water in place of what goes, it would be dry by then


def test_a_result_below_what_an_instrument_tells_stays_a_range():
    book = FakeBook(small_trial())
    book.note(1.0, "left", Reading("nitrate", 0.0, 5.0, "photometer", "under 5 mg/L"))
    book.note(2.0, "left", Reading("nitrate", 11.0, 13.0, "photometer", "12 mg/L"))
    book.note(3.0, "left", Reading("nitrate", 10.0, 40.0, "photometer", "between 10 and 40 mg/L"))
    kept = kept_tanks(book.trial_, book.entries("small"), known=KNOWN)
    assert [(one.low_mg_per_l, one.high_mg_per_l) for one in kept.readings] == [(0.0, 5.0), (12.0, 12.0), (10.0, 40.0)]


def test_the_usual_hour_of_doses_is_not_that_of_nitrate_which_ammonium_turned_into():
    book = FakeBook(small_trial())
    book.note(0.75, "right", Dose("macro", ml=10.0))
    tank = tank_of(kept_tanks(book.trial_, book.entries("small"), known=KNOWN), "right")
    turned = [Nitrified(float(day), adds_mg=np.ones(len(tank.nutrients))) for day in range(1, 5)]
    assert usual_hour(tank.with_events((*tank.events, *turned)), doses=True) == pytest.approx(0.75)


@pytest.mark.parametrize("left", [b"", b"PK\x03\x04 cut off", b"no archive at all"])
def test_a_broken_cache_is_worked_out_anew(tmp_path: Path, left: bytes):
    trial = small_trial()
    book = CachingBook(trial, cache=tmp_path)
    book.note(1.0, "left", CARD)
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",))
    fitted(book, kept, priors_of(trial, kept))
    for path in tmp_path.iterdir():
        whole = path.read_bytes()
        path.write_bytes(left)
    again = fitted(book, kept, priors_of(trial, kept))
    assert again.fits[0].z.shape[0] == 200
    assert len(path.read_bytes()) == len(whole)


def test_a_cache_whose_middle_is_damaged_is_worked_out_anew(tmp_path: Path):
    trial = small_trial()
    book = CachingBook(trial, cache=tmp_path)
    book.note(1.0, "left", CARD)
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",))
    fitted(book, kept, priors_of(trial, kept))
    (path,) = tmp_path.iterdir()
    whole = bytearray(path.read_bytes())
    whole[200:400] = bytes(200)
    path.write_bytes(bytes(whole))
    assert np.isfinite(fitted(book, kept, priors_of(trial, kept)).fits[0].z).all()


def test_what_is_done_after_the_last_reading_needs_no_new_fit_and_moves_the_level_all_the_same(tmp_path):
    trial = small_trial()
    book = CachingBook(trial, cache=tmp_path)
    book.note(0.3, "right", Dose("macro", ml=10.0))
    book.note(1.0, "right", CARD)
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",), now_day=3.0)
    before = fitted(book, kept, priors_of(trial, kept))
    done = book.kept
    book.note(2.0, "right", Dose("macro", ml=50.0))
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",), now_day=3.0)
    after = fitted(book, kept, priors_of(trial, kept))
    assert book.kept == done
    was, now = (
        float(np.median(level_draws(one, tank="right", nutrient="nitrate", days=[2.5]))) for one in (before, after)
    )
    assert now > was + 5
    book.note(0.5, "right", Dose("macro", ml=50.0))  # before the reading: it bears on the fit
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",), now_day=3.0)
    fitted(book, kept, priors_of(trial, kept))
    assert book.kept == done + 1
    assert math.isfinite(now)


def test_a_question_about_a_high_reading_has_units_and_no_powers_of_ten(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(surprise, "slips", lambda *_: ())
    reading = FitReading("left", "nitrate", 3.0, "card", 250.0, math.inf)
    asked = surprise._question(reading, Estimate(130.0, 120.0, 140.0, 112.3, 151.2), None)
    assert "reads over 250 mg/L; all else says 112 to 151 mg/L." in asked


@pytest.mark.parametrize(
    ("ph", "kh", "celsius"), [(6.2, 0.0, 24.0), (7.0, 4.0, 60.0), (7.0, 4.0, -2.0), (14.0, 4.0, 24.0)]
)
def test_a_slip_in_a_gauge_does_not_take_the_levels_away(tmp_path, ph, kh, celsius):
    trial = small_trial()
    bottle = replace(trial.bottles["macro"], content_mg_per_ml={"nitrate": 10.0, "urea": 10.0})
    trial = replace(trial, bottles={"macro": bottle})
    book = CachingBook(trial, cache=tmp_path)
    book.note(1.0, "left", Dose("macro", ml=10.0))
    for key, value in (("ph", ph), ("kh", kh), ("temperature", celsius)):
        book.note(2.0, "left", GaugeReading(key, value, value, "meter", f"{value:g}"))
    found = estimated.estimate_levels(book, trial, now=instant_of(3.0, trial))
    assert found.of("left", "nitrate").now.median > 0
    assert {alarm.row.verdict for alarm in found.alarms["left"] if alarm.row.what.startswith("CO2")} == {"cannot tell"}


def test_a_bare_number_stands_for_the_step_around_it_and_says_so(tmp_path):
    trial = replace(small_trial(), methods=())
    book = CachingBook(trial, cache=tmp_path)
    for day, level, called in ((1.0, 20.0, ""), (2.0, 12.0, "my test"), (3.0, 0.0, "strip")):
        book.note(day, "left", Reading("nitrate", level, level, called, f"{level:g} mg/L"))
    book.note(4.0, "left", Reading("potassium", 10.0, 10.0, "", "10 mg/L"))
    book.note(4.0, "right", Reading("potassium", 0.0, 0.0, "strip", "0 mg/L"))
    bottle = replace(trial.bottles["macro"], content_mg_per_ml={"nitrate": 30.0, "potassium": 19.0})
    book.trial_ = replace(trial, bottles={"macro": bottle})
    kept = kept_tanks(book.trial_, book.entries("small"), known=KNOWN)
    for one, level in zip(kept.readings[:3], (20.0, 12.0, 0.0), strict=True):
        assert one.low_mg_per_l <= level < one.high_mg_per_l
    assert (kept.readings[3].low_mg_per_l, kept.readings[3].high_mg_per_l) == (10.0, 10.0)  # drops: a number
    assert kept.readings[4].high_mg_per_l > 0
    assert [one for one in kept.remarks if one.startswith("4 readings are bare numbers")]
    found = estimated.estimate_levels(book, book.trial_, now=instant_of(5.0, trial))
    assert found.of("left", "nitrate").results


def test_nitrate_which_ammonium_turned_into_is_no_dose_that_was_missed(tmp_path):
    trial = small_trial()
    bottle = replace(trial.bottles["macro"], content_mg_per_ml={"urea": 10.0})
    trial = replace(trial, bottles={"macro": bottle})
    book = CachingBook(trial, cache=tmp_path)
    book.note(0.5, "left", Dose("macro", ml=50.0))
    book.note(5.5, "left", CARD)
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",))
    posterior = fitted(book, kept, priors_of(trial, kept))
    assert any(isinstance(one, Nitrified) for one in posterior.fits[0].layout.tank("left").events)
    assert surprise.slips(posterior, kept.readings[0]) == ()


def test_a_start_that_is_not_told_is_said_to_be_taken_as_source_water():
    trial = small_trial()
    untold = replace(trial, tanks={**trial.tanks, "left": replace(trial.tanks["left"], start_level_mg_per_l={})})
    book = FakeBook(untold)
    book.note(1.0, "left", CARD)
    said = [one for one in kept_tanks(untold, book.entries("small"), known=KNOWN).remarks if "day 0" in one]
    assert said == ["left tank: its levels on day 0 are not told, so it is thought to begin as source water"]
