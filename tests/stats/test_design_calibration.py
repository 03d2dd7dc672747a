"""The calibration of designs, small and fast; every design, with its limits, is a row of `make proof`."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rows import load
from scipy import stats

CALIBRATION = load(Path(__file__).parents[2] / "benchmarks" / "design_calibration.py")
DESIGNS = {design.name: design for design in CALIBRATION.DESIGNS}
FAST = ("3 pairs, t", "crossover of one pair, 6 periods", "6 pairs, sign flips", "start day drawn from 20")


def calls(name: str, trials: int) -> tuple[int, int, int]:
    """Called, called by the naive test, and how many trials there were."""
    found = CALIBRATION.simulate(DESIGNS[name], trials=trials)
    return sum(one.called for one in found), sum(bool(one.naive) for one in found), len(found)


@pytest.mark.parametrize("name", FAST)
def test_nothing_is_rarely_called_something(name: str) -> None:
    called, _, trials = calls(name, 120)
    # so many or more would come up once in a thousand runs of a test that is right
    assert called <= stats.binom.ppf(0.999, trials, 0.05)


def test_tanks_are_the_unit_where_the_naive_test_takes_plants_for_it() -> None:
    called, naive, trials = calls("3 tanks per arm, 10 plants each", 80)
    assert called <= stats.binom.ppf(0.999, trials, 0.05)
    assert naive >= 3 * max(called, 1)
    assert naive >= stats.binom.ppf(0.999, trials, 0.05)


def test_trims_of_one_tank_are_no_more_tanks() -> None:
    called, naive, trials = calls("growing back after 4 trims in each of 5 and 5 tanks", 40)
    assert called <= stats.binom.ppf(0.999, trials, 0.05)
    assert naive >= stats.binom.ppf(0.999, trials, 0.05)


def test_a_simulated_trial_is_the_same_whatever_ran_before() -> None:
    design = DESIGNS["3 pairs, t"]
    assert CALIBRATION.simulate(design, trials=5) == CALIBRATION.simulate(design, trials=9)[:5]


def test_days_hang_together_as_asked() -> None:
    value = CALIBRATION.days_that_hang_together(np.random.default_rng(1), 20_000, 0.7)
    assert np.corrcoef(value[1:], value[:-1])[0, 1] == pytest.approx(0.7, abs=0.02)
    assert value.std() == pytest.approx(1.0, abs=0.05)


def test_every_design_of_a_finding_stands_in_the_table() -> None:
    simulated = {
        design.name: (design, [design.one(np.random.default_rng([7, at])) for at in range(2)])
        for design in CALIBRATION.FINDING_DESIGNS
    }
    table = CALIBRATION.table_of(simulated)
    lines = [line for line in table.splitlines() if line.startswith("| ")][1:]
    assert len(lines) == len(CALIBRATION.FINDING_DESIGNS)
    for line, design in zip(lines, CALIBRATION.FINDING_DESIGNS, strict=True):
        assert design.name.removeprefix("finding: ") in line
        assert "“effect" not in line or design.promised  # where it is known to call too often, no effect is spoken of
        assert not line.endswith("| – |")  # each says what its finding may say
