"""Several questions: what is called at a false share, beside Holm's levels."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.compare import holm_levels
from littoral.stats.several_questions import false_discovery


def holm_adjusted(p_values: list[float]) -> list[float]:
    """Holm 1979 by hand: the k-th smallest of m times m - k + 1, and none below one that is smaller."""
    order = sorted(p_values)
    raised = [min(1.0, p * (len(order) - k)) for k, p in enumerate(order)]
    return [max(raised[: order.index(p) + p_values[: i + 1].count(p)]) for i, p in enumerate(p_values)]


p_values = st.lists(st.floats(0, 1), min_size=1, max_size=8)


@given(p_values)
def test_what_holm_adjusts_and_what_holm_levels_call_is_one(some: list[float]) -> None:
    by_level = [p < level for p, level in zip(some, holm_levels(some), strict=True)]
    assert by_level == [one < 0.05 for one in holm_adjusted(some)] or np.any(np.isclose(holm_adjusted(some), 0.05))


@given(p_values)
def test_false_discovery_is_the_step_up_by_hand(some: list[float]) -> None:
    order = sorted(some)
    passing = [p for rank, p in enumerate(order, 1) if p <= 0.05 * rank / len(order)]
    highest = max(passing, default=-1.0)
    found = false_discovery(some)
    if not np.any(np.isclose(found.adjusted, 0.05)):
        assert list(found.called) == [p <= highest for p in some]
    assert all(a >= p - 1e-12 for a, p in zip(found.adjusted, some, strict=True))
    assert all(a <= b + 1e-12 for a, b in zip(found.adjusted, holm_adjusted(some), strict=True))


def test_eight_questions_call_four_tenths_of_one_by_luck() -> None:
    assert false_discovery([0.5] * 8).by_luck == pytest.approx(0.4)
    assert false_discovery([]).called == ()
    with pytest.raises(ValueError, match="between 0 and 1"):
        false_discovery([1.5])
