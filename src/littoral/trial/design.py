"""What a trial's design can show, and the draw by lot that decides which tank gets which arm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.errors import LittoralError
from littoral.stats.crossover import WASHOUT_HALF_LIVES, in_blocks
from littoral.trial.model import Trial
from littoral.trial.periods import half_life_days, pairs_of, washout_half_lives

FEWEST_PERIODS = 4
"""Below this, under a washout of `WASHOUT_HALF_LIVES`, and in one block each way, drift and what the former regime left
are taken for the regime: with nothing done a crossover in blocks calls 12 to 20 of 100 pairs under drift, one in mixed
order 3 to 5 (the design study)."""


class DrawError(LittoralError):
    """Tanks and arms that cannot be drawn: too few tanks, or a name twice."""


@dataclass(frozen=True, slots=True)
class Design:
    """A trial's design in numbers and words, for findings.

    `tanks_per_arm` is the number in the smallest arm; `pairs_in_frame` the number of views that show tanks of different
    arms in one photo, where the camera cancels; `name`, `can` and `cannot` are for readers.
    """

    name: str
    arms: int
    tanks_per_arm: int
    baseline_days: float
    pairs_in_frame: int
    drawn: bool
    can: str
    cannot: str


def design_of(trial: Trial) -> Design:
    """Describe a trial's design.

    What may be said follows Hurlbert 1984 (Ecol Monogr 54:187-211): plants in a tank and days in a series are no
    replicates of a treatment that was given to the tank.
    """
    fewest = min(len(arm.tanks) for arm in trial.arms)
    unequal = len({len(arm.tanks) for arm in trial.arms}) > 1
    before = f"with a baseline of {trial.baseline_days:g} days" if trial.baseline_days else "without a baseline"
    arms = {tank: arm.key for arm in trial.arms for tank in arm.tanks}
    shared = sum(len({arms[pane.tank] for pane in view.panes}) > 1 for view in trial.views.values())
    can, cannot = _crossover_shows(trial) if trial.plan.kind == "crossover" else _side_by_side_shows(trial, fewest)
    return Design(
        name=f"{'at least ' if unequal else ''}{_laid_out(trial, fewest)}, {before}",
        arms=len(trial.arms),
        tanks_per_arm=fewest,
        baseline_days=trial.baseline_days,
        pairs_in_frame=shared,
        drawn=bool(trial.drawn),
        can=can,
        cannot=cannot,
    )


def _laid_out(trial: Trial, fewest: int) -> str:
    pairs = len(pairs_of(trial))
    if trial.plan.kind == "crossover":
        which = "one pair of tanks" if pairs == 1 else f"{pairs} pairs of tanks"
        plan = trial.plan
        return f"{which} with the arms swapped over {len(plan.swapped)} periods of {plan.period_days:g} days"
    if pairs:
        return "one pair of tanks" if pairs == 1 else f"{pairs} pairs of tanks"
    return "one tank per arm" if fewest == 1 else f"{fewest} tanks per arm"


def _side_by_side_shows(trial: Trial, fewest: int) -> tuple[str, str]:
    if fewest == 1:
        can = "It can show whether these tanks differ"
        can += ", and whether the difference changed after the arms began." if trial.baseline_days else "."
        return (
            can,
            f"It cannot tell the {trial.factor} from other differences between the tanks; more tanks or a crossover "
            "could.",
        )
    what = "pairs" if trial.plan.kind == "pairs" else "tanks"
    can = f"It can show an effect of the {trial.factor} over {what}"
    can += "." if fewest > 2 else f", but only a very large one with so few {what}."
    return can, "It cannot say how the effect is in other people's tanks; pooling trials could."


def _crossover_shows(trial: Trial) -> tuple[str, str]:
    pairs = len(pairs_of(trial))
    if pairs > 2:
        can = f"It can show an effect of the {trial.factor} over pairs, each tank compared with itself."
        return can, "It cannot say how the effect is in other people's tanks; pooling trials could."
    these = "this pair" if pairs == 1 else "these pairs"
    cannot = f"It cannot say whether other tanks would do the same, for only {these} of tanks was asked."
    if pairs > 1:
        cannot = cannot.replace("was asked", "were asked")
    if len(trial.plan.swapped) < FEWEST_PERIODS:
        can = f"With fewer than {FEWEST_PERIODS} periods it can show that these tanks differed as arms were swapped."
        return can, f"It cannot tell the {trial.factor} from drift over time; at least {FEWEST_PERIODS} periods could."
    washout = washout_half_lives(trial)
    if not washout >= WASHOUT_HALF_LIVES:
        long = f"{washout:.2g} half-lives" if math.isfinite(washout) else "an unknown number of half-lives"
        return (
            f"It can show that a difference went with the {trial.factor} in {these} of tanks.",
            f"The washout lasts {long} of what is dosed; under {WASHOUT_HALF_LIVES:g} what the former regime left is "
            "still there, so the difference cannot be said to follow it.",
        )
    return f"It can show whether a difference follows the {trial.factor} in {these} of tanks.", cannot


def after_crossover(trial: Trial) -> str:
    """Return what comes after a trial that swapped its regimes itself: what it lacked, else other tanks.

    Swapping its arms once more would only turn its periods round.
    """
    plan, washout = trial.plan, washout_half_lives(trial)
    lacking: list[str] = []
    if len(plan.swapped) < FEWEST_PERIODS:
        lacking.append(f"at least {FEWEST_PERIODS} periods instead of {len(plan.swapped)}")
    if not washout >= WASHOUT_HALF_LIVES:
        half = half_life_days(trial)
        known = math.isfinite(half)
        long = f", {math.ceil(WASHOUT_HALF_LIVES * half - 1e-9)} days" if known else ": write `half_life` down first"
        lacking.append(f"a washout of {WASHOUT_HALF_LIVES:g} half-lives{long}")
    if len(plan.swapped) >= FEWEST_PERIODS and in_blocks(np.array(plan.swapped)):
        lacking.append("an order drawn by lot instead of one block each way")
    if lacking:
        listed = lacking[0] if len(lacking) == 1 else f"{', '.join(lacking[:-1])} and {lacking[-1]}"
        return f"The same crossover again tells more with {listed}."
    pairs = len(pairs_of(trial))
    if pairs < 3:
        more = 3 - pairs
        return (
            f"What these tanks show is shown: ask others. {more} more pair{'s' if more > 1 else ''} that swap"
            f"{'' if more > 1 else 's'} in the same way make three, of which a regime may be spoken; or let four other "
            "keepers do the same and pool it."
        )
    return "What these pairs show is shown: ask other homes. Let at least four other keepers do the same and pool it."


def draw_arms(tanks: Sequence[str], arms: Sequence[str], *, rng: np.random.Generator) -> dict[str, tuple[str, ...]]:
    """Draw by lot which tanks each arm gets: all tanks, as evenly as they go, every division as likely as any other.

    Keep the number that `rng` starts from in the trial file (`draw`), so that anyone can repeat it. Raises DrawError.
    """
    if len(set(tanks)) < len(tanks) or len(set(arms)) < len(arms):
        raise DrawError("A name is given twice. Give every tank and every arm its own.")
    if len(arms) < 2 or len(tanks) < len(arms):
        raise DrawError(
            f"{len(tanks)} tanks cannot be drawn for {len(arms)} arms. Every arm needs a tank, and two arms."
        )
    tank_order = [tanks[place] for place in rng.permutation(len(tanks))]
    arm_order = [arms[place] for place in rng.permutation(len(arms))]
    drawn: dict[str, list[str]] = {arm: [] for arm in arms}
    for place, tank in enumerate(tank_order):
        drawn[arm_order[place % len(arms)]].append(tank)
    return {arm: tuple(tank for tank in tanks if tank in drawn[arm]) for arm in arms}


def draw_again(trial: Trial) -> bool | None:
    """Return whether drawing again from the number kept divides the tanks as the trial has them; None without one.

    The arms of the file in their order, and its tanks in theirs, are drawn as `draw_arms` does.
    """
    if trial.draw_seed is None:
        return None
    in_arms = {tank for arm in trial.arms for tank in arm.tanks}
    tanks = tuple(tank for tank in trial.tanks if tank in in_arms)
    drawn = draw_arms(tanks, tuple(arm.key for arm in trial.arms), rng=np.random.default_rng(trial.draw_seed))
    return all(set(drawn[arm.key]) == set(arm.tanks) for arm in trial.arms)
