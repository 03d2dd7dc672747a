"""The OECD formulas hang together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.oecd import average_specific_growth_rate, doubling_time_days, inhibition_percent, yield_of

SIZE = st.floats(0.1, 1e4)


@given(start=SIZE, factor=st.floats(1.01, 100), days=st.floats(0.5, 100))
def test_doubling_time_doubles(start: float, factor: float, days: float) -> None:
    rate = average_specific_growth_rate(size_start=start, size_end=start * factor, days=days)
    assert 2 ** (days / doubling_time_days(rate)) == pytest.approx(factor, rel=1e-9)


def test_yield_and_inhibition() -> None:
    assert yield_of(size_start=12, size_end=176) == 164
    assert inhibition_percent(control=0.4, treated=0.1) == pytest.approx(75)
    assert inhibition_percent(control=0.4, treated=0.5) == pytest.approx(-25)
