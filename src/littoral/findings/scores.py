"""Condition judged by eye on ordered steps: compared by rank, by weeks or tanks, never averaged as numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.compared import Compared, Described, TankTest
from littoral.findings.model import ArmValue, Interval
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import named, sentence
from littoral.findings.waiting import SEED, blocks_of
from littoral.findings.wording import texts
from littoral.quantities.counting import counted
from littoral.stats.ordered import paired_signs, rank_within, superiority, superiority_interval
from littoral.stats.permutation import within_blocks
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray, Series
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Score
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.periods import pairs_of
from littoral.trial.scales import TOP_STEP, Scale, scales

SCALE_OF = {"condition": "plants", "algae score": "algae"}
METHOD = {
    "weeks": (
        "Middle step of each tank's scores in every week since the regimes began; weeks are counted in which the "
        "second arm's tank stood higher, lower, or the same. Weeks of one tank are no replicates, so nothing is tested."
    ),
    "ranks": (
        "Middle step of each tank's scores since the regimes began; how often a tank of the second arm stands above "
        "one of the first less how often below (twice the probability of superiority, less 1), tested by every dealing "
        "of the ranks to the arms."
    ),
    "ranks in blocks": (
        "Middle step of each tank's scores since the regimes began; how often, within a block, a tank of the second "
        "arm stands above one of the first less how often below, as a share of all such comparisons, tested by every "
        "dealing of each block's tanks to the arms."
    ),
    "signs": (
        "Middle step of each tank's scores since the regimes began; in how many pairs the second arm's stands higher, "
        "by the exact sign test. Pairs with the same step say nothing."
    ),
}
SWAPPED = (
    "in a crossover a leaf that is scored grew under both regimes; scores are compared between tanks side by side only"
)
BY_EYE = "Scores are by eye: whoever gives them should not know which tank has which regime."


@dataclass(frozen=True, slots=True)
class _Given:
    day: float
    step: int
    entry_id: str


def compare_scores(trial: Trial, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms by the steps that their tanks were scored; `missing` says why where that fails."""
    unit = MEASURES[question.measure].unit
    if trial.plan.kind == "crossover":
        return Compared(question, unit, missing=SWAPPED)
    scale = scales()[SCALE_OF[question.measure]]
    given = {tank: _given(trial, entries, question, scale, tank) for arm in trial.arms[:2] for tank in arm.tanks}
    after = {tank: [one for one in some if one.day >= trial.baseline_days] for tank, some in given.items()}
    if missing := _missing(trial, entries, question, scale, after):
        return Compared(question, unit, missing=missing)
    arms = [[tank for tank in arm.tanks if after[tank]] for arm in trial.arms[:2]]
    pairs = [
        pair for pair in (pairs_of(trial) if trial.plan.kind == "pairs" else ()) if after[pair[0]] and after[pair[1]]
    ]
    per_arm = len(pairs) if trial.plan.kind == "pairs" else min(map(len, arms))
    if per_arm >= TANKS_FOR_A_REGIME:
        one = _tested(trial, question, scale, arms, pairs, after)
        how = "signs" if pairs else "ranks in blocks" if trial.plan.blocks else "ranks"
    else:
        beside = pairs or [(first, second) for first in arms[0] for second in arms[1]]
        weeks = _weeks(trial, after, beside)
        if not weeks[0].size:
            return Compared(question, unit, missing="the tanks to be compared were never scored in the same week")
        one, how = _described(trial, question, scale, arms, after, *weeks), "weeks"
    days = {int(score.day) for some in after.values() for score in some}
    return Compared(
        question=question,
        unit=unit,
        arms=tuple(
            ArmValue(
                arm.key, tank, _middle(after[tank]), None, None, len({int(score.day) for score in after[tank]}),
                _step_said(scale, _middle(after[tank])),
            )
            for arm, of_arm in zip(trial.arms, arms, strict=False)
            for tank in of_arm
        ),
        tanks_per_arm=per_arm,
        days=tuple(map(float, sorted(days))),
        entries=tuple(score.entry_id for some in after.values() for score in some),
        series={tank: _series(trial, tank, some) for tank, some in given.items() if some},
        paired=bool(pairs) and per_arm > 1,
        remarks=(
            BY_EYE,
            *(
                f"{trial.tanks[tank].name}: no score since the regimes began; left out"
                for arm in trial.arms[:2] for tank in arm.tanks if not after[tank]
            ),
        ),
        method=METHOD[how],
        detail=_before(trial, scale, arms, given),
        described=one,
    )  # fmt: skip


def _given(trial: Trial, entries: Sequence[Entry], question: Question, scale: Scale, tank: str) -> list[_Given]:
    """Return the scores of a tank, or of the stands asked about, by day."""
    found = [
        _Given(day_of(entry.at, trial), entry.payload.step, entry.id)
        for entry in entries
        if isinstance(entry.payload, Score)
        and entry.tank == tank
        and entry.payload.scale == scale.key
        and (entry.payload.stand in question.of if question.of else entry.payload.stand is None)
    ]
    return sorted(found, key=lambda one: (one.day, one.entry_id))


def _missing(
    trial: Trial,
    entries: Sequence[Entry],
    question: Question,
    scale: Scale,
    after: dict[str, list[_Given]],
) -> str:
    for arm in trial.arms[:2]:
        if any(after[tank] for tank in arm.tanks):
            continue
        names = " and ".join(trial.tanks[tank].name for tank in arm.tanks)
        stands = {
            entry.payload.stand
            for entry in entries
            if isinstance(entry.payload, Score) and entry.tank in arm.tanks and entry.payload.scale == scale.key
        }
        if not question.of and stands - {None}:
            return f"{names}: only stands were scored; name them in the question's `of`"
        return f"{names}: no score of {scale.name} was noted since the regimes began"
    return ""


def _middle(given: Sequence[_Given]) -> float:
    """Return the middle step; x.5 stands for "between two steps", an order and no average."""
    return float(np.median([one.step for one in given]))


def _step_said(scale: Scale, step: float) -> str:
    low, high = math.floor(step), math.ceil(step)
    if low == high:
        return f"step {low} of {TOP_STEP} ({scale.words(low)})"
    return f"between steps {low} ({scale.words(low)}) and {high} ({scale.words(high)}) of {TOP_STEP}"


def _weeks(
    trial: Trial, after: dict[str, list[_Given]], beside: Sequence[tuple[str, str]]
) -> tuple[FloatArray, FloatArray]:
    """Return the middle steps of second and first arm's tanks in each week in which both were scored."""
    by_week: dict[str, dict[int, list[_Given]]] = {}
    for tank, some in after.items():
        for one in some:
            week = math.floor((one.day - trial.baseline_days) / 7)
            by_week.setdefault(tank, {}).setdefault(week, []).append(one)
    rows = [
        (_middle(by_week[second][week]), _middle(by_week[first][week]))
        for first, second in beside
        for week in sorted(by_week.get(first, {}).keys() & by_week.get(second, {}).keys())
    ]
    return np.array([row[0] for row in rows]), np.array([row[1] for row in rows])


def _described(
    trial: Trial,
    question: Question,
    scale: Scale,
    arms: Sequence[Sequence[str]],
    after: dict[str, list[_Given]],
    second: FloatArray,
    first: FloatArray,
) -> Described:
    total = second.size
    try:
        signs = paired_signs(second, first)
        up, down = signs.up, signs.down
    except TooFewPointsError:  # the same in every week
        up = down = 0
    unit = "week" if max(map(len, arms)) == 1 else "comparison"
    name = _name(trial, 1, arms)
    if up == down:
        more = f"{sentence(name)} scored higher as often as lower" if up else "The tanks scored the same every time"
    else:
        word = "higher" if up > down else "lower"
        more = f"{sentence(name)} scored {word} in {max(up, down)} of {counted(range(total), unit)}"
    return Described(
        more=more,
        measured=_measured(trial, question, scale, arms, after),
        effect=(up - down) / total,
        effect_words=f"higher in {up} of {counted(range(total), unit)}, lower in {down}",
        alike=up == down,
    )


def _tested(
    trial: Trial,
    question: Question,
    scale: Scale,
    arms: Sequence[Sequence[str]],
    pairs: Sequence[tuple[str, str]],
    after: dict[str, list[_Given]],
) -> Described:
    measured = _measured(trial, question, scale, arms, after)
    name = sentence(_name(trial, 1, arms))
    if pairs:
        first, second = (np.array([_middle(after[pair[at]]) for pair in pairs]) for at in (0, 1))
        try:
            signs = paired_signs(second, first)
        except TooFewPointsError:
            tested = TankTest("signs", 1.0, 1.0)
            return Described("The pairs scored the same", measured, 0.0, "the same in all pairs", True, tested)
        moved = signs.up + signs.down
        effect = 2 * signs.share_up - 1

        def at(level: float) -> Interval:
            ends = paired_signs(second, first, level=level)
            return Interval(effect, 2 * ends.low - 1, 2 * ends.high - 1)

        tested = TankTest("signs", signs.p_value, min(1.0, 2.0 ** (1 - moved)), at)
        said = f"higher in {signs.up} of {counted(range(len(pairs)), 'pair')}, lower in {signs.down}"
    elif trial.plan.blocks:
        effect, said, tested = _in_blocks(trial, arms, after)
    else:
        first, second = (np.array([_middle(after[tank]) for tank in arm]) for arm in arms)
        found = superiority(second, first, rng=np.random.default_rng(SEED))
        effect = 2 * found.probability - 1

        def at(level: float) -> Interval:
            low, high = superiority_interval(found.probability, second=second.size, first=first.size, level=level)
            return Interval(effect, 2 * low - 1, 2 * high - 1)

        tested = TankTest("ranks", found.p_value, found.smallest_p, at)
        higher, lower = int((second[:, None] > first).sum()), int((second[:, None] < first).sum())
        total = second.size * first.size
        said = f"higher in {higher} of {total} comparisons of tanks, lower in {lower}"
    more = (
        "Neither arm scored higher"
        if effect == 0
        else f"{name} {texts()['more' if effect > 0 else 'less'][question.measure]}"
    )
    return Described(more, measured, effect, said, effect == 0, tested)


def _in_blocks(
    trial: Trial, arms: Sequence[Sequence[str]], after: dict[str, list[_Given]]
) -> tuple[float, str, TankTest]:
    """Return the net share of comparisons within blocks, in words, and its test by dealing each block's tanks anew."""
    tanks = [*arms[1], *arms[0]]
    second = np.arange(len(tanks)) < len(arms[1])
    step, block = np.array([_middle(after[tank]) for tank in tanks]), blocks_of(trial, tanks)
    beside = second[:, None] & ~second & (block[:, None] == block)
    higher, lower, total = (int((beside & one).sum()) for one in (step[:, None] > step, step[:, None] < step, True))
    if not total:  # of the tanks that were scored no block holds both arms
        return 0.0, "no block has scores of both arms", TankTest("ranks in blocks", 1.0, 1.0)
    # ranks within each block: their sum over the second arm is, but for a constant, half of higher less lower
    test = within_blocks(rank_within(step, block), second, block, rng=np.random.default_rng(SEED))
    said = f"higher in {higher} of {total} comparisons of tanks within blocks, lower in {lower}"
    return (higher - lower) / total, said, TankTest("ranks in blocks", test.p_value, test.smallest_p)


def _name(trial: Trial, place: int, arms: Sequence[Sequence[str]]) -> str:
    arm = trial.arms[place]
    return named(trial.tanks[arms[place][0]].name, arm.name) if len(arms[place]) == 1 else arm.name


def _measured(
    trial: Trial, question: Question, scale: Scale, arms: Sequence[Sequence[str]], after: dict[str, list[_Given]]
) -> str:
    parts = []
    for place in (1, 0):
        middles = sorted(_middle(after[tank]) for tank in arms[place])
        scored = sum(len(after[tank]) for tank in arms[place])
        step = _step_said(scale, middles[0]) if len(middles) == 1 else _range_said(scale, middles)
        parts.append(f"{_name(trial, place, arms)} {step} ({counted(range(scored), 'score')})")
    of = ", ".join(trial.stands[key].name if key in trial.stands else key for key in question.of)
    return f"Middle score of {of or scale.name}: {', '.join(parts)}."


def _range_said(scale: Scale, middles: Sequence[float]) -> str:
    if middles[0] == middles[-1]:
        return f"{_step_said(scale, middles[0])} in each of {len(middles)} tanks"
    steps = ", ".join(f"{one:g}" for one in middles)
    return f"steps {steps} of {TOP_STEP} in {len(middles)} tanks"


def _before(trial: Trial, scale: Scale, arms: Sequence[Sequence[str]], given: dict[str, list[_Given]]) -> str:
    said = []
    for place in (1, 0):
        for tank in arms[place]:
            early = [one for one in given[tank] if one.day < trial.baseline_days]
            if early:
                said.append(f"{trial.tanks[tank].name} {_step_said(scale, _middle(early))}")
    return f"Before the regimes began: {', '.join(said)}." if said else ""


def _series(trial: Trial, tank: str, given: Sequence[_Given]) -> Series:
    days = np.array([one.day for one in given], dtype=float)
    return Series(trial.tanks[tank].name, "step", "score", days, np.array([one.step for one in given], dtype=float))
