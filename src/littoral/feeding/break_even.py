"""When the dearer start becomes the cheaper choice."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.feeding.ranges import Range
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class BreakEven:
    """The first whole week by whose end the dearer start has cost no more in all; None: never.

    `earliest` and `latest` are the ends where numbers are uncertain; `latest` None: perhaps never. `words` says it.
    """

    week: int | None
    earliest: int | None
    latest: int | None
    words: str
    steps: tuple[Step, ...]


def break_even(
    *, dearer_start: Range, dearer_per_week: Range, cheaper_start: Range, cheaper_per_week: Range
) -> BreakEven:
    """Return the week from which a dearer start is the cheaper choice; money paid, wear not counted twice.

    Week = extra at the start / saved each week, rounded up. Prices in one currency. ValueError where the "dearer" start
    is not likely the dearer one.
    """
    if dearer_start.likely < cheaper_start.likely:
        raise ValueError("the dearer start must cost at least as much as the cheaper one: swap the two")
    extra = dearer_start.likely - cheaper_start.likely
    saved = cheaper_per_week.likely - dearer_per_week.likely
    likely = _weeks(extra, saved)
    earliest = _weeks(dearer_start.low - cheaper_start.high, cheaper_per_week.high - dearer_per_week.low)
    latest = _weeks(dearer_start.high - cheaper_start.low, cheaper_per_week.low - dearer_per_week.high)
    steps = (
        Step("extra at the start", f"{dearer_start.likely:.2f} - {cheaper_start.likely:.2f}", f"{extra:.2f}"),
        Step("saved each week", f"{cheaper_per_week.likely:.2f} - {dearer_per_week.likely:.2f}", f"{saved:.2f}"),
        Step("break-even", f"{extra:.2f} / {saved:.2f}, rounded up", "never" if likely is None else f"week {likely}"),
    )
    return BreakEven(likely, earliest, latest, _words(likely, earliest, latest), steps)


def _weeks(extra: float, saved: float) -> int | None:
    """What costs more each week is never the cheaper choice in the end, however it starts."""
    if saved < 0 or (saved == 0 and extra > 0):
        return None
    return 0 if extra <= 0 else math.ceil(extra / saved - 1e-9)


def _words(likely: int | None, earliest: int | None, latest: int | None) -> str:
    if likely is None:
        may = "" if earliest is None else f", at best in week {earliest}"
        return f"the dearer start does not pay for itself{may}"
    if earliest == latest == likely:
        return f"the dearer start has paid for itself by week {likely}"
    end = "perhaps never" if latest is None else f"at the latest week {latest}"
    return f"the dearer start has paid for itself by week {likely} (at the earliest week {earliest}, {end})"
