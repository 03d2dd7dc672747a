"""From sizes to growth: each vessel's rates, yield and doubling time, and the guideline's criteria of validity."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from littoral.findings.growth_test.model import (
    GrowthTable,
    Guideline,
    Measured,
    Section,
    Sizes,
    Vessel,
    VesselGrowth,
)
from littoral.quantities.check_row import CheckRow
from littoral.stats.oecd import average_specific_growth_rate, doubling_time_days, yield_of
from littoral.stats.series import FloatArray
from littoral.stats.validity import oecd_221_validity, oecd_239_validity


def vessel_growth(vessel: Vessel, sizes: Sizes) -> VesselGrowth:
    """Return what one vessel did between its first and last day, and from each day to the next."""
    start, end = float(sizes.size[0]), float(sizes.size[-1])
    rate = _rate(start, end, float(sizes.day[-1] - sizes.day[0]))
    return VesselGrowth(
        vessel=vessel.name,
        group=vessel.group,
        start=start,
        end=end,
        rate=rate,
        grown=yield_of(size_start=start, size_end=end),
        doubling_days=None if rate is None or rate <= 0 else doubling_time_days(rate),
        sections=tuple(
            Section(float(a), float(b), _rate(float(x), float(y), float(b - a)))
            for (a, b), (x, y) in zip(pairwise(sizes.day), pairwise(sizes.size), strict=True)
        ),
    )


def _rate(start: float, end: float, days: float) -> float | None:
    """Return the rate between two sizes; None where one is 0, which has no logarithm."""
    if start <= 0 or end <= 0:
        return None
    return average_specific_growth_rate(size_start=start, size_end=end, days=days)


def guideline_for(measured: Sequence[Measured]) -> Guideline:
    """Return whose criteria fit what was measured: counts are duckweed's, length and fresh mass water-milfoil's."""
    kinds = {one.kind for one in measured}
    if "count" in kinds:
        return "221"
    return "239" if kinds & {"length", "fresh mass"} else ""


def validity(table: GrowthTable, guideline: Guideline) -> tuple[CheckRow, ...]:
    """Return the guideline's criteria for the control; none without a guideline, or where what it needs is missing."""
    control = [vessel for vessel in table.vessels if vessel.group == table.groups[0].name]
    by_kind = {one.kind: one.name for one in reversed(table.measured)}
    if guideline == "221" and "count" in by_kind:
        start, end, days = _ends(control, by_kind["count"])
        return oecd_221_validity(fronds_start=start, fronds_end=end, days=days)
    if guideline == "239" and len(control) > 1:  # of one vessel nobody can say how evenly the control grew
        length = _ends(control, by_kind["length"]) if "length" in by_kind else None
        weight = _ends(control, by_kind["fresh mass"]) if "fresh mass" in by_kind else None
        known = length or weight
        if known is None:
            return ()
        fewest = [sum(one.group == group.name for one in table.vessels) for group in table.groups[1:]]
        return oecd_239_validity(
            length_start=None if length is None else length[0],
            length_end=None if length is None else length[1],
            weight_start=None if weight is None else weight[0],
            weight_end=None if weight is None else weight[1],
            days=known[2],
            vessels_per_dose=min(fewest, default=None),
        )
    return ()


def _ends(vessels: Sequence[Vessel], name: str) -> tuple[FloatArray, FloatArray, float]:
    """Return the vessels' first and last sizes, each (n,), and the days between."""
    sizes = [vessel.sizes[name] for vessel in vessels if name in vessel.sizes]
    days = float(sizes[0].day[-1] - sizes[0].day[0])
    return np.array([one.size[0] for one in sizes]), np.array([one.size[-1] for one in sizes]), days
