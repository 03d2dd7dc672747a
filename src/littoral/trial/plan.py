"""How a trial is laid out beyond its arms: swaps of the regimes by period, pairs of tanks, rules set beforehand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.errors import LittoralError

PlanKind = Literal["parallel", "crossover", "pairs"]
OrderMade = Literal["written", "alternating", "drawn by lot"]


class OrderError(LittoralError):
    """A number of periods that no order can be drawn for."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The table [design] of a trial file; without one a trial is parallel.

    In a crossover `swapped` says for each period whether the first two arms have exchanged their regimes; each period
    lasts `period_days`, the first `washout_days` of which are left out of every comparison. `half_life_days` is how
    long what the regimes differ in takes to fall by half where somebody wrote it down. `pairs` names a tank of the
    first arm, then one of the second. `looks_days` are days since day 0 on which results are looked at before the end.
    `spread` is the assumed coefficient of variation between tanks kept alike, a share. `blocks` are tanks that share a
    place or light, by name. `start_drawn_from` are the days since day 0 on which the regimes might have begun, one of
    which was drawn (with `start_seed` where the draw can be repeated); none where the day was chosen.
    """

    kind: PlanKind = "parallel"
    period_days: float = 0.0
    washout_days: float = 0.0
    swapped: tuple[bool, ...] = ()
    order: OrderMade = "written"
    order_seed: int | None = None
    half_life_days: float | None = None
    pairs: tuple[tuple[str, str], ...] = ()
    paired_by: str = ""
    looks_days: tuple[float, ...] = ()
    stopping: str = ""
    trimming: str = ""
    spread: float | None = None
    blocks: tuple[tuple[str, tuple[str, ...]], ...] = ()
    blocked_by: str = ""
    start_drawn_from: tuple[float, ...] = ()
    start_seed: int | None = None


PARALLEL = Plan()
"""The arms run side by side to the end."""


def alternating(periods: int) -> tuple[bool, ...]:
    """Return the order in which the arms exchange their regimes at each period, the first one as the arms say."""
    return tuple(place % 2 == 1 for place in range(periods))


def draw_order(periods: int, *, seed: int) -> tuple[bool, ...]:
    """Draw by lot which of each two neighbouring periods is swapped, so that either regime comes once in each two.

    The number of periods is even, at least 2: OrderError otherwise. The same seed gives the same order.
    """
    if periods < 2 or periods % 2:
        raise OrderError(f"An order is drawn for 2, 4, 6 … periods, not {periods}.")
    firsts = np.random.default_rng(seed).integers(0, 2, periods // 2)
    return tuple(bool(one) for first in firsts for one in (first, 1 - first))


def draw_start(could_be: tuple[float, ...], *, seed: int) -> float:
    """Draw by lot the day on which the regimes begin, days since day 0; the same seed gives the same day.

    Days are drawn in ascending order of `could_be`; OrderError below two of them.
    """
    if len(could_be) < 2:
        raise OrderError(f"A start is drawn from 2 or more days, not {len(could_be)}.")
    return float(sorted(could_be)[int(np.random.default_rng(seed).integers(0, len(could_be)))])
