"""Parts of the calibration of designs: a simulated trial in which nothing was done, days that hang together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from littoral.stats.estimate import Estimate
from littoral.stats.series import FloatArray

NOMINAL = 0.05


@dataclass(frozen=True, slots=True)
class Trial:
    """One simulated trial in which nothing was done: called?, did the interval hold the truth?, and the naive test."""

    called: bool
    covered: bool | None = None
    naive: bool | None = None


@dataclass(frozen=True, slots=True)
class Design:
    """A way to simulate a trial, and whether its rate is promised; where it is only aimed at, `note` says why."""

    name: str
    one: Callable[[np.random.Generator], Trial]
    share: float = 1.0
    promised: bool = True
    note: str = ""


def days_that_hang_together(rng: np.random.Generator, days: int, rho: float) -> FloatArray:
    """Return days of a first-order autoregression with correlation `rho` from day to day and spread 1."""
    from scipy.signal import lfilter

    noise = rng.normal(size=days) * np.sqrt(1 - rho**2)
    noise[0] /= np.sqrt(1 - rho**2)
    return np.asarray(lfilter([1.0], [1.0, -rho], noise), dtype=np.float64)


def judged(estimate: Estimate, naive: float | None = None, *, truth: float = 0.0) -> Trial:
    low, high = estimate.interval()
    called = estimate.p_zero() < NOMINAL
    return Trial(called, low <= truth <= high, None if naive is None else naive < NOMINAL)
