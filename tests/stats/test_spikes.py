"""A spike is one value that both sides contradict; a trim, fast growth and noise are none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.series import Series
from littoral.stats.spikes import spikes


def sizes(rate: float, *, trim: int | None = None, left: float = 0.5, noise: float = 0.0, seed: int = 0) -> Series:
    """Return 40 daily sizes that grow by `rate` a day, cut to `left` at the place `trim`."""
    day = np.arange(40, dtype=float)
    log = rate * day + noise * np.random.default_rng(seed).standard_normal(40)
    if trim is not None:
        log[trim:] += np.log(left)
    return Series("stand", "cm", "level", day, np.exp(log))


@pytest.mark.parametrize("factor", [2.0, 1.5, 0.5])
def test_a_value_that_is_gone_with_the_next_is_a_spike(factor: float) -> None:
    series = sizes(0.03, noise=0.02)
    series.value[17] *= factor
    assert spikes(series) == (17,)


@given(
    trim=st.integers(0, 39),
    left=st.floats(0.1, 0.9),
    rate=st.floats(0.0, 0.2),
    noise=st.floats(0.0, 0.04),
    seed=st.integers(0, 50),
)
def test_a_trim_is_never_one(trim: int, left: float, rate: float, noise: float, seed: int) -> None:
    assert spikes(sizes(rate, trim=trim, left=left, noise=noise, seed=seed)) == ()


@given(first=st.integers(2, 36), gap=st.integers(1, 5), left=st.floats(0.2, 0.8))
def test_nor_are_two_trims_soon_after_each_other(first: int, gap: int, left: float) -> None:
    series = sizes(0.03, trim=first, left=left, noise=0.01)
    series.value[first + gap :] *= left
    assert spikes(series) == ()


def test_the_ends_and_short_series_have_none() -> None:
    series = sizes(0.03)
    series.value[[0, 1, 38, 39]] *= 2
    assert not {0, 1, 38, 39} & set(spikes(series))
    assert spikes(Series("stand", "cm", "level", np.arange(5.0), np.array([1.0, 1.0, 9.0, 1.0, 1.0]))) == ()
