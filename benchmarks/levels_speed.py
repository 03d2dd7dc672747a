"""Rows of `make bench` about levels of many draws: twelve weeks, three doses a week, against SciPy's integrator.

The integrator is asked for 1e-10 where we have a closed form, which is closer still, and for 1e-8 where we go in steps
whose bound is 0.05 mg/L. Saturating uptake alone is promised; the rest is printed as what it is.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, row

from littoral.tank.course import Course, prepare
from littoral.tank.events import TankEvent
from littoral.tank.kinetics import Kinetics, MichaelisMenten
from littoral.tank.levels import levels

DRAWS, DAYS, NET_L, SOURCE = 10_000, 84, 50.0, 5.0
AT = np.arange(float(DAYS))
FASTER = 1000.0
Paired = Callable[..., tuple[float, float]]


def one_integrated_draw() -> np.ndarray:
    """Return the levels of one draw by SciPy's integrator: what other rows are measured by."""
    uptake = MichaelisMenten(np.full(DRAWS, 1.6), np.full(DRAWS, 2.0))
    return _integrated(prepare(_events(), net_volume_l=NET_L), Kinetics(uptake, SOURCE, SOURCE), 0, 1e-10)


def _events() -> list[TankEvent]:
    events = [TankEvent(7.0 * week + day + 0.8, np.array([100.0])) for week in range(12) for day in (0, 2, 4)]
    return events + [TankEvent(7.0 * week + 6.5, share_changed=0.4) for week in range(12)]


def draws_rows(paired: Paired) -> list[Row]:
    """Levels of 10,000 draws on 84 days: saturating uptake, release too, and all that has no closed form."""
    rng = np.random.default_rng(1)
    v, k, release = rng.lognormal(0.5, 0.5, DRAWS), rng.lognormal(0.7, 0.7, DRAWS), rng.lognormal(-0.7, 0.5, DRAWS)
    fade = rng.uniform(15.0, 60.0, DRAWS)
    events = _events()
    still = prepare(events, net_volume_l=NET_L)
    grown = 0.5 + AT[::7] / 60
    real = prepare(events, net_volume_l=NET_L, evaporation_l_per_day=0.3, biomass_day=AT[::7], biomass=grown)
    uptake = MichaelisMenten(v, k)
    cases = {
        "saturating uptake": (still, Kinetics(uptake, SOURCE, SOURCE)),
        "saturating uptake and release": (still, Kinetics(uptake, SOURCE, SOURCE, release)),
        "the same, fading, with evaporation and growth": (real, Kinetics(uptake, SOURCE, SOURCE, release, fade)),
    }
    first, *_, last = cases
    return [
        _row(paired, name, *case, tolerance=1e-8 if name == last else 1e-10, aim=name != first)
        for name, case in cases.items()
    ]


def _row(paired: Paired, name: str, course: Course, kinetics: Kinetics, *, tolerance: float, aim: bool) -> Row:
    found = levels(course, kinetics, AT)
    median = int(np.argsort(found.mean(axis=1))[DRAWS // 2])
    np.testing.assert_allclose(
        found[median], _integrated(course, kinetics, median, tolerance), atol=0.05 if tolerance == 1e-8 else 1e-6
    )
    mine, one_draw = paired(
        lambda: levels(course, kinetics, AT), lambda: _integrated(course, kinetics, median, tolerance), rounds=3
    )
    ratio = one_draw * DRAWS / mine
    return row(
        f"levels of {DRAWS:,} draws, {DAYS} days, {name}", mine, "s",
        reference=f"scipy.integrate.solve_ivp, rtol and atol {tolerance:g}, one draw {one_draw:.4g} s, times {DRAWS:,}",
        limit=f"at least {FASTER:g} times faster: {ratio:.0f}", holds=ratio >= FASTER, source="timed in this run",
        ratio=1.0 / ratio, aim=aim,
    )  # fmt: skip


def _integrated(course: Course, kinetics: Kinetics, draw: int, tolerance: float) -> np.ndarray:
    """One draw's levels (n_days,), from event to event, by SciPy's integrator."""
    from scipy.integrate import solve_ivp

    uptake = kinetics.uptake
    assert isinstance(uptake, MichaelisMenten)
    v, k = float(uptake.v_mg_per_l_per_day[draw]), float(uptake.k_mg_per_l[draw])
    size = np.ones(DRAWS)
    release, fade = (
        float((np.asarray(value) * size)[draw])
        for value in (kinetics.release_mg_per_l_per_day, kinetics.release_fade_days)
    )
    loss, biomass = course.evaporation_l_per_day, course.biomass

    def slope(day: float, state: np.ndarray) -> tuple[float, float]:
        plants = 1.0 if biomass is None else float(np.interp(day, biomass.day, biomass.value))
        level = state[0] / state[1]
        return NET_L * (release * np.exp(-day / fade) - v * plants * level / (k + level)), -loss

    state, found = np.array([SOURCE * NET_L, NET_L]), np.empty(len(AT))
    for i, start in enumerate(course.day):
        end = course.day[i + 1] if i + 1 < len(course.day) else AT[-1]
        if i:
            if course.share[i] > 0:
                state[0] += (SOURCE * NET_L - state[0]) * course.share[i]
                state[1] = NET_L
            state[0] += course.dose_mg[i]
        inside = np.flatnonzero((start <= AT) & ((end > AT) | (AT[-1] == AT)) & (end >= AT))
        if end > start:
            at = np.unique(np.append(AT[inside], end))
            path = solve_ivp(slope, (start, end), state, "RK45", at, rtol=tolerance, atol=tolerance)
            found[inside] = (path.y[0] / path.y[1])[np.searchsorted(at, AT[inside])]
            state = path.y[:, -1].copy()
    return found
