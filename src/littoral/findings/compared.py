"""What comparing the arms gave for one question, before any word is chosen for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from littoral.findings.model import ArmValue, Part
from littoral.findings.swaps import Swaps
from littoral.findings.tank_values import TankSeries
from littoral.stats.estimate import Estimate
from littoral.stats.series import Series
from littoral.trial.model import Question


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """Second arm minus first arm in the measure's unit, after the regimes began; and what it was taken from.

    `effect` is an estimate, or exact (scale 0) for an account; None where `missing` says what is missing. `before` and
    `change` are there where a baseline was measured. `camera_term` is the smallest difference that photos may claim;
    `absolute` is False where only a change may be claimed of them at all. `photos` and `entries` are entry ids;
    `disturbed` says by entry id what else weakens the comparison. `paired` says that the arms' tanks stand in pairs,
    which `tanks_per_arm` counts; `swaps` that the regimes were swapped between periods. `tanks` are the series
    of each arm's tanks, first arm first, where the numbers come from photos.
    """

    question: Question
    unit: str
    arms: tuple[ArmValue, ...] = ()
    effect: Estimate | None = None
    before: Estimate | None = None
    change: Estimate | None = None
    tanks_per_arm: int = 1
    account: bool = False
    camera_term: float | None = None
    absolute: bool = True
    days: tuple[float, ...] = ()
    photos: tuple[str, ...] = ()
    entries: tuple[str, ...] = ()
    series: Mapping[str, Series] = field(default_factory=dict)
    parts: tuple[Part, ...] = ()
    paired: bool = False
    swaps: Swaps | None = None
    disturbed: Mapping[str, str] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    tanks: tuple[tuple[TankSeries, ...], ...] = ()
    method: str = ""
    detail: str = ""
    missing: str = ""

    @property
    def tested(self) -> Estimate | None:
        """The number that decides: the difference, or its change where cameras allow no more; None where none does."""
        return self.effect if self.absolute else self.change
