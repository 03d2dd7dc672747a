"""One step of saturating uptake against SciPy's integrator, and where it must become something simpler."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from littoral.tank.saturating import saturating_step

Array = NDArray[np.float64]

nothing_or_some = st.just(0.0) | st.floats(1e-3, 300.0)


def integrated(start: float, uptake: float, half: float, inflow: float) -> Array:
    """The twin: mass at the end, what was taken up, and the mean mass, by steps of SciPy's integrator."""

    def slope(_: float, state: Array) -> list[float]:
        taken = uptake * state[0] / (half + state[0])
        return [inflow - taken, taken, state[0]]

    path = solve_ivp(slope, (0.0, 1.0), [start, 0.0, 0.0], "Radau", rtol=1e-10, atol=1e-10)
    assert path.success
    return np.asarray(path.y[:, -1])


@settings(max_examples=60, deadline=None)
@given(nothing_or_some, nothing_or_some, st.floats(0.05, 300.0), nothing_or_some)
@example(0.0, 10.0, 2.0, 10.0)  # inflow equals the uptake, from nothing
@example(5.0, 10.0, 2.0, 10.0)
@example(5.0, 10.0, 2.0, 10.0 * (1 - 1e-12))  # and next to it on both sides, where Lambert's W loses its digits
@example(5.0, 10.0, 2.0, 10.0 * (1 + 1e-9))
@example(2.0, 10.0, 2.0, 5.0)  # in balance: nothing moves
@example(0.0, 0.0, 1.0, 3.0)
def test_as_the_integrator_says(start: float, uptake: float, half: float, inflow: float) -> None:
    step = saturating_step(
        np.array([start]), uptake_mg=np.array([uptake]), half_mg=np.array([half]), inflow_mg=np.array([inflow]),
        mean=True,
    )  # fmt: skip
    assert step.mean_mg is not None
    ours = np.array([step.end_mg[0], step.taken_up_mg[0], step.mean_mg[0]])
    np.testing.assert_allclose(ours, integrated(start, uptake, half, inflow), rtol=2e-8, atol=2e-8)


masses = st.lists(st.just(0.0) | st.floats(1e-6, 1e4), min_size=1, max_size=6).map(np.array)


@given(masses, masses, st.floats(1e-3, 1e4), masses)
def test_mass_is_conserved_and_nothing_is_below_zero(start: Array, uptake: Array, half: float, inflow: Array) -> None:
    start, uptake, inflow = start[:, None, None], uptake[None, :, None], inflow[None, None, :]
    step = saturating_step(start, uptake_mg=uptake, half_mg=np.array(half), inflow_mg=inflow)
    came = np.broadcast_to(start + inflow, step.end_mg.shape)
    np.testing.assert_allclose(step.end_mg + step.taken_up_mg, came, rtol=1e-12, atol=1e-15)
    assert (step.end_mg >= 0).all()
    assert (step.taken_up_mg >= -1e-12 * came).all()
    assert (step.taken_up_mg <= uptake + 1e-12 * came).all()


@given(masses, st.floats(1e-3, 1e3), masses, st.floats(0.01, 0.99))
def test_two_steps_are_one(start: Array, half: float, inflow: Array, part: float) -> None:
    start, uptake = start[:, None], np.array(50.0)
    half_mg = np.array(half)
    whole = saturating_step(start, uptake_mg=uptake, half_mg=half_mg, inflow_mg=inflow, mean=True)
    first = saturating_step(start, uptake_mg=uptake * part, half_mg=half_mg, inflow_mg=inflow * part, mean=True)
    rest = 1 - part
    second = saturating_step(first.end_mg, uptake_mg=uptake * rest, half_mg=half_mg, inflow_mg=inflow * rest, mean=True)
    np.testing.assert_allclose(second.end_mg, whole.end_mg, rtol=1e-9, atol=1e-10)
    assert first.mean_mg is not None
    assert second.mean_mg is not None
    np.testing.assert_allclose(part * first.mean_mg + rest * second.mean_mg, whole.mean_mg, rtol=1e-9, atol=1e-10)


def test_where_it_becomes_something_simpler() -> None:
    start = np.array([0.0, 3.0, 40.0])

    def after(uptake: float, half: float, inflow: float = 0.0) -> Array:
        step = saturating_step(start, uptake_mg=np.array(uptake), half_mg=np.array(half), inflow_mg=np.array(inflow))
        return step.end_mg

    np.testing.assert_allclose(after(0.0, 2.0), start, rtol=1e-15)
    np.testing.assert_allclose(after(0.0, 2.0, 7.0), start + 7.0, rtol=1e-14)
    # a half-saturation beyond all masses: first order, at uptake / half
    np.testing.assert_allclose(after(0.3e12, 1e12), start * np.exp(-0.3), rtol=1e-10)
    decayed = start * np.exp(-0.3) + 7.0 * -np.expm1(-0.3) / 0.3
    np.testing.assert_allclose(after(0.3e12, 1e12, 7.0), decayed, rtol=1e-10)
    # next to none: the same mass each day until there is none
    np.testing.assert_allclose(after(2.0, 1e-12), [0.0, 1.0, 38.0], atol=1e-9)
    np.testing.assert_allclose(after(2.0, 1e-12, 0.5), [0.0, 1.5, 38.5], atol=1e-9)
    # huge uptake leaves nothing, or what inflow and uptake balance at
    np.testing.assert_allclose(after(1e9, 2.0), 0.0, atol=1e-12)
    np.testing.assert_allclose(after(1e9, 2.0, 5.0), 5.0 * 2.0 / (1e9 - 5.0), rtol=1e-9)
    assert np.isfinite(after(1e-300, 1e-300)).all()


@pytest.mark.parametrize("inflow", [0.0, 4.0, 10.0, 30.0])
def test_the_mean_is_what_points_along_the_way_average_to(inflow: float) -> None:
    start, half = np.array([0.5, 30.0]), np.array(2.0)
    at, weights = np.polynomial.legendre.leggauss(60)
    s = (at[:, None] + 1) / 2
    along = saturating_step(start, uptake_mg=10.0 * s, half_mg=half, inflow_mg=inflow * s).end_mg
    whole = saturating_step(start, uptake_mg=np.array(10.0), half_mg=half, inflow_mg=np.array(inflow), mean=True)
    np.testing.assert_allclose(whole.mean_mg, weights @ along / 2, rtol=1e-12)
