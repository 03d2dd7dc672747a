"""Growing back after trims, by hand; onsets and how long a series is free of one; trims of tanks dealt together."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.onset import free_until, onset_day
from littoral.stats.regression import TooFewPointsError
from littoral.stats.regrowth import regrowths
from littoral.stats.series import Series
from littoral.stats.time_to_event import log_rank, log_rank_of_tanks, log_rank_scores


def sizes(day: list[float], value: list[float]) -> Series:
    return Series("stems", "cm", "level", np.array(day, dtype=float), np.array(value, dtype=float))


def test_a_stand_is_back_where_the_line_between_photos_reaches_the_old_height() -> None:
    """20 cm before, cut to 10 on day 2.5; 18 on day 6 and 22 on day 8: at 20 on day 7, so 4.5 days after the trim."""
    (one,), small = regrowths(sizes([0, 2, 3, 6, 8, 9], [18, 20, 10, 18, 22, 23]), [2.5])
    assert (one.trim_day, one.before, one.back) == (2.5, 20.0, True)
    assert one.days == pytest.approx(4.5)
    assert small == ()


def test_what_is_trimmed_again_first_or_not_back_at_the_end_is_censored() -> None:
    series = sizes(list(range(10)), [20, 20, 10, 12, 14, 7, 8, 9, 10, 11])
    found, _ = regrowths(series, [1.5, 4.5])
    assert [(one.days, one.back) for one in found] == [(2.5, False), (4.5, False)]
    later, _ = regrowths(series, [1.5, 4.5], from_day=2.0)
    assert [one.trim_day for one in later] == [4.5]


def test_a_trim_that_took_little_and_one_outside_the_photos_tell_nothing() -> None:
    found, small = regrowths(sizes([0, 1, 2, 3], [20, 20, 18, 20]), [1.5, 9.0, -3.0])
    assert found == ()
    assert small == (1.5,)  # ln(20/18) is 0.105
    assert len(regrowths(sizes([0, 1, 2, 3], [20, 20, 17, 20]), [1.5])[0]) == 1  # 0.163


def test_the_evening_entry_of_a_trim_is_set_where_the_size_fell() -> None:
    (one,), _ = regrowths(sizes([0.5, 1.5, 2.5, 3.5], [20, 10, 15, 20]), [1.8])
    assert one.trim_day == 1.0
    assert one.days == pytest.approx(2.5)


@given(st.floats(0.02, 0.2), st.floats(0.3, 0.8), st.integers(5, 15))
def test_exponential_growth_is_back_when_its_doubling_says_so(rate: float, left: float, cut: int) -> None:
    """A share `left` grown back at `rate` takes ln(1/left)/rate days, but for the line between two values."""
    day = np.arange(0, 120.0, 0.25)
    value = np.exp(rate * day) * np.where(day > cut, left, 1.0)
    (one,), _ = regrowths(Series("s", "cm", "level", day, value), [cut + 0.1])
    assert one.back
    assert one.days == pytest.approx(math.log(1 / left) / rate, abs=0.3)


def test_onset_counts_values_at_the_threshold_and_freedom_ends_with_the_last_ones_above() -> None:
    at = sizes([0, 1, 2, 3], [0, 5, 5, 5])
    assert onset_day(at, threshold=5.0) == 1.0
    assert free_until(sizes([0, 1, 2, 3], [0, 1, 0, 1]), threshold=5) == 3.0
    assert free_until(sizes([0, 1, 2, 3], [0, 1, 9, 9]), threshold=5) == 2.0
    assert free_until(sizes([], []), threshold=5) is None


times = st.lists(
    st.tuples(st.integers(1, 9).map(float), st.booleans(), st.integers(0, 4)), min_size=6, max_size=12
).filter(lambda some: any(one[1] for one in some))


@given(times, st.integers(1, 4))
def test_trims_stay_with_their_tank_in_every_dealing(some: list[tuple[float, bool, int]], in_second: int) -> None:
    """A slow twin: relabel five tanks in every way, add up seen minus expected trim by trim, and count."""
    day, came, tank = np.array([one[0] for one in some]), np.array([one[1] for one in some]), [one[2] for one in some]
    second = np.arange(5) < in_second
    found = log_rank_of_tanks(day, came, np.array(tank), second)
    score = log_rank_scores(day, came)
    totals = [
        sum(score[i] for i in range(len(tank)) if tank[i] in chosen)
        for chosen in itertools.combinations(range(5), in_second)
    ]
    seen = sum(score[i] for i in range(len(tank)) if tank[i] < in_second)
    assert found.statistic == pytest.approx(seen, abs=1e-9)
    assert found.p_value == pytest.approx(np.mean([abs(one) >= abs(seen) - 1e-8 for one in totals]))


def test_with_one_time_each_it_is_the_log_rank_test() -> None:
    day, came = np.array([5.0, 6, 8, 9, 4, 4, 5, 6]), np.array([1, 1, 0, 1, 1, 1, 1, 1], dtype=bool)
    second = np.arange(8) >= 4
    one, other = log_rank(day, came, second).test, log_rank_of_tanks(day, came, np.arange(8), second)
    assert (one.p_value, one.smallest_p) == (other.p_value, other.smallest_p)


def test_nothing_to_deal_is_refused() -> None:
    with pytest.raises(TooFewPointsError):
        log_rank_of_tanks(np.ones(2), np.zeros(2, dtype=bool), np.arange(2), np.array([True, False]))
    with pytest.raises(TooFewPointsError):
        log_rank_of_tanks(np.ones(2), np.ones(2, dtype=bool), np.arange(2), np.array([True, True]))
