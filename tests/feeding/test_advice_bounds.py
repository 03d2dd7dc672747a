"""Bounds drawn closer, against every point of small programmes: none that is no dearer may be lost."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint

from littoral.feeding.advice_bounds import Programme, within

MOST = 4
SMALL = st.integers(-3, 5)


@st.composite
def programmes(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rows, their lower ends, and prices over three whole numbers from 0 to MOST."""
    rows = np.array(draw(st.lists(st.tuples(SMALL, SMALL, SMALL), min_size=1, max_size=3)), dtype=float)
    ends = np.array([draw(st.integers(0, 8)) for _ in rows], dtype=float)
    prices = np.array(draw(st.tuples(*[st.sampled_from([0.01, 0.02, 0.05, 0.13])] * 3)))
    return rows, ends, prices


def _every_point(rows: np.ndarray, ends: np.ndarray) -> np.ndarray:
    points = np.array(list(itertools.product(range(MOST + 1), repeat=3)), dtype=float)
    fitting: np.ndarray = points[(points @ rows.T >= ends).all(axis=1)]
    return fitting


@settings(max_examples=60, deadline=None)
@given(programmes(), st.data())
def test_no_point_that_is_no_dearer_is_lost(
    asked: tuple[np.ndarray, np.ndarray, np.ndarray], data: st.DataObject
) -> None:
    rows, ends, prices = asked
    fitting = _every_point(rows, ends)
    if not fitting.size:
        return
    known = fitting[data.draw(st.integers(0, len(fitting) - 1))]
    programme = Programme(
        prices, [LinearConstraint(rows, ends, np.inf)], np.ones(3), np.zeros(3), np.full(3, float(MOST))
    )
    closer = within(programme, price=float(prices @ known), totals=slice(0, 1), steps=slice(1, 3))
    kept = fitting[fitting @ prices <= prices @ known + 1e-12]
    assert (kept >= closer.lower).all()
    assert (kept <= closer.upper).all()
    assert (programme.lower == 0).all()  # what was given is left as it was


def test_bounds_by_hand() -> None:
    # 2 a + b at least 6, a for 0.05 and b for 0.02; a = 3 for 0.15 is known, so b is at most 7 and a at least 0
    programme = Programme(
        np.array([0.05, 0.02]), [LinearConstraint(np.array([[2.0, 1.0]]), 6.0, np.inf)], np.ones(2), np.zeros(2),
        np.full(2, 20.0),
    )  # fmt: skip
    closer = within(programme, price=0.15, totals=slice(0, 2), steps=slice(0, 0))
    assert closer.upper.tolist() == [3.0, 7.0]
    assert closer.lower.tolist() == [0.0, 0.0]
