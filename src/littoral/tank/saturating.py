"""Saturating uptake with a constant inflow over one step, in closed form, for arrays of any common shape.

The mass m of a nutrient obeys dm/ds = i - a m / (h + m), s from 0 to 1: `i` is the inflow and `a` the uptake when
saturated, both in mg over the step, `h` the mass at which uptake is half of that.

Inflow below the uptake and m above where both balance (no inflow is the common case): with d = a - i, rest = i h / d,
u = m - rest and h' = h + rest it is the equation without inflow, whose solution is Lambert's W (Schnell & Mendoza 1997,
J. Theor. Biol. 187:207-212; with inflow, the same after the shift): u = h' W(u0/h' exp((u0 - d)/h')). W of an
exponential is Wright's omega, which does not overflow.

Otherwise (m below the balance; inflow equal to the uptake; or above it) the same solution needs W near its branch
point, where it loses half of its digits. There time is written in t, dt = ds / (h + m), in which m is linear:
m = m0 + g t phi(d t), and 1 = (h + m0) t + g t² psi(d t), with g = i h - d m0, phi(x) = (1 - exp(-x))/x and
psi(x) = (1 - phi(x))/x: smooth through d = 0, convex in t and concave in its logarithm, so that Newton's iteration
goes to the last digit from one side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import wrightomega

from littoral.tank.events import FloatArray

_SMALL, _TERMS = 0.1, 9  # below it phi and psi are power series: their closed forms cancel
_SMALL_CHI, _TERMS_CHI = 0.5, 24
_MOST_ROUNDS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """Masses in mg at the end of a step, taken up in it, and the mean over it; all of one shape."""

    end_mg: FloatArray
    taken_up_mg: FloatArray
    mean_mg: FloatArray | None

    def rows(self, which: slice) -> Step:
        """Return some of its rows."""
        mean = None if self.mean_mg is None else self.mean_mg[which]
        return Step(self.end_mg[which], self.taken_up_mg[which], mean)


def saturating_step(
    start_mg: FloatArray, *, uptake_mg: FloatArray, half_mg: FloatArray, inflow_mg: FloatArray, mean: bool = False
) -> Step:
    """Solve one step; see the module's head. Arrays of shapes that broadcast, mg, zero or more; `half_mg` above zero.

    `mean_mg` is in time s, as asked by `mean`.
    """
    start, uptake, half, inflow = np.broadcast_arrays(start_mg, uptake_mg, half_mg, inflow_mg)
    if not inflow.any():
        end, average = _falling(start, uptake, half, mean)
        return Step(end, start - end, average)
    net = uptake - inflow
    drive = inflow * half - net * start
    rising = drive > 0
    # one of the two masks is often empty: then nothing is copied
    if rising.all():
        return _rising(start, uptake, half, drive, net, mean)
    steady = inflow * half / np.where(net > 0, net, 1.0)  # net is above zero, or nothing comes and nothing goes
    rest = np.where(rising, 0.0, steady)
    above, average = _falling(np.maximum(start - rest, 0.0), np.maximum(net, 0.0), half + rest, mean)
    end = rest + above
    taken = start - end + inflow
    if average is not None:
        average += rest
    if rising.any():
        at = np.flatnonzero(rising)
        start, uptake, half, drive, net = (np.take(one, at) for one in (start, uptake, half, drive, net))
        part = _rising(start, uptake, half, drive, net, mean)
        np.put(end, at, part.end_mg)
        np.put(taken, at, part.taken_up_mg)
        if average is not None and part.mean_mg is not None:
            np.put(average, at, part.mean_mg)
    return Step(end, taken, average)


def _falling(
    start: FloatArray, uptake: FloatArray, half: FloatArray, mean: bool
) -> tuple[FloatArray, FloatArray | None]:
    """Return mass at the end, and its mean, without inflow."""
    ratio = start / half
    with np.errstate(divide="ignore"):
        x = np.log(ratio)
    x += ratio
    x -= uptake / half
    end: FloatArray = wrightomega(x)
    end *= half
    np.minimum(end, start, out=end)
    if not mean:
        return end, None
    # exact: the integral of (half + m)/uptake over m; with next to no uptake it cancels, and a Hermite rule is exact
    fallen, slow = start - end, uptake < 1e-3 * (half + start)
    exact = fallen * (half + (start + end) / 2) / np.where(slow, 1.0, uptake)
    bend = uptake * (end / (half + end) - start / (half + start)) / 12
    return end, np.where(slow, (start + end) / 2 + bend, exact)


def _rising(
    start: FloatArray, uptake: FloatArray, half: FloatArray, drive: FloatArray, net: FloatArray, mean: bool
) -> Step:
    """Solve where the mass rises: see the module's head. `drive` is g, `net` is d."""
    scale = half + start
    g, c = drive / scale**2, net / scale
    growing = c < 0
    bent = c / 1.5  # psi taken as 1/(2 + x/1.5): right for small x, and never too far on where c is below zero
    t = 4.0 / (2.0 - bent + np.sqrt((2.0 + bent) ** 2 + 8.0 * g))
    for _ in range(_MOST_ROUNDS):
        phi, psi = _phi_psi(c * t)
        passed = t + g * t**2 * psi
        miss = passed - 1.0
        if growing.any():
            miss = np.where(growing, passed * np.log(passed), miss)
        move = miss / (1.0 + g * t * phi)
        t = t - move
        if np.all(np.abs(move) <= 2e-8 * t):  # the next would be about its square
            break
    x = c * t
    phi, psi = _phi_psi(x)
    risen = g * t * phi
    taken = uptake * (start / scale * t + g * t**2 * psi)
    average = None
    if mean:
        average = start * t + g * t**2 * psi * (scale + start) + scale * g**2 * t**3 * _chi(x, phi)
    return Step(start + scale * risen, taken, average)


def _phi_psi(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return phi and psi, exact to rounding for any x that does not overflow."""
    small = np.abs(x) < _SMALL
    safe = np.where(small, 1.0, x)
    phi = -np.expm1(-safe) / safe
    psi = (1.0 - phi) / safe
    if small.any():
        near = x[small]
        series = np.zeros_like(near)
        for n in range(_TERMS, 0, -1):  # psi = sum over n of (-x)^n / (n + 2)!
            series = (1.0 + series) * -near / (n + 2)
        psi[small] = (1.0 + series) / 2
        phi[small] = 1.0 - near * psi[small]
    return phi, psi


def _chi(x: FloatArray, phi: FloatArray) -> FloatArray:
    """Return the integral of (s phi(s x))² over s from 0 to 1: (1 - 2 phi(x) + phi(2x)) / x²."""
    small = np.abs(x) < _SMALL_CHI
    safe = np.where(small, 1.0, x)
    chi: FloatArray = (1.0 - 2.0 * phi + phi * (1.0 - safe * phi / 2.0)) / safe**2
    if small.any():  # sum over n of (-x)^n (2^(n+2) - 2) / (n + 3)!
        near, factorial = -x[small], 6.0
        series, power = np.zeros_like(near), np.ones_like(near)
        for n in range(_TERMS_CHI):
            series += power * ((2.0 ** (n + 2) - 2.0) / factorial)
            power *= near
            factorial *= n + 4
        chi[small] = series
    return chi
