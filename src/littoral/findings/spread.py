"""The spread between tanks kept alike that a question is judged by, and where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from littoral.findings.showing import percent
from littoral.quantities.counting import counted


@dataclass(frozen=True, slots=True)
class Spread:
    """The coefficient of variation between tanks kept alike that is used, a share; where it comes from.

    Of one that was seen: its 95 % interval, and from how many `comparisons` (its degrees of freedom) in `trials`.
    """

    share: float
    source: Literal["assumed", "written", "seen"]
    low: float | None = None
    high: float | None = None
    comparisons: int = 0
    trials: int = 0

    @property
    def df(self) -> int | None:
        """Degrees of freedom that the spread rests on; None where it is not estimated."""
        return self.comparisons if self.source == "seen" else None

    @property
    def said(self) -> str:
        """The spread in words, after "spread": "assumed 20 %", "seen on this bench in 4 trials: 12 % (8 to 26 %)"."""
        if self.source != "seen" or self.low is None or self.high is None:
            return f"assumed spread {percent(self.share)}"
        return (
            f"spread {percent(self.share)} ({percent(self.low)} to {percent(self.high)}), seen on this bench in "
            f"{counted(self.trials, 'trial')}"
        )


NOTHING_SEEN: Mapping[str, Spread] = MappingProxyType({})
"""Of a bench without trials enough, each measure's assumed spread is used."""
