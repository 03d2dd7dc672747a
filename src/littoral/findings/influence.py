"""Whether a finding rests on one day, stand, tank, pair or period: the deciding number again without each of them.

Every stand, tank, pair and period is left out in full. Of the days, each is left out roughly (`single_days`), and the
one that moves the number most, with all that come near to changing the claim, are then left out in full.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from littoral.findings.camera import Camera, camera_of
from littoral.findings.compared import Compared
from littoral.findings.crossed import crossed
from littoral.findings.influence_words import influence_text
from littoral.findings.left_out_parts import Arms, in_pairs_left, pairs, periods, places, tanks, without_day
from littoral.findings.model import Influence, Interval, LeftOut, LeftOutKind, Rule
from littoral.findings.photo_remarks import in_pairs
from littoral.findings.rules import Numbers, decide
from littoral.findings.single_days import AS_REPLICATES, Both, Rough, rough_differences, rough_whole
from littoral.findings.swaps import Swaps
from littoral.findings.tank_values import TankSeries, difference, difference_of_pairs, value_of
from littoral.findings.wording import CLAIMS
from littoral.stats.estimate import Estimate
from littoral.stats.regression import TooFewPointsError
from littoral.trial.model import Trial
from littoral.trial.periods import periods_of

NEAR = 0.1
"""A day is done in full where the claim would change with an interval wider or narrower by this share."""
MOST_IN_FULL = 6
"""No more days than these are done in full, those first that move the number most."""


@dataclass(frozen=True, slots=True, eq=False)
class _Redone:
    """The comparison with something left out: the difference with the camera's doubt, and its change."""

    effect: Estimate
    change: Estimate | None
    tanks_per_arm: int
    paired: bool
    swaps: Swaps | None


def influences(
    trial: Trial, compared: Compared, rule: Rule, numbers: Numbers | None, *, level: float
) -> tuple[Influence, ...]:
    """Return what leaving out single days, stands, tanks, pairs and periods does to a finding from photos.

    `numbers` and `rule` are those of the finding at `level`. None where nothing was estimated from photos, or where a
    kind has only one part. A number that cannot be computed again as it was gives none either.
    """
    if numbers is None or not compared.tanks or compared.tested is None:
        return ()
    task = _Task(trial, compared, rule, numbers, level)
    whole = task.redone(compared.tanks)
    if whole is None or not math.isclose(  # compared in a way that is not known here
        whole.effect.value, numbers.effect.value, rel_tol=1e-6, abs_tol=1e-9
    ):
        return ()
    if whole.change is not None and numbers.change is not None:
        low, high = whole.change.interval(level)
        task = replace(task, wider=(low - numbers.change.low, numbers.change.high - high))
    found = [task.days(), task.each("place", places(compared)), task.each("tank", tanks(trial, compared))]
    found += [task.each("pair", pairs(trial, compared)), task.each("period", periods(trial, compared))]
    return tuple(one for one in found if one is not None)


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    trial: Trial
    compared: Compared
    rule: Rule
    numbers: Numbers
    level: float
    wider: tuple[float, float] = (0.0, 0.0)
    """How far the finding's change reaches beyond its own interval, below and above: what else it allows for stays."""

    @property
    def measure(self) -> str:
        return self.compared.question.measure

    @property
    def camera(self) -> Camera:
        return camera_of(self.trial, self.measure, [tank for arm in self.compared.tanks for tank in arm])

    def redone(self, arms: Arms) -> _Redone | None:
        """Return the comparison of some arms, as `from_photos` does it; None where too little is left."""
        trial, measure, change_day = self.trial, self.measure, self.trial.baseline_days
        if not all(arms):
            return None
        pairs = in_pairs_left(trial, arms)
        try:
            if trial.plan.kind == "crossover":
                found = crossed(trial, measure, pairs)
                if isinstance(found, str):
                    return None
                effect = self.camera.of_difference(found.effect)
                return _Redone(effect, None, found.pairs, found.pairs > 1, found.swaps)
            few = min(len(arm) for arm in arms)
            if few < AS_REPLICATES and sum(len(arm) for arm in arms) > 2:
                return self._described(pairs, arms, len(pairs) or few)
            if pairs:
                value, per_arm = difference_of_pairs(measure, pairs, change_day=change_day), len(pairs)
            else:
                block_of = {tank: name for name, tanks in self.trial.plan.blocks for tank in tanks}
                value, per_arm = difference(measure, arms[1], arms[0], change_day=change_day, block_of=block_of)
        except (TooFewPointsError, np.linalg.LinAlgError):
            return None
        change = None if measure == "algae" else value.change
        return _Redone(self.camera.of_difference(value.after), change, per_arm, len(pairs) > 1, None)

    def _described(self, pairs: Sequence[tuple[TankSeries, TankSeries]], arms: Arms, per_arm: int) -> _Redone:
        """Return the comparison of two or a few tanks more, too few to be replicates, as normal numbers.

        Their mixtures of t distributions would be convolved with each other, which takes a second each; with dozens of
        degrees of freedom the sum is normal to less than its last printed digit.
        """
        both = rough_whole(self.measure, pairs, arms, change_day=self.trial.baseline_days)
        change = None if both.change is None or self.measure == "algae" else both.change
        return _Redone(
            self.camera.of_difference(Estimate.normal(both.after.value, spread=both.after.spread)),
            None if change is None else Estimate.normal(change.value, spread=change.spread),
            per_arm,
            len(pairs) > 1,
            None,
        )

    def left_out(self, kind: LeftOutKind, key: str, name: str, arms: Arms) -> LeftOut:
        """Return what the finding would say of some arms."""
        again = self.redone(arms)
        if again is None:
            return LeftOut(kind, key, name, None, None, None, "not answered")
        numbers = replace(
            self.numbers,
            effect=self._interval(again.effect),
            change=None if again.change is None else self._change(again.change),
            arm_values=self._arm_values(arms),
            tanks_per_arm=again.tanks_per_arm,
            paired=again.paired,
            swaps=again.swaps,
        )
        tested = numbers.effect if numbers.absolute else numbers.change
        if tested is None:
            return LeftOut(kind, key, name, None, None, None, "not answered")
        return LeftOut(kind, key, name, tested.value, tested.low, tested.high, decide(numbers))

    def _change(self, estimate: Estimate) -> Interval:
        own = self._interval(estimate)
        return Interval(own.value, own.low - self.wider[0], own.high + self.wider[1])

    def _interval(self, estimate: Estimate) -> Interval:
        return Interval(estimate.value, *estimate.interval(self.level))

    def _arm_values(self, arms: Arms) -> tuple[float, float]:
        """Return the arms' means again where the rule asks for their ratio, else those that there were."""
        if self.numbers.spread is None or self.numbers.change is not None or self.trial.plan.kind == "crossover":
            return self.numbers.arm_values
        try:
            means = [
                math.fsum(
                    value_of(self.measure, tank.series, tank.trims, change_day=self.trial.baseline_days).after.value
                    for tank in arm
                )
                / len(arm)
                for arm in arms
            ]
        except TooFewPointsError:
            return self.numbers.arm_values
        return means[0], means[1]

    def each(self, kind: LeftOutKind, parts: Mapping[str, tuple[str, Arms]]) -> Influence | None:
        """Return the influence of parts left out in full, by key with their name and what is left."""
        if len(parts) < 2:
            return None
        found = [self.left_out(kind, key, name, arms) for key, (name, arms) in parts.items()]
        return self._told(kind, len(found), found)

    def days(self) -> Influence | None:
        """Return the influence of single days."""
        chosen, tried = self._crossed_days() if self.trial.plan.kind == "crossover" else self._chosen_days()
        if not chosen:
            return None
        found = [self.left_out("day", str(day), f"day {day}", without_day(self.compared.tanks, day)) for day in chosen]
        return self._told("day", tried, found)

    def _crossed_days(self) -> tuple[list[int], int]:
        """Return all days that count in a crossover: leaving them out in full is quick there."""
        days = [day for arm in self.compared.tanks for tank in arm for day in tank.series.day]
        counted = {
            int(day) for day in days if any(one.measured_from <= day < one.to_day for one in periods_of(self.trial))
        }
        return sorted(counted), len(counted)

    def _chosen_days(self) -> tuple[list[int], int]:
        """Return the days worth leaving out in full, by how far they move the number; and how many days count."""
        pairs = in_pairs(self.trial, self.compared.tanks)
        whole, without = rough_differences(
            self.measure, pairs, self.compared.tanks, change_day=self.trial.baseline_days
        )
        moved = {day: self._moved(whole, one) for day, one in without.items()}
        by_reach = sorted(moved, key=lambda day: (-moved[day], day))
        near = [day for day in by_reach[1:] if self._may_change(whole, without[day])]
        return [*by_reach[:1], *near][:MOST_IN_FULL], len(without)

    def _moved(self, whole: Both, one: Both | None) -> float:
        if one is None:
            return math.inf
        of_whole, of_one = (both.after if self.numbers.absolute else both.change for both in (whole, one))
        return math.inf if of_whole is None or of_one is None else abs(of_one.value - of_whole.value)

    def _may_change(self, whole: Both, one: Both | None) -> bool:
        """Whether the claim would be another without a day, or with an interval a little wider or narrower."""
        if one is None:
            return True
        for stretched in (1 - NEAR, 1.0, 1 + NEAR):
            effect = self._roughly(self.numbers.effect, whole.after, one.after, stretched, self.camera.difference)
            change = self.numbers.change
            if change is not None and whole.change is not None and one.change is not None:
                change = self._roughly(change, whole.change, one.change, stretched, 0.0)
            if decide(replace(self.numbers, effect=effect, change=change)) != self.rule:
                return True
        return False

    def _roughly(self, was: Interval, whole: Rough, one: Rough, stretched: float, doubt: float) -> Interval:
        before = math.hypot(whole.spread, doubt)
        by = stretched * (math.hypot(one.spread, doubt) / before if before > 0 else 1.0)
        value = was.value + one.value - whole.value
        return Interval(value, value - by * (was.value - was.low), value + by * (was.high - was.value))

    def _told(self, kind: LeftOutKind, tried: int, found: Sequence[LeftOut]) -> Influence:
        tested = self.numbers.effect if self.numbers.absolute else self.numbers.change
        assert tested is not None
        whole = tested.value

        def reach(one: LeftOut) -> float:
            return math.inf if one.value is None else abs(one.value - whole)

        def other(one: LeftOut) -> bool:
            turned = self.rule in CLAIMS and one.value is not None and one.value * whole < 0
            return one.rule != self.rule or turned

        most = max(found, key=reach)
        changing = tuple(sorted((one for one in found if other(one)), key=reach, reverse=True))
        swaps = self.numbers.swaps
        of = swaps.periods if kind == "period" and swaps is not None else None
        few = self.numbers.tanks_per_arm if kind in ("tank", "pair") else of
        told = Influence(kind, tried, most, changing, "")
        text = influence_text(self.trial, self.compared, self.rule, told, of=few)
        return Influence(kind, tried, most, changing, text)
