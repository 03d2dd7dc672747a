"""Bands ahead, what if, which test next, how much the priors weigh, surprises, and conductivity."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import Posterior, fit_levels
from littoral.tank.fit.forecast import forecast, level_draws, what_if
from littoral.tank.fit.methods import FitError, Reading
from littoral.tank.fit.next_test import Candidate, next_test
from littoral.tank.fit.sensitivity import prior_sensitivity
from littoral.tank.fit.surprise import slips, surprising

AHEAD = np.arange(42.5, 57.0, 1.0)
RICH: dict[str, Any] = {"tank": "rich", "nutrient": "nitrate"}


def test_bands_are_nested_and_widen(posterior: Posterior) -> None:
    bands = forecast(posterior, **RICH, days=AHEAD)
    assert (bands.low_90 <= bands.low_50).all()
    assert (bands.low_50 <= bands.median).all()
    assert (bands.high_50 <= bands.high_90).all()
    relative = (bands.high_90 - bands.low_90) / bands.median
    assert relative[-1] > relative[0]
    assert bands.below_floor is None
    assert bands.left_band is None


def test_the_chance_of_leaving_the_band_is_that_of_the_draws(posterior: Posterior) -> None:
    level = level_draws(posterior, **RICH, days=AHEAD)
    bands = forecast(posterior, **RICH, days=AHEAD, floor_mg_per_l=15.0, ceiling_mg_per_l=35.0)
    assert bands.below_floor == pytest.approx((level < 15).mean(axis=0))
    assert bands.above_ceiling == pytest.approx((level > 35).mean(axis=0))
    assert bands.left_band is not None
    assert (np.diff(bands.left_band) >= 0).all()
    assert bands.left_band[-1] == pytest.approx(((level < 15) | (level > 35)).any(axis=1).mean())


def test_planned_doses_lift_every_draw(posterior: Posterior) -> None:
    dose = TankEvent(44.0, np.array([500.0]))  # 10 mg/L in 50 L, give or take the dose's own error
    plain = forecast(posterior, **RICH, days=[44.5])
    dosed = forecast(posterior, **RICH, days=[44.5], planned_events=[dose])
    assert dosed.median[0] - plain.median[0] == pytest.approx(10.0, abs=1.0)


def test_what_if_with_the_same_events_changes_nothing(posterior: Posterior) -> None:
    events = posterior.of(**RICH).layout.tank("rich").events
    same = [event for event in events if event.day >= 20.0]
    days = np.arange(0.0, 57.0, 3.0)
    plain, again = (
        forecast(posterior, **RICH, days=days),
        what_if(posterior, **RICH, days=days, events=same, from_day=20.0),
    )
    assert np.array_equal(plain.median, again.median)
    none = what_if(posterior, **RICH, days=days, events=[], from_day=20.0)
    assert np.array_equal(none.median[:7], plain.median[:7])
    assert none.median[-1] < plain.median[-1]
    with pytest.raises(FitError, match="stays done"):
        what_if(posterior, **RICH, days=days, events=same, from_day=30.0)


def test_days_are_given_in_order(posterior: Posterior) -> None:
    with pytest.raises(FitError, match="in order"):
        forecast(posterior, **RICH, days=[3.0, 1.0])


def test_the_best_next_test_is_near_the_day_and_in_the_tank(posterior: Posterior) -> None:
    candidates = [Candidate("rich", "nitrate", day, "kit") for day in (43.0, 55.9)]
    candidates += [Candidate("rich", "nitrate", 55.9, "photometer"), Candidate("lean", "nitrate", 43.0, "kit")]
    worths = next_test(posterior, candidates, np.random.default_rng(0), at_day=56.0)
    place = {(w.candidate.tank, w.candidate.day, w.candidate.method): i for i, w in enumerate(worths)}
    assert place["rich", 55.9, "photometer"] < place["rich", 55.9, "kit"] < place["rich", 43.0, "kit"]
    assert all(-0.05 <= worth.narrowed < 1 for worth in worths)
    with pytest.raises(FitError, match="No method"):
        next_test(posterior, [Candidate("rich", "nitrate", 50.0, "nose")], np.random.default_rng(0), at_day=56.0)


@pytest.mark.slow
def test_the_promised_narrowing_comes_true(trial: Any, posterior: Posterior) -> None:
    """The twin: simulate results of the test from the draws, fit anew with each, and average the widths."""
    candidate = Candidate("rich", "nitrate", 48.0, "photometer")
    rng = np.random.default_rng(3)
    worth = next_test(posterior, [candidate], rng, at_day=49.0)[0]
    level = level_draws(posterior, **RICH, days=[48.0])[:, 0]
    widths = []
    for value in np.quantile(level, (np.arange(5) + 0.5) / 5):
        shown = float(value * np.exp(0.05 * rng.standard_normal()) * (1 + 0.08 * rng.standard_normal()))
        reading = Reading("rich", "nitrate", 48.0, "photometer", shown, shown)
        again = fit_levels(trial.tanks, [*trial.readings, reading], trial.priors, rng)
        bands = forecast(again, **RICH, days=[49.0])
        widths.append(float((bands.high_90 - bands.low_90)[0]))
    assert worth.width_after == pytest.approx(np.mean(widths), rel=0.25)


def test_a_reading_out_of_all_proportion_is_kept_flagged_and_asked_about(trial: Any) -> None:
    odd = Reading("rich", "nitrate", 28.45, "kit", 0.0, 2.5)
    readings = [odd if one.tank == "rich" and one.day == odd.day else one for one in trial.readings]
    one = fit_levels(trial.tanks, readings, trial.priors, np.random.default_rng(1))
    found = surprising(one)
    flagged = [surprise for surprise in found if surprise.flagged]
    assert [surprise.reading for surprise in flagged] == [odd]
    assert odd in one.fits[0].readings
    assert "The reading is kept" in flagged[0].ask
    assert all(surprise.probability > 0.02 for surprise in found if surprise.reading != odd)
    # and it does not drag the level along
    assert forecast(one, **RICH, days=[28.45]).median[0] > 12


def test_leaving_one_out_by_weights_agrees_with_a_fit_without_it(trial: Any, posterior: Posterior) -> None:
    left_out = trial.readings[3]
    without = fit_levels(
        trial.tanks, [one for one in trial.readings if one != left_out], trial.priors, np.random.default_rng(2)
    )
    weighted, refitted = (surprising(p, [left_out])[0] for p in (posterior, without))
    assert weighted.expected.median == pytest.approx(refitted.expected.median, rel=0.1)
    assert weighted.probability == pytest.approx(refitted.probability, abs=0.15)


def test_a_doubled_dose_is_the_likeliest_slip(trial: Any) -> None:
    """A meter reads twice the usual rise after one dose: giving that dose twice explains it best."""
    rich = replace(trial.tanks[0])
    days = (8.0, 8.6, 9.5, 10.45, 10.6)
    dose = next(event for event in rich.events if abs(event.day - 10.4) < 1e-9)
    doubled = rich.with_events((*rich.events, replace(dose, day=10.41)))
    base = fit_levels(
        [rich], [one for one in trial.readings if one.tank == "rich"][:1], trial.priors, np.random.default_rng(1)
    )
    level = np.median(
        level_draws(
            replace(base, fits=(replace(base.fits[0], layout=replace(base.fits[0].layout, tanks=(doubled,))),)),
            **RICH,
            days=days,
        ),
        axis=0,
    )
    readings = [
        Reading("rich", "nitrate", day, "photometer", float(v), float(v)) for day, v in zip(days, level, strict=True)
    ]
    one = fit_levels([rich], readings, trial.priors, np.random.default_rng(1))
    best = slips(one, readings[-1])[0]
    assert (best.event.day, best.what) == (pytest.approx(10.4), "given twice")
    assert best.odds > 1


@pytest.mark.slow
def test_priors_weigh_less_where_much_was_read(trial: Any, posterior: Posterior) -> None:
    few = fit_levels(trial.tanks[:1], trial.readings[:1], trial.priors, np.random.default_rng(1))
    rows = {row.tank: row for row in prior_sensitivity(posterior, np.random.default_rng(2), at_day=42.4)}
    unread = prior_sensitivity(few, np.random.default_rng(2), at_day=42.4)[0]
    assert set(rows) == {"rich", "lean"}
    assert rows["rich"].shift < 0.5
    assert not rows["rich"].prior_bound
    wide, narrow = unread.wide, unread.narrow
    assert wide.high_90 - wide.low_90 > narrow.high_90 - narrow.low_90
