"""Times to an event against SciPy's estimate and log-rank test, and against an obvious count."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.regression import TooFewPointsError
from littoral.stats.time_to_event import kaplan_meier, log_rank

tanks = st.lists(st.tuples(st.integers(1, 9).map(float), st.booleans(), st.booleans()), min_size=4, max_size=8).filter(
    lambda some: any(one[1] for one in some) and 0 < sum(one[2] for one in some) < len(some)
)


@given(tanks)
def test_the_share_left_is_scipys(some: list[tuple[float, bool, bool]]) -> None:
    day, happened = np.array([one[0] for one in some]), np.array([one[1] for one in some])
    found = kaplan_meier(day, happened)
    theirs = stats.ecdf(stats.CensoredData(uncensored=day[happened], right=day[~happened])).sf
    assert found.share == pytest.approx(theirs.evaluate(found.day))
    assert np.all(np.diff(found.share) < 0)
    assert found.median_day is None or theirs.evaluate(found.median_day) <= 0.5 + 1e-9


@given(tanks)
def test_the_exact_p_is_the_obvious_count(some: list[tuple[float, bool, bool]]) -> None:
    day, happened, second = (np.array([one[i] for one in some]) for i in range(3))
    found = log_rank(day, happened, second)

    def seen_minus_expected(chosen: np.ndarray) -> float:
        total = 0.0
        for when in np.unique(day[happened]):
            now, alive = happened & (day == when), day >= when
            total += (now & chosen).sum() - now.sum() * (alive & chosen).sum() / alive.sum()
        return float(total)

    observed = seen_minus_expected(second)
    assert found.test.statistic == pytest.approx(observed, abs=1e-9)
    assert found.seen - found.expected == pytest.approx(observed, abs=1e-9)
    count, ways = 0, 0
    for chosen in itertools.combinations(range(day.size), int(second.sum())):
        count += abs(seen_minus_expected(np.isin(np.arange(day.size), chosen))) >= abs(observed) - 1e-8
        ways += 1
    assert found.test.p_value == pytest.approx(count / ways)


def test_the_chi_square_is_scipys() -> None:
    first, second = [5.0, 6, 8, 9, 12], [4.0, 4, 5, 6, 7]
    ours = log_rank(np.array(first + second), np.ones(10, dtype=bool), np.repeat([False, True], 5))
    assert ours.chi_square == pytest.approx(float(stats.logrank(first, second).statistic) ** 2)


def test_tanks_still_free_of_it_count_as_watched_so_long() -> None:
    day = np.array([3.0, 5, 20, 20])
    found = kaplan_meier(day, np.array([True, True, False, False]))
    assert found.share.tolist() == [0.75, 0.5]
    assert found.median_day == 5.0
    assert found.at_risk.tolist() == [4, 3]
    assert kaplan_meier(day, np.array([True, False, False, False])).median_day is None


def test_nothing_happened_is_refused() -> None:
    with pytest.raises(TooFewPointsError):
        kaplan_meier(np.array([1.0, 2]), np.array([False, False]))
    with pytest.raises(TooFewPointsError):
        log_rank(np.array([1.0, 2]), np.array([True, True]), np.array([True, True]))
