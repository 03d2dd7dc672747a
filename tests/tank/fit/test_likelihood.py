"""What a reading says: probabilities that sum to one, agree with looking many times, and never rule out everything."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from littoral.tank.fit.likelihood import log_likelihood, reading_likelihood, share_below, share_from, step_shares
from littoral.tank.fit.methods import FitError, Method, Reading, step_borders
from littoral.tank.fit.priors import usual_method

STEPS = step_borders([0, 5, 10, 20, 40, 80])
KIT = usual_method("colour_steps", borders_mg_per_l=STEPS, key="kit")
METER = usual_method("photometer", top_mg_per_l=100.0, key="meter")
levels = st.floats(0.0, 500.0)
biases = st.floats(-1.0, 1.0)


def reading(low: float, high: float, method: str = "kit") -> Reading:
    return Reading("tank", "nitrate", 1.0, method, low, high)


def probability(method: Method, low: float, high: float, level: float, bias: float = 0.0) -> float:
    return float(reading_likelihood(method, reading(low, high), np.array([level]), np.array([bias]))[0])


@given(level=levels, bias=biases)
def test_steps_share_out_all_of_the_probability(level: float, bias: float) -> None:
    shares = step_shares(KIT, np.array([level]), np.array([bias]))
    assert shares.sum() == pytest.approx(1.0, abs=1e-12)
    assert (shares >= KIT.gross_share / 6 - 1e-15).all()


@given(level=levels, bias=biases)
def test_a_range_over_several_steps_is_their_sum(level: float, bias: float) -> None:
    one = probability(KIT, STEPS[1], STEPS[2], level, bias) + probability(KIT, STEPS[2], STEPS[3], level, bias)
    assert probability(KIT, STEPS[1], STEPS[3], level, bias) == pytest.approx(one)


@pytest.mark.parametrize("level", [0.5, 4.0, 7.2, 12.0, 33.0, 90.0])
def test_steps_agree_with_looking_many_times(level: float) -> None:
    """The twin: look at the colour a hundred thousand times, as the module's head says it."""
    rng, n, bias = np.random.default_rng(5), 100_000, 0.1
    seen = level * np.exp(bias + KIT.judgement_log_sd * rng.standard_normal(n))
    step = np.searchsorted(STEPS, seen, side="right") - 1
    misread = rng.random(n) < KIT.misread_share
    beside = np.where(step == 0, 1, np.where(step == 5, 4, step + rng.choice([-1, 1], n)))
    step = np.where(misread, beside, step)
    step = np.where(rng.random(n) < KIT.gross_share, rng.integers(0, 6, n), step)
    share = step_shares(KIT, np.array(level), np.array(bias))
    assert np.bincount(step, minlength=6) / n == pytest.approx(share, abs=5 * math.sqrt(0.25 / n))


def test_the_border_between_two_colours_is_a_coin_toss() -> None:
    assert float(share_below(KIT, np.array(STEPS[3]), np.array(0.0), STEPS[3])) == pytest.approx(0.5)


def test_borders_lie_between_the_colours() -> None:
    assert (0.0, 2.5, 7.5, 15.0, 30.0, 60.0, math.inf) == STEPS
    with pytest.raises(FitError, match="do not ascend"):
        step_borders([0, 5, 5])


@given(level=st.floats(0.01, 60.0), bias=biases)
def test_numbers_share_out_all_of_the_probability(level: float, bias: float) -> None:
    """Mass shown as zero and the density above it; the gross part reaches only to the top of the range."""
    zero = float(share_below(METER, np.array(level), np.array(bias), 0.0))
    x = level * math.exp(bias)
    above, _ = quad(
        lambda v: probability(METER, v, v, level, bias) - METER.gross_share / 100, 0, 3 * x + 20, limit=200, points=[x]
    )
    assert above + (1 - METER.gross_share) * zero == pytest.approx(1 - METER.gross_share, abs=1e-6)


def test_off_the_scale_and_below_detection() -> None:
    assert probability(KIT, 80.0, math.inf, 200.0) > 0.93
    assert probability(KIT, 80.0, math.inf, 20.0) < 0.01
    assert probability(METER, 0.0, 2.0, 0.1) > 0.95
    assert probability(METER, 0.0, 2.0, 30.0) < 0.001
    assert probability(METER, 0.0, 0.0, 0.0) == pytest.approx(0.99 * 0.5 + 0.01 * 0.01)
    assert float(share_from(METER, np.array(1.0), np.array(0.0), 0.0)) == 1.0


@given(level=levels)
def test_no_reading_rules_out_a_level(level: float) -> None:
    for one in (reading(0, 2.5), reading(80, math.inf), reading(3.3, 4.4)):
        assert reading_likelihood(KIT, one, np.array([level]), np.zeros(1))[0] > 1e-4
    assert reading_likelihood(METER, reading(12.0, 12.0), np.array([level]), np.zeros(1))[0] >= 1e-4


def test_all_readings_together_are_the_sum_of_each() -> None:
    rng = np.random.default_rng(0)
    ours = [reading(STEPS[2], STEPS[3]), reading(80.0, math.inf), reading(STEPS[0], STEPS[2])]
    level, bias, weight = rng.uniform(0, 90, (7, 3)), rng.normal(0, 0.2, 7), np.array([1.0, 0.5, 1.0])
    each = sum(weight[i] * np.log(reading_likelihood(KIT, one, level[:, i], bias)) for i, one in enumerate(ours))
    assert log_likelihood(KIT, ours, weight, level, bias) == pytest.approx(each)


def test_methods_that_cannot_be_are_refused_with_every_fault() -> None:
    with pytest.raises(FitError) as refused:
        Method("m", "steps", -1.0, 0.0, "test", borders_mg_per_l=(1.0, 2.0), misread_share=0.9)
    assert len(refused.value.faults) == 5
    with pytest.raises(FitError, match="absolute error"):
        Method("m", "number", 0.1, 0.01, "test")
