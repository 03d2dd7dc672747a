"""What a trial's own design would show, and what would settle its main question, by simulated power."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from littoral.findings.model import Way
from littoral.findings.rules import assumed_spread, spread_for
from littoral.findings.showing import percent
from littoral.findings.spread import NOTHING_SEEN, Spread
from littoral.findings.what_next import MOST_PERIODS, WASHED_OUT, how_long, swappable, ways, ways_said
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.stats.power import ENOUGH, FEWEST, Power, carry_over_after, power, power_curve
from littoral.stats.simulated_designs import DesignKind, Spreads
from littoral.trial.design import FEWEST_PERIODS
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.periods import pairs_of, washout_half_lives

EFFECTS = (0.10, 0.20, 0.30)
"""Differences that are asked about, as shares of the mean (METHODS, "What two tanks can say")."""
MOST_PAIRS = 24
SEED = 20
"""Always the same draws, so that a plan is judged the same each time it is asked about."""


@dataclass(frozen=True, slots=True)
class DesignPower:
    """Power for one question: the spread it rests on, words to read, this design's own power, and curves for a chart.

    `own` is empty where the design cannot speak of the regime at any difference, or its power is not simulated.
    """

    question: str
    spreads: Spreads
    own: tuple[Power, ...]
    ways: tuple[Way, ...]
    words: tuple[str, ...]
    curves: tuple[tuple[Power, ...], ...]


def design_power(trial: Trial, *, seen: Mapping[str, Spread] = NOTHING_SEEN) -> DesignPower | None:
    """Return the power for the primary question, else the first whose measure has ratios; None where none has.

    `seen` are the spreads between equal tanks that earlier trials of the bench showed, by measure.
    """
    asked = _question(trial)
    if asked is None:
        return None
    used = spread_for(trial, asked.measure, seen)
    assert used is not None
    spread = used.share
    spreads = Spreads(tanks=spread, periods=spread / 2)
    may_swap = swappable(trial, asked.measure)
    found = ways(spread, swappable=may_swap)
    own = _own(trial, spreads)
    name = MEASURES[asked.measure].name
    words = [
        say(
            "For {name}, tanks kept alike are taken to spread by {percent} ({source}).",
            name=say(name),
            percent=percent(spread),
            source=_source(used),
        ),
        _own_said(trial, own),
        f"{ways_said(found, spread=used)}{how_long(trial, found) if may_swap else ''}"
        if found
        else say("No design of bearable size would show even a difference of 50 % at this spread."),
    ]
    return DesignPower(asked.key, spreads, own, found, tuple(words), _curves(spreads, swappable=may_swap))


def _source(used: Spread) -> str:
    if used.source == "seen" and used.low is not None and used.high is not None:
        return say(
            "seen on this bench in {trials}, {comparisons} of tanks kept alike; 95 % interval {percent} to {percent_2}",
            trials=counted(used.trials, "trial"),
            comparisons=counted(used.comparisons, "comparison"),
            percent=percent(used.low),
            percent_2=percent(used.high),
        )
    return (
        say("as the trial file says")
        if used.source == "written"
        else say("common practice for this measure, no source")
    )


def _question(trial: Trial) -> Question | None:
    open_ones = [one for one in trial.questions if assumed_spread(trial, one.measure) is not None]
    return next((one for one in open_ones if one.primary), open_ones[0] if open_ones else None)


def _kind(trial: Trial) -> tuple[DesignKind, int]:
    """Return which simulated design a trial is, and its size in pairs or periods."""
    pairs = len(pairs_of(trial)) or min(len(arm.tanks) for arm in trial.arms[:2])
    if trial.plan.kind == "crossover":
        return ("periods", len(trial.plan.swapped)) if pairs == 1 else ("swapped pairs", pairs)
    if pairs == 1:
        return ("one pair with baseline" if trial.baseline_days else "one pair"), 1
    return ("pairs with baseline" if trial.baseline_days else "pairs"), pairs


def _own(trial: Trial, spreads: Spreads) -> tuple[Power, ...]:
    kind, size = _kind(trial)
    half_lives = washout_half_lives(trial) if trial.plan.kind == "crossover" else 0.0
    if kind.startswith("one pair") or size < _fewest(trial, kind) or math.isnan(half_lives):
        return ()
    left = carry_over_after(half_lives + 1) if trial.plan.kind == "crossover" else 0.0
    return tuple(
        power(
            kind,
            size,
            effect=effect,
            spreads=spreads,
            rng=np.random.default_rng(SEED),
            carry_over=left,
            periods=max(2, len(trial.plan.swapped)),
        )
        for effect in EFFECTS
    )


def _fewest(trial: Trial, kind: DesignKind) -> int:
    """Return the least size of which a regime may be spoken; two pairs may "follow" it over four periods or more."""
    return 2 if kind == "swapped pairs" and len(trial.plan.swapped) >= FEWEST_PERIODS else FEWEST[kind]


def _own_said(trial: Trial, own: tuple[Power, ...]) -> str:
    kind, size = _kind(trial)
    if kind.startswith("one pair"):
        return say("With one pair of tanks side by side this cannot be settled, however long it runs.")
    if own:
        shows = [say("{percent} in {share}", percent=percent(one.effect), share=round(100 * one.share)) for one in own]
        plan = say("{size} of one pair", size=counted(size, "period")) if kind == "periods" else counted(size, "pair")
        if kind == "swapped pairs":
            plan = say("{plan} that swap over {periods}", plan=plan, periods=counted(len(trial.plan.swapped), "period"))
        return say(
            "As planned ({plan}), of 100 such trials a difference of {shows} and {shows_2} would "
            "show; {enough} are commonly called enough.",
            plan=plan,
            shows=", ".join(shows[:-1]),
            shows_2=shows[-1],
            enough=round(100 * ENOUGH),
        )
    if size < _fewest(trial, kind):
        unit = "periods" if kind == "periods" else "pairs"
        return say(
            "As planned, {size} cannot settle this: at least {fewest} could.",
            size=counted(size, unit[:-1]),
            fewest=counted(FEWEST[kind], unit[:-1]),
        )
    return say(
        "How long what is dosed lingers is not known, so the power of this crossover is not "
        "reckoned: write `half_life` into the design."
    )


def _curves(spreads: Spreads, *, swappable: bool) -> tuple[tuple[Power, ...], ...]:
    sizes: dict[DesignKind, tuple[int, ...]] = {
        "pairs": tuple(range(FEWEST["pairs"], MOST_PAIRS + 1)),
        "keepers": tuple(range(FEWEST["keepers"], MOST_PAIRS + 1)),
    }
    if swappable:
        sizes = {"periods": tuple(range(FEWEST["periods"], MOST_PERIODS + 1, 2)), **sizes}
    return tuple(
        power_curve(kind, of, effect=effect, spreads=spreads, rng=np.random.default_rng(SEED), carry_over=WASHED_OUT)
        for kind, of in sizes.items()
        for effect in EFFECTS
    )
