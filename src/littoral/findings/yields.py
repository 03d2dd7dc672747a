"""Yield: the wet mass trimmed since the regimes began, with what stood at the end where every tank's was weighed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.compared import Compared
from littoral.findings.model import ArmValue, Part
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import named, sentence
from littoral.findings.tank_values import mean_of_pairs
from littoral.stats import compare
from littoral.stats.estimate import Estimate
from littoral.stats.mixed_model import arm_effect
from littoral.stats.series import Series
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.periods import pairs_of

METHOD = (
    "Wet mass of trimmings noted since the regimes began. What stood at the end counts where it was cut to 0 cm and "
    "weighed in every tank compared; otherwise it is left out in all of them, and that is said."
)
TANKS_METHOD = " One sum for each tank; Welch's t-test over the tanks."
BLOCKS_METHOD = " One sum for each tank; t-test over the tanks with what each block shares taken out."
PAIRS_METHOD = " One sum for each tank; paired t-test over the pairs."
SWAPPED = (
    "in a crossover what stands at the end grew under both regimes; ask about `trimmed mass`, or take height or cover "
    "growth, which are compared within each period"
)
NO_MASS = (
    "Nothing is tested, for a mass that nobody noted is not 0 g: {names} {has} a trim without one, or no trim at all."
)
NO_SPREAD = "Nothing is tested, for the tanks came out exactly alike, so there is no spread to test against."
FROM_THE_START = (
    "What already stood when the regimes began was not weighed, and is in the yield where what stood at the end is."
)
TO_THE_GROUND_CM = 0.5
"""A trim that leaves less than this is taken for a harvest: people write 0 cm."""


@dataclass(frozen=True, slots=True)
class _Cut:
    """One weighed trim; `harvest` where it is the last of its stand (None: whole tank) and left nothing standing."""

    stand: str | None
    day: float
    wet_g: float
    entry_id: str
    harvest: bool


def compare_yield(trial: Trial, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms by wet mass, g per tank or of the stands asked about; `missing` says why it fails."""
    unit = MEASURES[question.measure].unit
    if trial.plan.kind == "crossover":
        return Compared(question, unit, missing=SWAPPED)
    tanks = [tank for arm in trial.arms[:2] for tank in arm.tanks]
    cuts = {tank: _cuts(trial, entries, question, tank) for tank in tanks}
    if not any(cuts.values()):
        return Compared(question, unit, missing="no wet mass of trimmings was noted since the regimes began")
    standing = _standing(trial, question, cuts)
    counted = {tank: [cut for cut in some if not cut.harvest or _in(standing, cut)] for tank, some in cuts.items()}
    arms = [
        [_value(arm.key, tank, counted[tank]) for tank in arm.tanks] for arm in trial.arms[:2]
    ]  # fmt: skip
    pairs = pairs_of(trial) if trial.plan.kind == "pairs" else ()
    per_arm = len(pairs) if pairs else min(map(len, arms))
    block_of = {tank: name for name, stand_in in trial.plan.blocks for tank in stand_in}
    replicated, effect, why_not = per_arm >= TANKS_FOR_A_REGIME, _plain_effect(arms, pairs), ""
    if replicated:
        tested = _effect(arms, pairs, block_of)
        why_not = _why_not(trial, entries, question, cuts) or ("" if _spread_out(tested, arms) else NO_SPREAD)
        replicated, effect = not why_not, effect if why_not else tested
    how = PAIRS_METHOD if pairs else BLOCKS_METHOD if block_of else TANKS_METHOD
    return Compared(
        question=question,
        unit=unit,
        arms=tuple(value for arm in arms for value in arm),
        effect=effect,
        tanks_per_arm=per_arm,
        paired=bool(pairs) and per_arm > 1,
        account=not replicated,
        blocks=len(trial.plan.blocks) if replicated else 0,
        days=tuple(sorted({float(int(cut.day)) for some in counted.values() for cut in some})),
        entries=tuple(cut.entry_id for some in counted.values() for cut in some),
        series={tank: _series(trial, tank, some) for tank, some in counted.items()},
        parts=_parts(trial, counted),
        remarks=_remarks(trial, entries, question, cuts, standing),
        method=METHOD + (how if replicated else ""),
        detail=" ".join(one for one in (_detail(trial, counted, standing), why_not) if one),
    )


def _cuts(trial: Trial, entries: Sequence[Entry], question: Question, tank: str) -> list[_Cut]:
    trims = [
        (day_of(entry.at, trial), entry.payload, entry.id)
        for entry in entries
        if isinstance(entry.payload, Trim) and entry.tank == tank and day_of(entry.at, trial) >= trial.baseline_days
    ]
    last: dict[str | None, float] = {}
    for day, trim, _ in trims:
        for stand in {trim.stand} if trim.stand is not None else {None, *_stands(trial, question, tank)}:
            last[stand] = max(day, last.get(stand, day))
    found = []
    for day, trim, entry_id in sorted(trims, key=lambda one: (one[0], one[2])):
        if trim.wet_g is None or (question.of and trim.stand not in question.of):
            continue
        ends = trim.left_cm is not None and trim.left_cm < TO_THE_GROUND_CM
        final = day >= (last[trim.stand] if trim.stand is not None else max(last.values()))
        found.append(_Cut(trim.stand, day, trim.wet_g, entry_id, ends and final))
    return found


def _stands(trial: Trial, question: Question, tank: str) -> set[str]:
    return {
        key for key, stand in trial.stands.items() if tank in stand.tanks and (not question.of or key in question.of)
    }


def _standing(trial: Trial, question: Question, cuts: dict[str, list[_Cut]]) -> set[str | None]:
    """Return whose last mass counts: {None}: everything, in every tank; else the stands that every tank has weighed."""
    whole, each = [], []
    for tank, some in cuts.items():
        weighed = {cut.stand for cut in some if cut.harvest}
        stands = _stands(trial, question, tank)
        whole.append(None in weighed or (bool(stands) and stands <= weighed))
        each.append(weighed - {None})
    return {None} if all(whole) else set.intersection(*each)


def _in(standing: set[str | None], cut: _Cut) -> bool:
    return None in standing or (cut.stand is not None and cut.stand in standing)


def _value(arm: str, tank: str, cuts: Sequence[_Cut]) -> ArmValue:
    return ArmValue(arm, tank, math.fsum(cut.wet_g for cut in cuts), None, None, len({int(cut.day) for cut in cuts}))


def _plain_effect(arms: Sequence[Sequence[ArmValue]], pairs: Sequence[tuple[str, str]]) -> Estimate:
    """Return the second arm's mean less the first's, an account of these tanks."""
    of = {value.tank: value.value for arm in arms for value in arm}
    if pairs:
        return Estimate.exact(math.fsum(of[second] - of[first] for first, second in pairs) / len(pairs))
    first, second = (math.fsum(value.value for value in arm) / len(arm) for arm in arms)
    return Estimate.exact(second - first)


def _effect(
    arms: Sequence[Sequence[ArmValue]], pairs: Sequence[tuple[str, str]], block_of: Mapping[str, str]
) -> Estimate:
    """Return the second arm less the first with the spread between tanks (or pairs) as the error."""
    by_tank = {value.tank: Estimate.exact(value.value) for arm in arms for value in arm}
    if pairs:
        return mean_of_pairs([by_tank[second].minus(by_tank[first]) for first, second in pairs])
    first, second = arms
    if block_of:
        both = (*second, *first)
        place = np.arange(len(both))
        of = np.array([value.value for value in both])
        block = np.array([block_of[value.tank] for value in both])
        return arm_effect(of, tank=place, second_arm=place < len(second), block=block)
    return compare.tanks_per_arm([by_tank[one.tank] for one in second], [by_tank[one.tank] for one in first])


def _spread_out(tested: Estimate, arms: Sequence[Sequence[ArmValue]]) -> bool:
    """Whether there is an error to test against, above rounding."""
    largest = max(value.value for arm in arms for value in arm)
    return bool(np.all(tested.scale > 1e-9 * max(largest, 1.0)))


def _why_not(trial: Trial, entries: Sequence[Entry], question: Question, cuts: Mapping[str, Sequence[_Cut]]) -> str:
    """Return why sums of tanks are no yields that could be tested, or nothing: a mass that nobody noted is no zero."""
    lacking = [tank for tank, some in cuts.items() if not some or _unweighed(trial, entries, question, tank)]
    names = " and ".join(trial.tanks[tank].name for tank in lacking)
    return NO_MASS.format(names=names, has="has" if len(lacking) == 1 else "have") if lacking else ""


def _unweighed(trial: Trial, entries: Sequence[Entry], question: Question, tank: str) -> int:
    return sum(
        isinstance(entry.payload, Trim)
        and entry.tank == tank
        and entry.payload.wet_g is None
        and (not question.of or entry.payload.stand in question.of)
        and day_of(entry.at, trial) >= trial.baseline_days
        for entry in entries
    )


def _series(trial: Trial, tank: str, cuts: Sequence[_Cut]) -> Series:
    days = sorted({int(cut.day) for cut in cuts})
    totals = [math.fsum(cut.wet_g for cut in cuts if int(cut.day) == day) for day in days]
    return Series(trial.tanks[tank].name, "g", "count", np.array(days, dtype=float), np.array(totals, dtype=float))


def _detail(trial: Trial, counted: dict[str, list[_Cut]], standing: set[str | None]) -> str:
    """Return each tank's two parts, and whether what stood at the end is in them."""
    if not standing:
        return "What stood at the end was not weighed in every tank, so this is the mass of trimmings alone."
    said = []
    for arm in reversed(trial.arms[:2]):
        for tank in arm.tanks:
            stood = math.fsum(cut.wet_g for cut in counted[tank] if cut.harvest)
            cut_off = math.fsum(cut.wet_g for cut in counted[tank] if not cut.harvest)
            name = named(trial.tanks[tank].name, arm.name)
            said.append(f"{name}: {cut_off:.3g} g trimmed, {stood:.3g} g standing at the end")
    of = "" if None in standing else f" Of what stood at the end only {_names(trial, standing)} counts."
    return f"{sentence('; '.join(said))}.{of}"


def _remarks(
    trial: Trial,
    entries: Sequence[Entry],
    question: Question,
    cuts: dict[str, list[_Cut]],
    standing: set[str | None],
) -> tuple[str, ...]:
    remarks = [FROM_THE_START] if standing else []
    for tank, some in cuts.items():
        name = trial.tanks[tank].name
        if not some:
            remarks.append(f"{name}: nothing was noted, which counts as 0")
        out = [cut for cut in some if cut.harvest and not _in(standing, cut)]
        remarks += [
            f"{name}: {cut.wet_g:g} g of {_names(trial, {cut.stand})} stood at the end; not weighed in every tank, it "
            "is left out"
            for cut in out
        ]
        whole = [
            entry
            for entry in entries
            if question.of
            and isinstance(entry.payload, Trim)
            and entry.tank == tank
            and entry.payload.stand is None
            and entry.payload.wet_g is not None
            and day_of(entry.at, trial) >= trial.baseline_days
        ]
        if whole:
            remarks.append(f"{name}: mass noted for the whole tank cannot be told apart by stand; it is left out")
        unweighed = _unweighed(trial, entries, question, tank)
        if unweighed:
            remarks.append(f"{name}: {unweighed} trim{'' if unweighed == 1 else 's'} without a mass; counted as 0 g")
    return tuple(remarks)


def _names(trial: Trial, stands: set[str | None]) -> str:
    named_ones = [
        trial.stands[key].name if key in trial.stands else "the whole tank" for key in sorted(map(str, stands))
    ]
    return " and ".join(named_ones)


def _parts(trial: Trial, counted: dict[str, list[_Cut]]) -> tuple[Part, ...]:
    """Return each stand by itself where masses were noted by stand."""
    stands = dict.fromkeys(cut.stand for some in counted.values() for cut in some if cut.stand is not None)
    if len(stands) < 2:
        return ()
    found = []
    for stand in stands:
        values = tuple(
            _value(arm.key, tank, [cut for cut in counted[tank] if cut.stand == stand])
            for arm in trial.arms[:2]
            for tank in arm.tanks
        )
        name = trial.stands[stand].name if stand in trial.stands else stand
        said = "; ".join(f"{trial.tanks[value.tank].name} {value.value:.3g} g" for value in values)
        found.append(Part(stand, name, values, f"{name}: {said}"))
    return tuple(found)
