"""Growth and inhibition as OECD test guidelines 201, 221 and 239 define them (also EU 761/2009, Annexes V and VI)."""

from __future__ import annotations

import math


def average_specific_growth_rate(*, size_start: float, size_end: float, days: float) -> float:
    """Return mu (1/day) between two sizes above 0 (one unit) `days` apart; OECD 221: (ln N_j - ln N_i)/(t_j - t_i)."""
    return (math.log(size_end) - math.log(size_start)) / days


def doubling_time_days(rate_per_day: float) -> float:
    """Return the doubling time (days) of a growth rate (1/day) above 0; OECD 221: Td = ln 2 / mu."""
    return math.log(2) / rate_per_day


def yield_of(*, size_start: float, size_end: float) -> float:
    """Return the yield, in the unit of the sizes; OECD 221: N_t - N_0."""
    return size_end - size_start


def inhibition_percent(*, control: float, treated: float) -> float:
    """Return the inhibition (%) of a growth rate or a yield against the control's, same unit; OECD 221."""
    return (control - treated) / control * 100
