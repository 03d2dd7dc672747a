"""What no other regime beats: against a plain twin, and that no weighing is hidden in it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from littoral.stats.frontier import FrontierError, frontier
from littoral.stats.series import FloatArray

SMALL = st.tuples(st.integers(1, 5), st.integers(1, 6), st.integers(1, 3)).flatmap(
    lambda shape: arrays(np.float64, shape, elements=st.integers(-3, 3).map(float))
)


def twin_unbeaten(of: FloatArray) -> list[bool]:
    """Higher is better everywhere: nobody is as good on all and better on one."""
    n = len(of)
    return [
        not any(
            all(of[j][a] >= of[i][a] for a in range(of.shape[1]))
            and any(of[j][a] > of[i][a] for a in range(of.shape[1]))
            for j in range(n)
        )
        for i in range(n)
    ]


@given(SMALL)
@settings(max_examples=80)
def test_shares_are_those_of_the_twin(values: FloatArray) -> None:
    found = frontier(values, ["higher"] * values.shape[2])
    shares = np.mean([twin_unbeaten(draw) for draw in values], axis=0)
    assert found.share_unbeaten == pytest.approx(shares)
    assert found.unbeaten.any(), "something is always unbeaten"
    assert np.all(np.diag(found.share_beaten_by) == 0)
    assert np.all(found.share_beaten_by + found.share_beaten_by.T <= 1)


@given(SMALL, st.floats(0.1, 10))
@settings(max_examples=40)
def test_no_unit_and_no_scale_of_an_aim_matters(values: FloatArray, factor: float) -> None:
    better = ["higher"] * values.shape[2]
    stretched = values.copy()
    stretched[..., 0] = np.exp(factor * stretched[..., 0])  # any rising function: there is nothing to weigh with
    one, other = frontier(values, better), frontier(stretched, better)
    assert one.share_unbeaten.tolist() == other.share_unbeaten.tolist()


@given(SMALL)
@settings(max_examples=40)
def test_lower_is_higher_of_the_negative(values: FloatArray) -> None:
    up, down = frontier(values, ["higher"] * values.shape[2]), frontier(-values, ["lower"] * values.shape[2])
    assert up.share_beaten_by.tolist() == down.share_beaten_by.tolist()
    assert up.unbeaten.tolist() == down.unbeaten.tolist()


def test_growth_against_cost() -> None:
    """Dear and fast, cheap and slow, dear and slow: only the last is beaten, by both."""
    values = np.array([[[4.0, 9.0], [2.0, 3.0], [2.0, 9.0]]])
    found = frontier(values, ["higher", "lower"])
    assert found.unbeaten.tolist() == [True, True, False]
    assert found.share_beaten_by[2].tolist() == [1.0, 1.0, 0.0]
    assert found.middle.tolist() == values[0].tolist()


def test_doubt_is_shown_as_a_share() -> None:
    rng = np.random.default_rng(4)
    growth = rng.normal([4.0, 3.9], 1.0, (4000, 2))
    cost = np.broadcast_to([2.0, 1.0], (4000, 2))
    found = frontier(np.stack([growth, cost], axis=2), ["higher", "lower"])
    assert found.unbeaten.tolist() == [True, True]
    assert found.share_unbeaten[1] == 1.0
    assert found.share_unbeaten[0] == pytest.approx(0.528, abs=0.025)  # P(N(0.1, sqrt 2) > 0)


def test_equal_regimes_do_not_beat_one_another() -> None:
    assert frontier(np.ones((1, 3, 2)), ["higher", "lower"]).unbeaten.all()


def test_what_cannot_be_compared_is_refused() -> None:
    for values, better, said in (
        (np.ones((2, 2)), ["higher"], "draws, regimes, aims"),
        (np.ones((2, 0, 1)), ["higher"], "none of them 0"),
        (np.ones((1, 2, 2)), ["higher"], "2 aims needs higher or lower; 1"),
        (np.ones((1, 2, 1)), ["more"], "'more'"),
        (np.full((1, 2, 1), np.nan), ["higher"], "missing"),
    ):
        with pytest.raises(FrontierError, match=said):
            frontier(values, better)  # type: ignore[arg-type]
