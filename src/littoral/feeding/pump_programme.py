"""A regime as the table that is typed into an automatic dosing pump."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.feeding.regimes import Regime, RegimeError, when_words
from littoral.quantities.check_row import CheckRow

MINUTES_PER_DAY = 1440
GAP_MINUTES = 30
"""Between two bottles on one day, so that one is mixed in before the next comes; common practice, no source."""


@dataclass(frozen=True, slots=True)
class PumpRow:
    """One line: `channel` (from 1) doses `ml` of `bottle` at `at_minute` of the day, for `seconds` at the pump's flow.

    `when` says on which days; `seconds` is None where the channel's flow is unknown. `check` says whether the pump can
    give so little.
    """

    channel: int
    bottle: str
    when: str
    at_minute: int
    ml: float
    seconds: float | None
    check: CheckRow

    @property
    def clock(self) -> str:
        """The time of day, such as "09:30"."""
        return f"{self.at_minute // 60:02d}:{self.at_minute % 60:02d}"


def pump_programme(
    regime: Regime,
    *,
    flow_ml_per_min: Mapping[str, float] | None = None,
    least_ml: float = 0.5,
    first_at_minute: int = 540,
    gap_minutes: int = GAP_MINUTES,
) -> tuple[PumpRow, ...]:
    """Return a line per dose: one channel per bottle in the order of the regime, each bottle at a time of its own.

    `flow_ml_per_min` is measured per bottle's channel; `least_ml` is the smallest dose that the pump gives well. A pump
    doses on its days whether or not the water was changed, and empties a bottle if a valve sticks: fill no more than
    the tank could bear at once. Raises RegimeError: dry salts, a flow not above zero, times beyond midnight.
    """
    keys = list(dict.fromkeys(dose.of for dose in regime.doses))
    last = first_at_minute + gap_minutes * max(len(keys) - 1, 0)
    if not (first_at_minute >= 0 and gap_minutes >= 0 and last < MINUTES_PER_DAY):
        what = f"doses from minute {first_at_minute}, {gap_minutes} apart"
        raise RegimeError(what=what, right="Give minutes of the day so that all fall before midnight.")
    if not (math.isfinite(least_ml) and least_ml >= 0):
        raise RegimeError(what=f"a smallest dose of {least_ml:g} mL", right="Give mL of zero or more.")
    rows = []
    for dose in regime.doses:
        if dose.ml is None:
            raise RegimeError(what=f"{dose.of} is dosed dry", right="A pump gives liquids: make a stock of it.")
        flow = (flow_ml_per_min or {}).get(dose.of)
        if flow is not None and not (math.isfinite(flow) and flow > 0):
            raise RegimeError(what=f"a flow of {flow:g} mL/min for {dose.of}", right="Measure it; it is above zero.")
        channel = keys.index(dose.of) + 1
        holds = dose.ml >= least_ml
        comment = (
            "the pump can give this" if holds else "too little for this pump: dilute the stock, or dose less often"
        )
        check = CheckRow(
            f"{dose.of} on the pump", dose.ml, ">=", least_ml, "mL", "holds" if holds else "fails", comment,
            "the pump's smallest dose, as stated",
        )  # fmt: skip
        at = first_at_minute + gap_minutes * (channel - 1)
        seconds = None if flow is None else dose.ml / flow * 60.0
        rows.append(PumpRow(channel, dose.of, when_words(dose), at, dose.ml, seconds, check))
    return tuple(sorted(rows, key=lambda row: (row.channel, row.when)))
