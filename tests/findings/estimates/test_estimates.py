"""Levels between tests of a small trial whose truth is known: an integrator made it, entries hold what a keeper saw."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.findings.conftest import FakeBook, build_trial

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.errors import FaultsError
from littoral.findings.estimates.ahead import planned_ahead, usual_hour
from littoral.findings.estimates.days import days_to_draw
from littoral.findings.estimates.estimated import NothingToEstimateError, estimate_levels
from littoral.findings.estimates.fitting import thinned
from littoral.findings.estimates.kept_tanks import kept_tanks
from littoral.findings.estimates.model import Estimates
from littoral.findings.estimates.nitrifying import (
    MEDIAN_PER_DAY,
    ammonium_ahead,
    brings_reduced_nitrogen,
    nitrified_events,
)
from littoral.findings.estimates.other_regime import changed_regime, other_bands, regime_now
from littoral.findings.estimates.ways_to_test import way_key, ways_to_test
from littoral.trial.days import instant_of
from littoral.trial.entries import Dose, Note, Reading, TopUp, WaterChange
from littoral.trial.model import Band, OwnMethod, SourceWater, Trial

WEEKS = 3
TRUE_V, TRUE_K = 1.6, 4.0
"""mg/L per day and mg/L: uptake that saturates."""
DOSE_MG_PER_L = 3.0
SOURCE, START = 5.0, 8.0
STEPS = (0.0, 5.0, 10.0, 20.0, 40.0, 80.0)
"""The steps of a colour card, mg/L."""


@dataclass
class CachingBook(FakeBook):
    """A book of this test that also keeps what is computed."""

    cache: Path = Path()
    kept: int = 0

    def cache_path(self, kind: str, name: str) -> Path:
        return self.cache / f"{kind}-{name}"

    def keep_cached(self, kind: str, name: str, data: bytes) -> Path:
        self.kept += 1
        path = self.cache_path(kind, name)
        path.write_bytes(data)
        return path


def small_trial() -> Trial:
    trial = build_trial(baseline_days=0.0)
    bottle = replace(trial.bottles["macro"], content_mg_per_ml={"nitrate": 30.0})  # 10 mL in 100 L: 3 mg/L
    return replace(
        trial,
        bottles={"macro": bottle},
        source=SourceWater("tap", {"nitrate": SOURCE}),
        tanks={key: replace(tank, start_level_mg_per_l={"nitrate": START}) for key, tank in trial.tanks.items()},
        bands={"nitrate": Band(2.0, 15.0)},
        methods=(OwnMethod("card", "colour card", "nitrate colour card"),),
    )


def step_of(level: float) -> tuple[float, float, float]:
    """Return the step that a card shows for a level, and its borders half way to its neighbours."""
    at = int(np.argmin([abs(level - step) for step in STEPS]))
    low = 0.0 if at == 0 else (STEPS[at - 1] + STEPS[at]) / 2
    high = math.inf if at == len(STEPS) - 1 else (STEPS[at] + STEPS[at + 1]) / 2
    return STEPS[at], low, high


def true_levels(trial: Trial, tank: str, at_days: list[float]) -> list[float]:
    """Integrate the truth numerically: saturating uptake, doses at 08:00 on the regime's days, changes on Sat 10:00."""
    regime = trial.regimes[trial.arm_of(tank).regime or ""]
    acts = [(week * 7 + day + 8 / 24, "dose") for week in range(WEEKS) for day in regime.doses[0].weekdays]
    acts += [(week * 7 + 5 + 10 / 24, "change") for week in range(WEEKS)]
    level, now, found = START, 0.0, []
    for day, what in sorted([*acts, *((day, "look") for day in at_days)], key=lambda act: (act[0], act[1] != "look")):
        if day > now:
            path = solve_ivp(lambda _t, y: -TRUE_V * y / (TRUE_K + y), (now, day), [level], rtol=1e-9, atol=1e-12)
            level = float(path.y[0, -1])
        now = day
        if what == "look":
            found.append(level)
        elif what == "dose":
            level += DOSE_MG_PER_L
        else:
            level += 0.5 * (SOURCE - level)
    return found


def whole_book(trial: Trial, cache: Path) -> CachingBook:
    book = CachingBook(trial, cache=cache)
    for tank in trial.tanks:
        regime = trial.regimes[trial.arm_of(tank).regime or ""]
        for week in range(WEEKS):
            for day in regime.doses[0].weekdays:
                book.note(week * 7 + day + 8 / 24, tank, Dose("macro", ml=10.0))
            for day in (week * 7 + 2.75, week * 7 + 5 + 9 / 24):
                shown, low, high = step_of(true_levels(trial, tank, [day])[0])
                book.note(day, tank, Reading("nitrate", low, high, "colour card", f"{shown:g} mg/L"))
            book.note(week * 7 + 5 + 10 / 24, tank, WaterChange(0.5))
    return book


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> CachingBook:
    return whole_book(small_trial(), tmp_path_factory.mktemp("cache"))


@pytest.fixture(scope="module")
def estimates(book: CachingBook) -> Estimates:
    return estimate_levels(book, book.trial_, now=instant_of(21.0, book.trial_))


def test_the_bands_hold_the_truth_and_are_narrower_than_what_is_known_without_tests(estimates, book):
    untested = CachingBook(
        book.trial_,
        [entry for entry in book.entries_ if not isinstance(entry.payload, Reading)],
        cache=book.cache,
    )
    blind = estimate_levels(untested, untested.trial_, now=instant_of(21.0, untested.trial_))
    for tank in book.trial_.tanks:
        day = 19 + 10 / 24
        truth = true_levels(book.trial_, tank, [day])[0]
        one = estimates.of(tank, "nitrate")
        assert one.before_change is not None
        at, level = one.before_change
        assert at == pytest.approx(day)
        assert level.low_90 < truth < level.high_90
        unknown = blind.of(tank, "nitrate").before_change
        assert unknown is not None
        assert level.high_90 - level.low_90 < 0.7 * (unknown[1].high_90 - unknown[1].low_90)
        assert blind.of(tank, "nitrate").without_readings
        assert level.low_90 < level.low_50 < level.median < level.high_50 < level.high_90
        assert not one.without_readings
        assert one.net_removal.low_90 < TRUE_V * truth / (TRUE_K + truth) < one.net_removal.high_90
    assert estimates.posterior.settled


def test_now_is_the_end_of_the_record_and_two_weeks_lie_ahead_with_what_is_planned(estimates, book):
    assert estimates.now_day == 21.0
    one = estimates.of("right", "nitrate")
    assert one.bands.day[0] == 0.0
    assert one.bands.day[-1] == 35.0
    planned = [day for day, _ in one.doses if day > 21]
    assert planned == pytest.approx([week * 7 + day + 8 / 24 for week in (3, 4) for day in (0, 2, 4)])
    assert one.before_next is not None
    assert one.before_next[0] == pytest.approx(26 + 10 / 24)
    assert one.bands.left_band is not None
    assert (np.diff(one.bands.left_band) >= 0).all()
    assert one.bands.left_band[one.bands.day < 21].max() == 0.0
    ahead, past = one.bands.day > 30, (one.bands.day > 14) & (one.bands.day < 20)
    width = one.bands.high_90 - one.bands.low_90
    assert width[ahead].mean() > width[past].mean()


def test_a_second_look_takes_the_fit_from_the_cache_and_says_the_same(estimates, book):
    before = book.kept
    again = estimate_levels(book, book.trial_, now=instant_of(21.0, book.trial_))
    assert book.kept == before
    assert np.array_equal(again.of("left", "nitrate").bands.median, estimates.of("left", "nitrate").bands.median)
    for path in book.cache.iterdir():
        path.write_bytes(b"broken")
    third = estimate_levels(book, book.trial_, now=instant_of(21.0, book.trial_))
    assert book.kept > before
    assert np.array_equal(third.of("left", "nitrate").bands.median, estimates.of("left", "nitrate").bands.median)


def test_the_band_of_two_weeks_is_told_and_the_best_test_of_each_level(estimates):
    assert {(one.tank, one.weeks) for one in estimates.narrowing} == {("left", (2,)), ("right", (2,))}
    assert {(worth.candidate.tank, worth.candidate.nutrient) for worth in estimates.next_tests} == {
        ("left", "nitrate"),
        ("right", "nitrate"),
    }
    for worth in estimates.next_tests:
        assert 0 < worth.narrowed < 1
        assert worth.width_after < worth.width_now
        assert 21.0 <= worth.candidate.day < 27.0
    assert [worth.narrowed for worth in estimates.next_tests] == sorted(
        (worth.narrowed for worth in estimates.next_tests), reverse=True
    )


def test_limits_and_the_scarcest_nutrient_are_told_for_each_tank(estimates):
    assert set(estimates.alarms) == {"left", "right"}
    assert any("nitrate" in alarm.row.what for alarm in estimates.alarms["right"])
    assert set(estimates.limiting) == {"left", "right"}


def test_the_same_regime_gives_the_same_levels_and_more_gives_more(estimates, book):
    trial = book.trial_
    regime = regime_now(trial, "right", now_day=21.0)
    assert regime is not None
    (same,) = other_bands(trial, estimates, tank="right", regime=regime)
    planned = estimates.of("right", "nitrate").bands
    at_end = float(planned.median[-1])
    assert float(same.median[-1]) == pytest.approx(at_end, rel=0.1)  # fewer draws
    (double,) = other_bands(trial, estimates, tank="right", regime=changed_regime(regime, doses={0: 20.0}))
    (nothing,) = other_bands(trial, estimates, tank="right", regime=changed_regime(regime, doses={0: 0.0}))
    (all_new,) = other_bands(trial, estimates, tank="right", regime=changed_regime(regime, shares={0: 1.0}))
    assert float(double.median[-1]) > float(same.median[-1]) > float(nothing.median[-1])
    assert same.left_band is not None
    assert double.left_band is not None
    assert double.left_band[-1] >= same.left_band[-1]
    just_after = np.searchsorted(all_new.day, 26 + 10 / 24 + 1e-6)
    assert float(all_new.median[just_after]) == pytest.approx(SOURCE, rel=0.2)


def test_amounts_that_cannot_be_are_all_named():
    regime = small_trial().regimes["full"]
    with pytest.raises(FaultsError) as refused:
        changed_regime(regime, doses={0: -1.0, 7: 1.0}, shares={0: 1.5, 3: 0.2})
    assert [str(fault) for fault in refused.value.faults] == [
        "dose 1: -1 mL is no dose. Give 0 to 1000 mL.",
        "dose 8: There is no dose 8. The regime has 1.",
        "change 1: A change of 1.5 of the water. Give a share from 0 to 1.",
        "change 4: There is no change 4. The regime has 1.",
    ]
    for amount in (math.nan, math.inf):
        with pytest.raises(FaultsError):
            changed_regime(regime, doses={0: amount})


def test_thinned_draws_are_some_of_the_draws(estimates):
    few = thinned(estimates.posterior, 100)
    assert all(fit.z.shape[0] == 100 for fit in few.fits)
    rows = {row.tobytes() for row in estimates.posterior.fits[0].z}
    assert all(row.tobytes() in rows for row in few.fits[0].z)


def test_what_is_planned_comes_at_the_keepers_own_hours(book):
    trial = book.trial_
    kept = kept_tanks(trial, book.entries("small"), known=("nitrate",))
    right = next(tank for tank in kept.tanks if tank.key == "right")
    assert usual_hour(right, doses=True) == pytest.approx(8 / 24)
    assert usual_hour(right, doses=False) == pytest.approx(10 / 24)
    events = planned_ahead(trial, right, from_day=21.0, to_day=28.0)
    assert [round(event.day, 4) for event in events] == [21.3333, 23.3333, 25.3333, 26.4167]
    assert planned_ahead(trial, right, from_day=21.5, to_day=23.0) == ()
    # past the end of the trial the last regime goes on
    assert len(planned_ahead(trial, right, from_day=56.0, to_day=63.0)) == 4


def test_top_ups_that_are_noted_make_evaporation_count_and_else_the_tank_is_kept_full():
    trial = small_trial()
    tanks = {key: replace(tank, evaporation_l_per_day=0.3) for key, tank in trial.tanks.items()}
    book = FakeBook(replace(trial, tanks=tanks))
    book.note(1.0, "left", Dose("macro", ml=10.0))
    book.note(2.0, "left", TopUp(0.6))
    book.note(2.0, "right", Dose("macro", ml=10.0))
    kept = kept_tanks(book.trial_, book.entries("small"), known=("nitrate",))
    assert {tank.key: tank.evaporation_l_per_day for tank in kept.tanks} == {"left": 0.3, "right": 0.0}


def test_readings_that_cannot_be_used_are_named_with_the_reason():
    book = FakeBook(small_trial())
    book.note(1.0, "left", Dose("macro", ml=10.0))
    book.note(-2.0, "left", Reading("nitrate", 7.5, 15.0, "colour card", "10 mg/L"))
    book.note(2.0, "left", Reading("copper", 0.0, 0.1, "colour card", "0 mg/L"))
    book.note(3.0, "left", Reading("nitrate", 80.0, math.inf, "colour card", "over 80 mg/L"))
    kept = kept_tanks(book.trial_, book.entries("small"), known=("nitrate",))
    assert [(one.low_mg_per_l, one.high_mg_per_l) for one in kept.readings] == [(80.0, math.inf)]
    assert kept.unused == (
        "readings from before day 0",
        "readings of copper: nothing is known beforehand of its uptake",
    )


@pytest.mark.parametrize(
    ("called", "kind", "sort"),
    [
        ("colour card", "nitrate colour card", "steps"),
        ("pocket photometer", "nitrate photometer", "number"),
        ("", "nitrate colour card", "steps"),
        ("strip", "nitrate colour card", "steps"),
    ],
)
def test_a_way_to_test_is_guessed_from_what_it_is_called(called, kind, sort):
    ways = ways_to_test(replace(small_trial(), methods=()), [Reading("nitrate", 1.0, 2.0, called, "")])
    way = ways[way_key("nitrate", called)]
    assert way.method.kind == sort
    assert way.kind is not None
    assert way.kind.key == kind


def test_a_known_standard_moves_and_narrows_what_is_thought_of_a_test():
    own = OwnMethod("card", "colour card", "nitrate colour card", 20.0, ((30.0, 60.0),) * 5)
    plain = ways_to_test(small_trial(), [])[way_key("nitrate", "colour card")].method
    checked = ways_to_test(replace(small_trial(), methods=(own,)), [])[way_key("nitrate", "colour card")].method
    assert plain.bias_log_mean == 0.0
    assert checked.bias_log_mean > 0.2  # it read 40 for 20
    assert checked.bias_log_sd < plain.bias_log_sd


def no_feed(trial: Trial) -> Trial:
    arms = tuple(replace(arm, regime=None) for arm in trial.arms)
    tanks = {key: replace(tank, start_level_mg_per_l={}) for key, tank in trial.tanks.items()}
    return replace(trial, bottles={}, regimes={}, source=None, arms=arms, baseline_regime=None, tanks=tanks)


def test_nothing_to_estimate_says_what_is_missing(tmp_path):
    trial = small_trial()
    later = instant_of(5.0, trial) + timedelta(days=1)
    dry = replace(trial, tanks={key: replace(tank, vessel=None) for key, tank in trial.tanks.items()})
    for broken, right in (
        (CachingBook(dry, cache=tmp_path), "Describe the glass"),
        (CachingBook(trial, cache=tmp_path), "Note a dose"),
    ):
        with pytest.raises(NothingToEstimateError, match=right):
            estimate_levels(broken, broken.trial_, now=later)
    unfed = CachingBook(no_feed(trial), cache=tmp_path)
    unfed.note(1.0, "left", Note("looked at it"))
    with pytest.raises(NothingToEstimateError, match="name bottles"):
        estimate_levels(unfed, unfed.trial_, now=later)


def test_days_are_drawn_on_both_sides_of_every_event(book):
    kept = kept_tanks(book.trial_, book.entries("small"), known=("nitrate",))
    events = kept.tanks[0].events
    days = days_to_draw(events, to_day=21.0)
    for event in events:
        assert event.day in days
        assert np.isclose(days, event.day - 2 / 1440).any()
    assert (np.diff(days) > 0).all()
    assert days[-1] == 21.0


def urea_trial() -> Trial:
    trial = small_trial()
    bottle = replace(trial.bottles["macro"], content_mg_per_ml={"nitrate": 10.0, "urea": 10.0, "copper": 0.5})
    return replace(trial, bottles={"macro": bottle})


def test_urea_ends_as_nitrate_less_what_plants_take_and_more_doses_of_it_raise_ammonium():
    book = FakeBook(urea_trial())
    for tank in book.trial_.tanks:
        book.note(1.25, tank, Dose("macro", ml=10.0))
        book.note(40.0, tank, Note("looked"))
    kept = kept_tanks(book.trial_, book.entries("small"), known=("nitrate",))
    tank = kept.tanks[0]
    turned = nitrified_events(tank, tank.events, from_day=0.0, to_day=40.0)
    row = tank.nutrients.index("nitrate")
    urea_n = 100.0 * NUTRIENTS["urea"].element_share
    share = MEDIAN_PER_DAY["nitrification_per_day"] / (
        MEDIAN_PER_DAY["nitrification_per_day"] + MEDIAN_PER_DAY["uptake_per_day"]
    )
    changed = sum(float(event.adds_mg[row]) for event in turned if event.adds_mg is not None)
    assert changed * NUTRIENTS["nitrate"].element_share == pytest.approx(share * urea_n, rel=0.02)  # a change took some
    assert turned[0].day == 2.0
    days = np.linspace(1.25, 30, 200)
    level = ammonium_ahead(tank, tank.events, days=days, draws=200, rng=np.random.default_rng(1))
    assert level.shape == (200, 200)
    most = 2 * NUTRIENTS["ammonium"].weight / NUTRIENTS["urea"].weight  # mg/L of NH4 from the 1 mg/L of urea dosed
    assert 0.1 * most < np.median(level, axis=0).max() < most
    assert level[:, -1].max() < 0.01 * most
    assert brings_reduced_nitrogen(tank, tank.events)
    assert not brings_reduced_nitrogen(kept_tanks(small_trial(), (), known=("nitrate",)).tanks[0], ())


def test_alarms_count_what_is_not_fitted_at_the_most_it_can_be(tmp_path):
    book = CachingBook(urea_trial(), cache=tmp_path)
    for tank in book.trial_.tanks:
        book.note(1.25, tank, Dose("macro", ml=10.0))
    found = estimate_levels(book, book.trial_, now=instant_of(2.0, book.trial_))
    named = {alarm.row.what: alarm for alarm in found.alarms["right"]}
    copper = [alarm for what, alarm in named.items() if "copper" in what.casefold()]
    assert copper
    assert any("ammoni" in what.casefold() for what in named)
    assert not [day for day, _ in found.of("right", "nitrate").doses if day == round(day)]  # what nitrified is no dose
