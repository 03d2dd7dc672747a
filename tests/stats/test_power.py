"""Power by simulation: against noncentral t, and against the design study's table."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.compare import mean_of
from littoral.stats.crossover import one_pair
from littoral.stats.power import (
    FEWEST,
    TANK_PERIODS,
    carry_over_after,
    power,
    power_curve,
    smallest,
    ways_to_settle,
)
from littoral.stats.simulated_designs import CALLS, DesignKind, PowerError, SimulatedTask, Spreads

RUNS = 8000
STUDY_ERROR = 2 * math.sqrt(0.25 / 1000)
"""Two standard errors of a share from 1,000 runs: the study does not say how many it made; more would be stricter."""


def share(kind: DesignKind, size: int, *, effect: float = 0.20, carry_over: float = 0.0, **spreads: float) -> float:
    rng = np.random.default_rng(11)
    return power(kind, size, effect=effect, spreads=Spreads(**spreads), rng=rng, runs=RUNS, carry_over=carry_over).share


def noncentral(ncp: float, df: int) -> float:
    quantile = stats.t.ppf(0.975, df)
    return float(stats.nct.sf(quantile, df, ncp) + stats.nct.cdf(-quantile, df, ncp))


@given(
    st.sampled_from(["pairs", "pairs with baseline", "swapped pairs", "periods"]),
    st.integers(4, 10),
    st.floats(0.02, 0.4),
    st.floats(0.02, 0.3),
    st.floats(0.02, 0.3),
    st.floats(0.0, 0.9),
)
@settings(max_examples=25)
def test_simulation_agrees_with_noncentral_t(
    kind: DesignKind, size: int, effect: float, tanks: float, periods: float, correlation: float
) -> None:
    size -= size % 2
    spreads = Spreads(tanks=tanks, periods=periods, baseline_correlation=correlation)
    pair, period = (math.sqrt(2 * one**2 + spreads.measuring**2) for one in (tanks, periods))
    sd = {
        "pairs": pair,
        "pairs with baseline": pair * math.sqrt(2 * (1 - correlation)),
        "swapped pairs": period / math.sqrt(2),
        "periods": period,
    }[kind]
    exact = noncentral(effect * math.sqrt(size) / sd, size - (2 if kind == "periods" else 1))
    assume(math.isfinite(exact))  # SciPy's noncentral t gives no number far out, where power is 1
    found = power(kind, size, effect=effect, spreads=spreads, rng=np.random.default_rng(1), runs=RUNS).share
    assert abs(found - exact) < 5 * math.sqrt(max(exact * (1 - exact), 0.001) / RUNS)


@pytest.mark.parametrize(
    ("periods", "spread", "printed"),
    [(4, 0.05, 0.54), (4, 0.10, 0.29), (6, 0.05, 0.94), (6, 0.10, 0.65), (8, 0.05, 1.0), (8, 0.10, 0.83)],
)
def test_a_crossover_of_one_pair_as_in_the_design_studys_table(periods: int, spread: float, printed: float) -> None:
    assert abs(share("periods", periods, periods=spread) - printed) < STUDY_ERROR


@pytest.mark.parametrize(
    ("kind", "tanks", "printed"),
    [
        ("pairs", 0.10, 8),
        ("pairs", 0.20, 19),
        ("pairs with baseline", 0.10, 6),
        ("pairs with baseline", 0.20, 12),
        ("swapped pairs", 0.10, 4),
        ("swapped pairs", 0.20, 5),
    ],
)
def test_pairs_for_80_percent_as_in_the_design_studys_table(kind: DesignKind, tanks: float, printed: int) -> None:
    """Its number of pairs is enough, and one less is not, to the error of such a simulation."""
    assert share(kind, printed, tanks=tanks, periods=tanks / 2) > 0.80 - STUDY_ERROR
    assert share(kind, printed - 1, tanks=tanks, periods=tanks / 2) < 0.80 + STUDY_ERROR


@pytest.mark.parametrize(("keepers", "printed"), [(5, 0.48), (8, 0.78), (12, 0.94)])
def test_pooled_keepers_as_in_the_design_studys_table(keepers: int, printed: float) -> None:
    """It does not say how much its keepers' tanks differed; a spread of 5 % between tanks gives all three numbers."""
    assert abs(share("keepers", keepers, tanks=0.05) - printed) < STUDY_ERROR


@pytest.mark.parametrize(("tanks", "bound"), [(0.10, 0.31), (0.20, 0.57)])
def test_what_one_pair_cannot_call_as_in_the_design_studys_table(tanks: float, bound: float) -> None:
    assert share("one pair", 1, effect=bound, tanks=tanks) == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize("spread", [0.05, 0.10])
@pytest.mark.parametrize("carried", [0.3, 0.5])
def test_carry_over_halves_the_power_or_worse(spread: float, carried: float) -> None:
    for periods in (4, 6):
        with_it = share("periods", periods, periods=spread, carry_over=carried)
        assert with_it <= share("periods", periods, periods=spread) / 2 + 0.01


@pytest.mark.parametrize("kind", get_args(DesignKind))
def test_nothing_done_is_called_no_oftener_than_it_may(kind: DesignKind) -> None:
    size = max(FEWEST[kind], 1)
    for carry_over in (0.0, 0.5):
        assert share(kind, size, effect=0.0, carry_over=carry_over) < 0.05 + 4 * math.sqrt(0.05 * 0.95 / RUNS)


def test_three_half_lives_leave_an_eighth() -> None:
    assert carry_over_after(3) == pytest.approx(1 / 8)
    assert carry_over_after(0) == 1
    with pytest.raises(PowerError, match="0 half-lives or more"):
        carry_over_after(-1)


def test_only_one_pair_settles_nothing() -> None:
    for kind in get_args(DesignKind):
        made = power(kind, FEWEST[kind], effect=0.2, spreads=Spreads(), rng=np.random.default_rng(1), runs=50)
        assert made.settles == (kind not in ("one pair", "one pair with baseline"))
    with pytest.raises(PowerError, match="at any size"):
        smallest("one pair", effect=0.5, spreads=Spreads(), rng=np.random.default_rng(1))


def test_ways_are_sorted_by_what_they_take_and_the_impossible_stands_last() -> None:
    ways = ways_to_settle(effect=0.20, spreads=Spreads(tanks=0.2, periods=0.1), rng=np.random.default_rng(2), runs=1000)
    assert [way.tank_periods for way in ways] == sorted(way.tank_periods for way in ways)
    assert {way.kind for way in ways} == set(TANK_PERIODS)
    assert ways[0].kind == "periods"
    few = ways_to_settle(effect=0.02, spreads=Spreads(), rng=np.random.default_rng(2), runs=200, most=8)
    assert all(way.size is None and way.most == 8 and math.isinf(way.tank_periods) for way in few)


@given(st.floats(0.1, 0.4), st.floats(0.05, 0.25))
@settings(max_examples=10)
def test_a_larger_effect_needs_no_larger_design(effect: float, tanks: float) -> None:
    """The same draws for both, so that no luck is in it."""
    spreads = Spreads(tanks=tanks)
    sizes = [
        smallest("pairs", effect=of, spreads=spreads, rng=np.random.default_rng(5), runs=2000).size or 99
        for of in (effect, 1.5 * effect)
    ]
    assert sizes[1] <= sizes[0]


def test_the_same_random_source_gives_the_same_and_the_error_is_a_shares() -> None:
    one, other = (
        power_curve("keepers", (5, 8), effect=0.2, spreads=Spreads(), rng=np.random.default_rng(7), runs=400)
        for _ in range(2)
    )
    assert one == other
    assert one[0].error == pytest.approx(math.sqrt(one[0].share * (1 - one[0].share) / 400))


def test_what_makes_no_sense_is_refused() -> None:
    rng, spreads = np.random.default_rng(1), Spreads()
    for kind, size, changed, said in (
        ("one pair", 2, {}, "must be 1"),
        ("periods", 2, {}, "at least 3"),
        ("pairs", 1, {}, "at least 2"),
        ("triplets", 3, {}, "no design 'triplets'"),
        ("pairs", 3, {"effect": math.nan}, "share of the mean"),
        ("pairs", 3, {"runs": 0}, "one run"),
        ("pairs", 3, {"carry_over": 1.5}, "Carry-over"),
        ("pairs", 3, {"level": 95.0}, "between 0 and 1"),
    ):
        with pytest.raises(PowerError, match=said):
            power(kind, size, **({"effect": 0.2, "spreads": spreads, "rng": rng} | changed))  # type: ignore[arg-type]
    with pytest.raises(PowerError, match="0 or more"):
        replace(spreads, tanks=-0.1)
    with pytest.raises(PowerError, match="every design shows everything"):
        Spreads(tanks=0, periods=0, keepers=0, measuring=0)
    with pytest.raises(PowerError, match="from 0 to 1"):
        Spreads(baseline_correlation=1.2)


def test_two_pairs_are_held_against_the_interval_that_findings_take() -> None:
    task = SimulatedTask(2, 0.2, Spreads(tanks=0.1, periods=0.1), np.random.default_rng(4), 40, 0.0, 0.95, periods=4)
    called = CALLS["swapped pairs"](task)
    rng = np.random.default_rng(4)
    noise = rng.normal(0.0, task.period_spread, (40, 2, 4))
    order = np.array([False, True, False, True])
    twin = []
    for run in noise:
        pairs = [one_pair(np.where(order, -0.2, 0.2) + own, ~order).effect for own in run]
        low, high = mean_of(pairs).interval()
        twin.append(low > 0 or high < 0)
    assert list(called) == twin
    assert 0 < called.sum() < 40


@pytest.mark.parametrize(("pairs", "periods"), [(2, 4), (2, 8), (3, 4), (4, 6)])
def test_several_pairs_that_swap_more_than_once_call_nothing_too_often(pairs: int, periods: int) -> None:
    null = power(
        "swapped pairs", pairs, effect=0.0, spreads=Spreads(), rng=np.random.default_rng(1), periods=periods, runs=4000
    )
    assert null.share <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 4000)


def test_more_periods_of_each_pair_show_more() -> None:
    found = [
        power(
            "swapped pairs", 3, effect=0.2, spreads=Spreads(periods=0.15), rng=np.random.default_rng(1), periods=n
        ).share
        for n in (2, 4, 8)
    ]
    assert found == sorted(found)
    assert found[-1] > found[0] + 0.2
    with pytest.raises(PowerError, match="or four where there are two pairs"):
        power("swapped pairs", 2, effect=0.2, spreads=Spreads(), rng=np.random.default_rng(1))
