"""A standard made at home, and what readings of it say of a test."""

from __future__ import annotations

import math
import re

import numpy as np
import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from littoral.chemistry.known_standard import CAUTION, STANDARD_SALTS, known_standard
from littoral.chemistry.reading_bias import BiasError, bias_from_standard
from littoral.chemistry.reading_methods import reading_methods
from littoral.chemistry.reading_results import read_result, step_shown
from littoral.chemistry.salts import UnknownSaltError
from littoral.chemistry.stock import StockError

ION = {
    "nitrate": "NO3", "phosphate": "PO4", "potassium": "K", "ammonium": "NH4", "calcium": "Ca", "magnesium": "Mg",
    "bicarbonate": "HCO3",
}  # fmt: skip


@pytest.mark.parametrize("nutrient", STANDARD_SALTS)
def test_what_it_holds_by_another_table_of_atomic_weights(nutrient: str) -> None:
    made = known_standard(nutrient)
    share = (
        periodictable.formula(ION[nutrient]).mass
        / periodictable.formula(re.sub(r"·(\d*)(.+)", r"(\2)\1", made.salt)).mass
    )
    by_hand = made.grams * 1000.0 * share / made.stock_l * (made.take_ml / 1000.0) / made.diluted_l
    assert made.mg_per_l == pytest.approx(by_hand, rel=2e-4)
    assert made.mg_per_l == pytest.approx(STANDARD_SALTS[nutrient][1], rel=0.01)
    assert 0.005 / made.grams <= 0.01 + 1e-9  # half a step of the scale
    assert 0.019 < made.relative_sd < 0.03
    assert CAUTION in made.caution
    assert "safety data sheet" in made.caution
    assert "safe " not in made.caution.replace("safety", "")
    assert made.lines[0].startswith(f"Weigh {made.grams:g} g of")
    assert made.steps[0].what == "to weigh"
    assert len(made.steps) == 4


def test_nitrate_by_the_worked_figure() -> None:
    """40 g KNO3 in 500 mL, 10 mL into 200 L is 2.4531 mg/L of nitrate (worked example); the same stock into 1 L."""
    made = known_standard("nitrate")
    assert (made.salt, made.grams, made.take_ml) == ("KNO3", 3.26, 10.0)
    assert made.mg_per_l == pytest.approx(2.4531 * 200 / (40 / 0.5) * 3.26, rel=1e-4)


def test_four_degrees_of_carbonate_hardness() -> None:
    """4 dKH is 119.8 mg/L of NaHCO3 (recomputed independently), the usual standard for CO2 indicators."""
    made = known_standard("bicarbonate")
    assert made.grams * made.take_ml == pytest.approx(119.8, abs=0.1)


def test_a_coarse_scale_takes_a_stronger_solution() -> None:
    assert known_standard("phosphate", scale_step_g=0.001).take_ml == 10.0
    assert known_standard("phosphate", scale_step_g=0.01).take_ml == 2.0
    own = known_standard("nitrate", target_mg_per_l=10.0, from_salt="NaNO3")
    assert own.mg_per_l == pytest.approx(10.0, rel=0.01)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: known_standard("nitrite"), "no standard for nitrite"),
        (lambda: known_standard("nitrate", target_mg_per_l=-1.0), "a standard of -1 mg/L"),
        (lambda: known_standard("nitrate", target_mg_per_l=math.nan), "a standard of nan mg/L"),
        (lambda: known_standard("nitrate", scale_step_g=0.0), "a scale that shows 0 g"),
        (lambda: known_standard("nitrate", from_salt="KCl"), "KCl for nitrate. It brings none"),
        (lambda: known_standard("phosphate", scale_step_g=0.1), "needs too little KH2PO4 to weigh"),
    ],
)
def test_standards_that_cannot_be(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(StockError) as refused:
        call()
    assert message in str(refused.value)


def test_an_unknown_salt() -> None:
    with pytest.raises(UnknownSaltError):
        known_standard("nitrate", target_mg_per_l=10.0, from_salt="moon dust")


@given(
    values=st.lists(st.floats(5.0, 60.0), min_size=1, max_size=6),
    noise=st.floats(0.05, 0.4),
    true_sd=st.floats(0.0, 0.05),
)
@settings(max_examples=30, deadline=None)
def test_exact_readings_are_the_textbook_case(values: list[float], noise: float, true_sd: float) -> None:
    """The slow, obvious twin: the normal-normal posterior in closed form, with the standard's error beside it."""
    prior = 0.4
    found = bias_from_standard(
        [(v, v) for v in values], 20.0, noise_log_sd=noise, prior_log_sd=prior, true_relative_sd=true_sd
    )
    logs = np.log(np.array(values) / 20.0)
    covariance = np.eye(len(values)) * noise**2 + true_sd**2
    precision = 1.0 / prior**2 + np.linalg.inv(covariance).sum()
    mean = (np.linalg.inv(covariance) @ logs).sum() / precision
    assert found.log_mean == pytest.approx(mean, abs=2e-4)
    assert found.log_sd == pytest.approx(1.0 / math.sqrt(precision), rel=2e-3)


def test_intervals_by_brute_force() -> None:
    """A colour step, against a plain sum over drawn factors."""
    readings = [(15.0, 30.0), (15.0, 30.0), (7.5, 15.0)]
    found = bias_from_standard(readings, 20.0, noise_log_sd=0.2)
    rng = np.random.default_rng(4)
    bias = rng.normal(0.0, 0.4, 400_000)
    weight = np.ones_like(bias)
    for low, high in readings:
        z = (np.log([low, high])[:, None] - math.log(20.0) - bias) / 0.2
        weight *= norm.cdf(z[1]) - norm.cdf(z[0])
    mean = np.average(bias, weights=weight)
    assert found.log_mean == pytest.approx(mean, abs=2e-3)
    assert found.log_sd == pytest.approx(math.sqrt(np.average((bias - mean) ** 2, weights=weight)), rel=0.01)


def test_more_readings_leave_less_doubt_and_a_biased_test_is_found() -> None:
    three, nine = (bias_from_standard([(15.0, 30.0)] * n, 20.0) for n in (3, 9))
    assert nine.log_sd < three.log_sd < 0.4
    assert three.rows[0].verdict == "cannot tell"
    exact = bias_from_standard([(20.0, 20.0)] * 9, 20.0)
    assert exact.rows[0].verdict == "holds"
    assert exact.factor == pytest.approx(1.0, abs=1e-6)
    double = bias_from_standard([(30.0, 60.0)] * 3, 20.0)
    assert double.rows[0].verdict == "warns"
    assert double.low > 1.0
    assert "reads too much" in double.rows[0].comment
    beyond = bias_from_standard([(80.0, math.inf)], 20.0)
    assert beyond.factor > 1.5
    nothing = bias_from_standard([(0.0, 2.5)], 20.0)
    assert nothing.factor < 0.67


@pytest.mark.parametrize("true_factor", [0.7, 1.0, 1.5])
def test_its_interval_holds_the_true_factor_as_often_as_it_says(true_factor: float) -> None:
    """Keepers drawn at random read a 20 mg/L standard four times with a coarse card."""
    card = reading_methods()["nitrate colour card"]
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(100):
        noisy = 20.0 * true_factor * np.exp(rng.normal(0.0, 0.2, 4))
        read = [read_result(f"{step_shown(value, card):g}", card) for value in noisy]
        found = bias_from_standard([(one.low, one.high) for one in read], 20.0)
        held += found.low <= true_factor <= found.high
    assert held >= 90


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: bias_from_standard([], 20.0), "no reading of it"),
        (lambda: bias_from_standard([(1.0, 2.0)], 0.0), "it holds 0 mg/L"),
        (lambda: bias_from_standard([(1.0, 2.0)], math.nan), "it holds nan mg/L"),
        (lambda: bias_from_standard([(3.0, 2.0)], 20.0), "a reading from 3 to 2 mg/L"),
        (lambda: bias_from_standard([(0.0, 0.0)], 20.0), "a reading from 0 to 0 mg/L"),
        (lambda: bias_from_standard([(-1.0, 2.0)], 20.0), "a reading from -1 to 2 mg/L"),
        (lambda: bias_from_standard([(1.0, math.nan)], 20.0), "a reading from 1 to nan mg/L"),
        (lambda: bias_from_standard([(1.0, 2.0)], 20.0, noise_log_sd=0.0), "the noise is 0"),
        (lambda: bias_from_standard([(1.0, 2.0)], 20.0, prior_log_sd=-1.0), "the doubt beforehand is -1"),
        (lambda: bias_from_standard([(1.0, 2.0)], 20.0, true_relative_sd=-1.0), "the doubt of the standard is -1"),
    ],
)
def test_readings_that_cannot_be(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(BiasError) as refused:
        call()
    assert message in str(refused.value)
