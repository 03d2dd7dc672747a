"""Days until something comes, compared between arms: by medians where few tanks wait, by tanks as units from three on.

What has not come yet is censored, never left out and never counted as the last day (Kaplan & Meier 1958).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from littoral.findings.compared import NOTHING_CAME, NOTHING_CAME_YET, Described, TankTest
from littoral.findings.model import Curve
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import named, sentence
from littoral.findings.wording import texts
from littoral.quantities.counting import counted
from littoral.stats.permutation import Permutation, sign_flip, within_blocks
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray
from littoral.stats.time_to_event import kaplan_meier, log_rank, log_rank_of_tanks, log_rank_tank_scores
from littoral.trial.model import Arm, Trial
from littoral.trial.periods import pairs_of

SEED = 20
"""Always the same draws where there are too many dealings to look at each: an answer is the same each time."""


@dataclass(frozen=True, slots=True)
class Times:
    """One tank's waiting times in days, and for each whether it ended with what was waited for."""

    tank: str
    days: tuple[float, ...]
    came: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """How a measure is said: what each tank `measured` is about, units of waiting, and later or longer."""

    measured: str
    of: Literal["tanks", "trims"]
    longer: str
    shorter: str
    neither: str


def described(
    trial: Trial,
    measure: str,
    arms: Sequence[Sequence[Times]],
    words: Words,
    said: Mapping[str, str],
    *,
    watched_alike: Sequence[Sequence[Times]] | None = None,
) -> tuple[Described, int]:
    """Return the comparison of the first two arms' times, and the tanks per arm (or pairs) that it rests on.

    `said` has for each tank what came of it. Each arm needs a tank with a time. `watched_alike` are the same tanks'
    times where all are watched until the same day, for the test: dealing tanks anew is exact only of such.
    """
    pairs = _pairs(trial, arms)
    per_arm = len(pairs) if trial.plan.kind == "pairs" else min(len(arm) for arm in arms)
    medians = [median_of(arm) for arm in arms]
    effect = None if None in medians else float(medians[1] or 0.0) - float(medians[0] or 0.0)
    tested = direction = None
    if per_arm >= TANKS_FOR_A_REGIME:
        alike = arms if watched_alike is None else watched_alike
        tested, direction = _tested(trial, alike, _pairs(trial, alike), one_each=words.of == "tanks")
        if tested.name == NOTHING_CAME and any(came for arm in arms for one in arm for came in one.came):
            tested = replace(tested, name=NOTHING_CAME_YET)
    order, difference = _order(arms, medians, words)
    longer = order if not direction else direction < 0
    more = sentence(difference)
    if longer is not None:
        more = f"{sentence(_name(trial, trial.arms[1], arms[1]))} {texts()['more' if longer else 'less'][measure]}"
    return (
        Described(
            more=more,
            measured=f"{words.measured}: {_measured(trial, arms, medians, words, said)}.",
            effect=effect,
            effect_words=difference,
            alike=longer is None,
            tested=tested,
            curves=tuple(_curve(arm.key, times, words) for arm, times in zip(trial.arms, arms, strict=False)),
        ),
        per_arm,
    )


def dealt_within(trial: Trial) -> str:
    """Return within what tanks are dealt anew, to follow "dealing of the tanks to the arms"; "" where among all."""
    if trial.plan.kind == "pairs":
        return " within each pair"
    return " within each block" if trial.plan.blocks else ""


def blocks_of(trial: Trial, tanks: Sequence[str]) -> NDArray[np.str_]:
    """Return the name of the block that each of some tanks stands in."""
    block_of = {tank: name for name, stand_in in trial.plan.blocks for tank in stand_in}
    return np.array([block_of[tank] for tank in tanks])


def median_of(times: Sequence[Times]) -> float | None:
    """Return the Kaplan–Meier median in days of all times of some tanks; None where half of them have not come."""
    days, came = _all(times)
    return kaplan_meier(days, came).median_day if came.any() else None


def _all(times: Sequence[Times]) -> tuple[FloatArray, NDArray[np.bool_]]:
    days = np.array([day for one in times for day in one.days], dtype=np.float64)
    return days, np.array([came for one in times for came in one.came], dtype=np.bool_)


def _curve(arm: str, times: Sequence[Times], words: Words) -> Curve:
    days, came = _all(times)
    if not came.any():
        return Curve(arm, words.of, days.size, (0.0,), (1.0,), tuple(sorted(map(float, days))), None)
    found = kaplan_meier(days, came)
    return Curve(
        arm=arm,
        of=words.of,
        count=days.size,
        day=(0.0, *map(float, found.day)),
        share=(1.0, *map(float, found.share)),
        censored=tuple(sorted(map(float, days[~came]))),
        median_day=found.median_day,
    )


def _pairs(trial: Trial, arms: Sequence[Sequence[Times]]) -> list[tuple[Times, Times]]:
    """Return the pairs of which both tanks have a time; none where tanks do not stand in pairs."""
    by_key = {one.tank: one for arm in arms for one in arm}
    written = pairs_of(trial) if trial.plan.kind == "pairs" else ()
    return [(by_key[first], by_key[second]) for first, second in written if first in by_key and second in by_key]


def _tested(
    trial: Trial,
    arms: Sequence[Sequence[Times]],
    pairs: Sequence[tuple[Times, Times]],
    *,
    one_each: bool,
) -> tuple[TankTest, float]:
    """Return the test over tanks, or pairs, and its statistic: above 0 where it comes earlier in the second arm."""
    tanks = [one for pair in pairs for one in pair] if pairs else [one for arm in arms for one in arm]
    days, came = _all(tanks)
    if not came.any():
        return TankTest(NOTHING_CAME, 1.0, 1.0), 0.0
    tank = np.repeat(np.arange(len(tanks)), [len(one.days) for one in tanks])
    rng = np.random.default_rng(SEED)
    test: Permutation
    if pairs:
        score = log_rank_tank_scores(days, came, tank, tanks=len(tanks))
        test, name = sign_flip(score[1::2] - score[0::2], rng=rng), "log-rank of pairs"
    else:
        second = np.arange(len(tanks)) >= len(arms[0])
        if trial.plan.blocks:
            score = log_rank_tank_scores(days, came, tank, tanks=len(tanks))
            try:
                test = within_blocks(score, second, blocks_of(trial, [one.tank for one in tanks]), rng=rng)
            except TooFewPointsError:  # of the tanks that are left no block holds both arms
                return TankTest("log-rank in blocks", 1.0, 1.0), 0.0
            name = "log-rank in blocks"
        elif one_each:
            test, name = log_rank(days, came, second, rng=rng).test, "log-rank"
        else:
            test, name = log_rank_of_tanks(days, came, tank, second, rng=rng), "log-rank of tanks"
    return TankTest(name, test.p_value, test.smallest_p), test.statistic


def _order(arms: Sequence[Sequence[Times]], medians: Sequence[float | None], words: Words) -> tuple[bool | None, str]:
    """Return whether the second arm waited longer (None: alike, or it cannot be told), and the difference in words.

    An arm of which less than half has come waited at least as long as it was watched.
    """
    first, second = medians
    watched = [max(day for one in arm for day in one.days) for arm in arms]
    if first is None and second is None:
        any_came = any(came for arm in arms for one in arm for came in one.came)
        return None, "in both arms fewer than half had come to it" if any_came else words.neither
    if first is not None and second is not None:
        gap = second - first
        if round(gap, 1) == 0:
            return None, "the same day in both" if words.of == "tanks" else "equally long in both"
        return gap > 0, f"{_days(abs(gap))} {words.longer if gap > 0 else words.shorter}"
    known, longest = (second, watched[0]) if first is None else (first, watched[1])
    assert known is not None
    if longest < known:
        return None, "which of the two waited longer cannot be told: one was not watched long enough"
    word = words.shorter if first is None else words.longer
    return first is not None, f"at least {_days(longest - known)} {word}"


def _days(days: float) -> str:
    text = f"{days:.1f}".removesuffix(".0")
    return f"{text} day{'' if text == '1' else 's'}"


def _name(trial: Trial, arm: Arm, times: Sequence[Times]) -> str:
    return named(trial.tanks[times[0].tank].name, arm.name) if len(times) == 1 else arm.name


def _measured(
    trial: Trial,
    arms: Sequence[Sequence[Times]],
    medians: Sequence[float | None],
    words: Words,
    said: Mapping[str, str],
) -> str:
    parts = []
    for place in (1, 0):
        arm, times = trial.arms[place], arms[place]
        name = _name(trial, arm, times)
        if len(times) == 1:
            parts.append(f"{name} {said[times[0].tank]}")
            continue
        came = sum(sum(one.came) for one in times)
        total = sum(len(one.days) for one in times)
        waiting = counted(range(total), "tank" if words.of == "tanks" else "trim")
        tanks = "" if words.of == "tanks" else f" in {len(times)} tanks"
        median = medians[place]
        watched = _by(words, max(day for one in times for day in one.days))
        middle = f" within {watched}" if words.of == "trims" else f" by {watched}"
        middle = middle if median is None else f", half of them by {_by(words, median)}"
        if median is not None and came < total:
            middle = middle.replace("half of them", "half of all")
        joined = "in" if words.of == "tanks" else "after"
        parts.append(f"{name} {joined} {came or 'none'} of {waiting}{tanks}{middle}")
    return "; ".join(parts) if max(map(len, arms)) > 1 else ", ".join(parts)


def _by(words: Words, median: float) -> str:
    return f"day {math.floor(median)}" if words.of == "tanks" else f"{median:.1f} days"
