"""How long a plant takes to be as high again as before it was trimmed; it may be trimmed again before that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.stats.series import Series
from littoral.stats.trims import LEAST_DROP, placed


@dataclass(frozen=True, slots=True)
class Regrowth:
    """What followed one trim: the size `before` it (the series' unit), and `days` until it was back.

    Where it did not come back before the next trim or the last value, `back` is False and `days` is how long it was
    watched: a censored time.
    """

    trim_day: float
    before: float
    days: float
    back: bool


def regrowths(
    series: Series, trims: Sequence[float], *, from_day: float = 0.0
) -> tuple[tuple[Regrowth, ...], tuple[float, ...]]:
    """Return what followed each trim (day) from `from_day` on in a series of sizes, and the trims that took too little.

    The size before is the last value before the fall; it is back where the straight line between two values first
    reaches it. A trim on the same half day as a photo is set where the size fell (`stats.trims.placed`). A fall of less
    than `LEAST_DROP` in the logarithm (about 14 %) says nothing of regrowth. Trims outside the values are left out.
    """
    day, size = series.day, series.value
    cuts: dict[int, float] = {}  # first value after the cut: the day of the cut
    for trim in sorted(trims):
        for middle in placed(series, (trim,)):
            after = int(np.searchsorted(day, middle, side="left"))
            cuts[after] = trim if day[after - 1] <= trim <= day[after] else middle
    firsts = sorted(cuts)
    found: list[Regrowth] = []
    small: list[float] = []
    for place, first in enumerate(firsts):
        at, before = cuts[first], float(size[first - 1])
        if at < from_day:
            continue
        if not size[first] > 0 or np.log(before / size[first]) < LEAST_DROP:
            small.append(at)
            continue
        stop = firsts[place + 1] if place + 1 < len(firsts) else day.size
        again = first + np.flatnonzero(size[first:stop] >= before)
        if not again.size:
            found.append(Regrowth(at, before, float(day[stop - 1]) - at, False))
            continue
        j = int(again[0])
        share = (before - size[j - 1]) / (size[j] - size[j - 1])
        found.append(Regrowth(at, before, float(day[j - 1] + share * (day[j] - day[j - 1])) - at, True))
    return tuple(found), tuple(small)
