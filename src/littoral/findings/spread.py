"""The spread between tanks kept alike that a question is judged by, and where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from littoral.findings.rules import assumed_spread
from littoral.findings.showing import percent
from littoral.quantities.counting import counted
from littoral.trial.model import Trial


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


def spread_for(trial: Trial, measure: str, seen: Mapping[str, Spread]) -> Spread | None:
    """Return the spread to use: what was seen; else as the trial's design says, else assumed; None without ratios.

    Where a larger one was written into the design beforehand, that one stays.
    """
    assumed = assumed_spread(trial, measure)
    if assumed is None:
        return None
    written = trial.plan.spread
    found = seen.get(measure)
    if found is not None and (written is None or written < found.share):
        return found
    return Spread(assumed, "assumed" if written is None else "written")
