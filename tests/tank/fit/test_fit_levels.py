"""The fit: against brute force over the prior, its faults, what repeats, and who shares what."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from littoral.tank.fit.fit import Posterior, fit_levels, likelihood_of, reading_weights
from littoral.tank.fit.forecast import forecast, level_draws, method_bias, net_removal, source_level
from littoral.tank.fit.layout import layout_of, log_drift
from littoral.tank.fit.methods import FitError, Reading
from littoral.tank.fit.surprise import weighted_quantile


def test_it_settles_and_is_the_same_every_time(trial: Any, posterior: Posterior) -> None:
    again = fit_levels(trial.tanks, trial.readings, trial.priors, np.random.default_rng(1))
    assert posterior.settled
    assert posterior.fits[0].mixing.effective_draws >= 400
    assert np.array_equal(again.fits[0].z, posterior.fits[0].z)
    assert again.seed == posterior.seed


def test_the_answer_is_that_of_brute_force(trial: Any) -> None:
    """The twin: many draws of the prior weighted by the likelihood, no sampler. Four readings, so that some survive."""
    ours = [reading for reading in trial.readings if reading.tank == "rich"][:4]
    one = fit_levels(trial.tanks[:1], ours, trial.priors, np.random.default_rng(5))
    fit = one.fits[0]
    z = np.random.default_rng(6).standard_normal((150_000, len(fit.layout.columns)))
    log_weight = likelihood_of(fit.layout, ours)(z)
    weight = np.exp(log_weight - log_weight.max())
    effective = weight.sum() ** 2 / (weight**2).sum()
    brute = replace(one, fits=(replace(fit, z=z),))
    days = [10.0, 28.45]
    drawn, level = (level_draws(p, tank="rich", nutrient="nitrate", days=days) for p in (one, brute))
    assert effective > 2000
    for i in range(2):
        want = weighted_quantile(level[:, i], weight, [0.05, 0.25, 0.5, 0.75, 0.95])
        spread = want[-1] - want[0]
        assert np.quantile(drawn[:, i], [0.05, 0.25, 0.5, 0.75, 0.95]) == pytest.approx(want, abs=0.06 * spread)
    mean = weight @ z / weight.sum()
    assert fit.z.mean(axis=0) == pytest.approx(mean, abs=0.13)


def test_without_readings_the_prior_comes_back(trial: Any) -> None:
    one = fit_levels(trial.tanks[:1], [], trial.priors, np.random.default_rng(5), nutrients=["nitrate"])
    assert one.fits[0].z.mean(axis=0) == pytest.approx(0.0, abs=0.12)
    assert one.fits[0].z.std(axis=0) == pytest.approx(1.0, abs=0.1)


def test_readings_narrow_the_level(trial: Any, posterior: Posterior) -> None:
    few = fit_levels(trial.tanks, trial.readings[:1], trial.priors, np.random.default_rng(5))
    wide, narrow = (forecast(p, tank="rich", nutrient="nitrate", days=[35.45]) for p in (few, posterior))
    assert (narrow.high_90 - narrow.low_90)[0] < 0.6 * (wide.high_90 - wide.low_90)[0]


def test_what_is_printed_is_what_readings_fix(posterior: Posterior) -> None:
    rich, lean = (net_removal(posterior, tank=key, nutrient="nitrate", day=42.0) for key in ("rich", "lean"))
    assert rich.low_90 < rich.low_50 < rich.median < rich.high_50 < rich.high_90
    assert rich.median > lean.median
    bias = method_bias(posterior, tank="rich", nutrient="nitrate", method="kit")
    assert bias.low_90 < 1 < bias.high_90
    assert source_level(posterior, tank="rich", nutrient="nitrate").low_90 > 0
    with pytest.raises(FitError, match="not used"):
        method_bias(posterior, tank="rich", nutrient="nitrate", method="photometer")
    with pytest.raises(FitError, match="No fit of iron"):
        net_removal(posterior, tank="rich", nutrient="iron", day=42.0)


def test_every_fault_is_named_at_once(trial: Any) -> None:
    bad = [
        Reading("attic", "nitrate", 1.0, "kit", 0.0, 2.5, name="entry 1"),
        Reading("rich", "nitrate", -1.0, "kit", 0.0, 2.5, name="entry 2"),
        Reading("rich", "nitrate", 1.0, "kit", 5.0, 2.5, name="entry 3"),
        Reading("rich", "nitrate", 1.0, "kit", 5.0, 5.0, name="entry 4"),
        Reading("rich", "nitrate", 1.0, "nose", 0.0, 2.5, name="entry 5"),
        Reading("rich", "nitrate", math.nan, "kit", 0.0, math.inf, name="entry 6"),
    ]
    with pytest.raises(FitError) as refused:
        fit_levels(trial.tanks, bad, trial.priors, np.random.default_rng(0))
    assert [fault.partition(":")[0] for fault in refused.value.faults] == [f"entry {i}" for i in range(1, 7)]
    zinc = [Reading("rich", "zinc", 1.0, "kit", 0.0, 2.5)]
    with pytest.raises(FitError, match="No priors for zinc"):
        fit_levels(trial.tanks, zinc, trial.priors, np.random.default_rng(0))


def test_the_same_result_noted_twice_is_one_test(trial: Any) -> None:
    first = trial.readings[0]
    other = replace(first, day=first.day + 0.1)
    noted_again = replace(first, name="again")
    assert reading_weights([first, noted_again, other]) == [0.5, 0.5, 1.0]
    layout = layout_of("nitrate", trial.tanks, ["kit"], trial.priors, [42.0, 42.0])
    z = np.random.default_rng(0).standard_normal((50, len(layout.columns)))
    once, twice = (likelihood_of(layout, ours)(z) for ours in ([first, other], [first, noted_again, other]))
    assert once == pytest.approx(twice)
    both = fit_levels(trial.tanks[:1], [first, noted_again], trial.priors, np.random.default_rng(0))
    assert both.repeated == (first, noted_again)
    assert both.fits[0].readings == (first, noted_again)


def test_who_shares_what(trial: Any) -> None:
    rich, lean = trial.tanks
    twin = replace(rich, key="twin")
    two_arms = layout_of("nitrate", (rich, lean), ["kit"], trial.priors, [42.0, 42.0])
    assert {"arm rich", "arm lean"} < set(two_arms.columns)
    assert "between tanks" not in two_arms.columns
    one_arm = layout_of("nitrate", (rich, twin), ["kit"], trial.priors, [42.0, 42.0])
    assert {"between tanks", "tank rich", "tank twin"} < set(one_arm.columns)
    assert "arm rich" not in one_arm.columns
    groups = {
        "each tank alone": [["rich"], ["lean"], ["twin"]],
        "within arms": [["rich", "twin"], ["lean"]],
        "across arms": [["rich", "lean", "twin"]],
    }
    for pooling, want in groups.items():
        fitted = fit_levels(
            (rich, lean, twin), trial.readings[:1], trial.priors, np.random.default_rng(0), pooling=pooling
        )  # type: ignore[arg-type]
        assert [[tank.key for tank in fit.layout.tanks] for fit in fitted.fits] == want


def test_a_twin_without_readings_learns_from_its_arm(trial: Any) -> None:
    rich = trial.tanks[0]
    tanks, ours = (rich, replace(rich, key="twin")), [one for one in trial.readings if one.tank == "rich"]
    alone, pooled = (
        fit_levels(tanks, ours, trial.priors, np.random.default_rng(0), pooling=pooling)  # type: ignore[arg-type]
        for pooling in ("each tank alone", "within arms")
    )
    widths = []
    for one in (alone, pooled):
        bands = forecast(one, tank="twin", nutrient="nitrate", days=[35.45])
        widths.append(float(np.log(bands.high_90 / bands.low_90)[0]))
    assert widths[1] < 0.75 * widths[0]


def test_drift_is_a_random_walk(trial: Any) -> None:
    """Variance of the logarithm grows by drift² a week: within the record up to modes left out, then exactly."""
    layout = layout_of("nitrate", trial.tanks, ["kit"], trial.priors, [42.0, 42.0])
    rng = np.random.default_rng(0)
    z = rng.standard_normal((40_000, len(layout.columns)))
    walk_on = rng.standard_normal((40_000, 3))
    days = np.array([0.0, 21.0, 42.0, 49.0, 56.0])
    drift = log_drift(layout, z, "rich", days, walk_on)
    per_week = trial.priors.drift_per_week.log_sd**2
    want = per_week * np.array([0.0, 3.0, 6.0, 7.0, 8.0])
    assert drift.var(axis=0) == pytest.approx(want, rel=0.12)
    assert (drift[:, 3] - drift[:, 2]).var() == pytest.approx(per_week, rel=0.03)
