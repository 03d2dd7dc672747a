"""Before and after with a control: the doubt about days that hang together, and a start day that was drawn."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rows import load
from scipy import stats

from littoral.stats.before_after import (
    KNOWN_OVER_REJECTION,
    drawn_start,
    drawn_start_of_slope,
    randomised_intervention,
    step_change,
)
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray, Series

DESIGNS = load(Path(__file__).parents[2] / "benchmarks" / "published_rows" / "designs.py")


def difference(value: FloatArray) -> Series:
    return Series("right minus left", "cm", "level", np.arange(value.size, dtype=float), np.asarray(value, dtype=float))


def hanging_together(seed: int, days: int, rho: float) -> FloatArray:
    rng = np.random.default_rng(seed)
    value = np.empty(days)
    value[0] = rng.normal()
    for i in range(1, days):
        value[i] = rho * value[i - 1] + np.sqrt(1 - rho**2) * rng.normal()
    return value


def test_days_that_hang_together_widen_the_interval() -> None:
    series = difference(hanging_together(4, 40, 0.8))
    plain = step_change(series, change_day=20, structures=("white",)).change.interval()
    honest = step_change(series, change_day=20).change.interval()
    assert honest[1] - honest[0] > 1.5 * (plain[1] - plain[0])


def test_a_change_is_found_whatever_the_unit() -> None:
    value = hanging_together(1, 40, 0.3) + np.where(np.arange(40) >= 20, 4.0, 0.0)
    found = step_change(difference(value), change_day=20)
    scaled = step_change(difference(1000 * value - 7), change_day=20)
    low, high = found.change.interval()
    assert low < 4 < high
    assert low > 0
    assert scaled.change.value == pytest.approx(1000 * found.change.value, rel=1e-6)
    assert sum(found.weight_of.values()) == pytest.approx(1.0)


def test_randomised_intervention_carries_how_often_it_is_wrong() -> None:
    value = hanging_together(2, 30, 0.5)
    found = randomised_intervention(value, np.arange(30) >= 15, rng=np.random.default_rng(1))
    assert not found.test.exact
    assert found.known is KNOWN_OVER_REJECTION
    assert found.known.plain == 0.20
    with pytest.raises(TooFewPointsError):
        randomised_intervention(value, np.zeros(30, dtype=bool))


def test_a_drawn_start_is_held_against_the_other_starts() -> None:
    value = np.where(np.arange(30) >= 12, 5.0, 0.0)
    could_be = tuple(float(day) for day in range(5, 25))
    found = drawn_start(difference(value), change_day=12.0, could_be=could_be)
    assert found.p_value == pytest.approx(1 / 20)
    assert found.smallest_p == pytest.approx(1 / 20)
    with pytest.raises(ValueError, match="not among the 20 days"):
        drawn_start(difference(value), change_day=12.5, could_be=could_be)
    with pytest.raises(TooFewPointsError):
        drawn_start(difference(value), change_day=0.0, could_be=(0.0, 12.0))


def test_few_days_on_a_side_are_refused() -> None:
    with pytest.raises(TooFewPointsError, match="each side"):
        step_change(difference(np.arange(10.0)), change_day=8.0)


@pytest.mark.real
def test_the_enriched_lake_is_told_from_its_reference(open_data: Path) -> None:
    """Peter Lake was fertilised 1993 to 1997, Paul Lake was not; years are the unit."""
    yearly, years = DESIGNS.yearly_difference(DESIGNS.lakes())
    enriched = (years >= 1993) & (years <= 1997)
    test = randomised_intervention(yearly, enriched).test
    assert test.exact
    assert test.p_value == pytest.approx(2 / 126)  # R 4.2.2, coin, oneway_test(distribution = "exact"): 0.01587
    assert test.statistic == pytest.approx(yearly[enriched].mean() - yearly[~enriched].mean())


def test_the_kink_of_a_growth_is_clearest_at_the_day_that_was_drawn() -> None:
    day = np.arange(40.0) + 0.5
    rng = np.random.default_rng(5)
    log_ratio = 0.03 * np.maximum(0.0, day - 20) + rng.normal(0, 0.01, 40)
    series = Series("ratio", "1", "level", day, log_ratio)
    could_be = tuple(float(one) for one in range(10, 30))
    cut = (day > 25).astype(float)[:, None]  # a trim, which is no growth
    trimmed = Series("ratio", "1", "level", day, log_ratio - 0.5 * cut[:, 0])
    for found in (
        drawn_start_of_slope(series, np.empty((40, 0)), change_day=20.0, could_be=could_be),
        drawn_start_of_slope(trimmed, cut, change_day=20.0, could_be=could_be),
    ):
        assert found.p_value == pytest.approx(1 / 20)
        assert found.statistic > stats.t.isf(1e-3, 36)
    with pytest.raises(ValueError, match="not among the 20 days"):
        drawn_start_of_slope(series, cut, change_day=9.0, could_be=could_be)
    with pytest.raises(TooFewPointsError, match="either side of day 10"):
        drawn_start_of_slope(Series("r", "1", "level", day[20:], log_ratio[20:]), np.empty((20, 0)), change_day=10.0,
                             could_be=could_be)  # fmt: skip
