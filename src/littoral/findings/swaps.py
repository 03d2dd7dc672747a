"""A crossover: tanks whose regimes were swapped between periods, and whether it was long enough to be read as one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from littoral.stats.crossover import WASHOUT_HALF_LIVES
from littoral.trial.design import FEWEST_PERIODS


@dataclass(frozen=True, slots=True)
class Swaps:
    """How the regimes were swapped: number of periods, washout before each in half-lives of what was dosed, order.

    The order is "alternating", "drawn" by lot, "mixed" otherwise, or in "blocks": all periods one way, then all the
    other way; drift over the periods may have been estimated and removed (`trend_removed`), which mends blocks. The
    half-lives are NaN where nobody said how long it lingers.
    """

    periods: int
    washout_half_lives: float
    order: Literal["alternating", "drawn", "mixed", "blocks"]
    trend_removed: bool = False

    @property
    def carries_over(self) -> str:
        """What leaves traces of the former regime in each period, in a few words; "" where a washout took them."""
        if math.isnan(self.washout_half_lives):
            return "how long what was given lingers is not known (write `half_life` into the design)"
        if not self.washout_half_lives >= WASHOUT_HALF_LIVES:
            return f"the washout was shorter than {WASHOUT_HALF_LIVES:g} half-lives"
        return ""

    @property
    def why_too_short(self) -> str:
        """What keeps the crossover from being read as one, in a few words; "" where nothing does."""
        if self.periods < FEWEST_PERIODS:
            return f"{self.periods} periods are fewer than {FEWEST_PERIODS}"
        if self.carries_over:
            return self.carries_over
        if self.order == "blocks" and not self.trend_removed:
            return "the regimes came in one block each, not in alternating or drawn order"
        return ""
