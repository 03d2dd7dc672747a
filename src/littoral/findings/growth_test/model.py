"""What a growth test is and what comes of it: vessels counted, measured or weighed on some days, and doses compared.

A vessel is the unit: what grows in one vessel shares its water, so neither fronds nor days are counted as replicates.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.quantities.check_row import CheckRow
from littoral.stats.many_to_one import Normality, Side
from littoral.stats.series import FloatArray

Kind = Literal["count", "length", "fresh mass", "dry mass", "area", "biomass"]
Guideline = Literal["221", "239", ""]
Rule = Literal["no test", "test not valid", "cannot tell", "these vessels differ", "effect of the dose"]


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured of a vessel: the name of its column, what kind of size it is, and its unit ("" for counts)."""

    name: str
    kind: Kind
    unit: str


@dataclass(frozen=True, slots=True, eq=False)
class Sizes:
    """The sizes of one vessel: `day` (n,) ascending, `size` (n,) of 0 or more, the first one above 0."""

    day: FloatArray
    size: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Vessel:
    """One vessel: its name, the group it belongs to, and its sizes by the name of what was measured."""

    name: str
    group: str
    sizes: Mapping[str, Sizes]


@dataclass(frozen=True, slots=True)
class Group:
    """One dose or treatment; `amount` is the dose in the test's unit, None where it has a name only."""

    name: str
    amount: float | None


@dataclass(frozen=True, slots=True, eq=False)
class GrowthTable:
    """A whole test. `groups` begin with the control, the others ascend by dose or stand as they came.

    `ordered` says that every group but perhaps the control has an amount. `unit` is that of the doses.
    """

    groups: tuple[Group, ...]
    vessels: tuple[Vessel, ...]
    measured: tuple[Measured, ...]
    unit: str = ""
    remarks: tuple[str, ...] = ()

    @property
    def ordered(self) -> bool:
        """Whether the doses have an order."""
        return len(self.groups) > 1 and all(group.amount is not None for group in self.groups[1:])


@dataclass(frozen=True, slots=True)
class Section:
    """Growth between two days that follow each other; `rate` (1/day) is None where nothing was left."""

    from_day: float
    to_day: float
    rate: float | None


@dataclass(frozen=True, slots=True)
class VesselGrowth:
    """What one vessel did: sizes at start and end, average specific growth rate (1/day), yield, doubling time (days).

    `rate` is None where nothing was left at the end, `doubling_days` where nothing grew.
    """

    vessel: str
    group: str
    start: float
    end: float
    rate: float | None
    grown: float
    doubling_days: float | None
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class Versus:
    """One dose against the control, in one number of each vessel. `low` to `high` hold together at 95 % (Dunnett).

    `inhibition_percent` is None where the control's mean is not above 0. Test results are None where there was no test.
    `williams_called` is None where that test was not asked for.
    """

    group: str
    vessels: int
    mean: float | None
    spread: float | None
    inhibition_percent: float | None
    difference: float | None
    low: float | None
    high: float | None
    t: float | None
    p_value: float | None
    williams_t: float | None
    williams_critical: float | None
    williams_p: float | None
    williams_called: bool | None
    rule: Rule
    wording: str

    @property
    def reach(self) -> float | None:
        """How far the interval reaches from the difference to an end that it has; None where there was no test."""
        if self.difference is None:
            return None
        if self.high is not None:
            return self.high - self.difference
        return None if self.low is None else self.difference - self.low


@dataclass(frozen=True, slots=True)
class Compared:
    """One number ("growth rate" or "yield") of every vessel, doses against the control. `unit` is that number's.

    `control` has the control's own mean and spread. `why_not` says why there was no test, "" where there was one;
    `normality` of what is left about the groups' means is None where that could not be looked at.
    """

    of: str
    unit: str
    control: Versus
    doses: tuple[Versus, ...]
    df: int | None
    side: Side | None
    normality: Normality | None
    wording: str
    why_not: str


@dataclass(frozen=True, slots=True)
class MeasuredGrowth:
    """All that follows from one thing that was measured."""

    measured: Measured
    days: float
    vessels: tuple[VesselGrowth, ...]
    rate: Compared
    grown: Compared


@dataclass(frozen=True, slots=True, eq=False)
class GrowthTest:
    """The whole result. `validity` are the guideline's own criteria, none where no guideline fits the table.

    `lead` is the sum of it in a sentence or two, `rules` why no more is said, `sources` what was computed by which.
    """

    table: GrowthTable
    guideline: Guideline
    validity: tuple[CheckRow, ...]
    validity_words: str
    results: tuple[MeasuredGrowth, ...]
    lead: str
    rules: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def rendered(self) -> bool:
        """A table is no photo: nothing of it was drawn by our own code."""
        return False


def values_of(vessels: Sequence[VesselGrowth], group: str, of: str) -> FloatArray:
    """Return the growth rate (1/day) or yield of each vessel of a group, those that have one."""
    found = [one.rate if of == "growth rate" else one.grown for one in vessels if one.group == group]
    return np.array([one for one in found if one is not None], dtype=np.float64)
