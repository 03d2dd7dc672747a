"""What to dose next week: which arm none beats, small steps that follow from findings and levels, and what to watch.

There is no score: where each arm is better in something, the person says what it is worth. No step of a finding goes
beyond the doses that one of the arms has been given already, none goes past a ceiling or a published limit where levels
are known (`findings.next_week`), and none is given while the trial runs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.aims import AimOf, Reached, reached
from littoral.findings.model import Finding, Rule
from littoral.findings.next_week.arm_moves import TankMove, tank_moves
from littoral.findings.next_week.arm_steps import Step, listed, steps_within
from littoral.findings.next_week.model import STEP, Reason, TankAhead, WeekAhead
from littoral.findings.next_week.steps import week_ahead
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import percent, sentence
from littoral.stats.frontier import Better, Frontier, frontier
from littoral.trial.days import date_of
from littoral.trial.model import Trial

SURE = 0.95
"""The share of the draws from which on an arm is called better in an aim."""

TOLD: tuple[Rule, ...] = (
    "these two tanks differ",
    "larger than equal tanks usually show",
    "difference changed after the regimes began",
    "followed the regime in this pair",
    "effect of the regime",
    "exact account",
)
"""Rules under which a difference is there to act on."""

SIGNS: Mapping[str, str] = {
    "height growth": "growth: new shoots that stay behind those of the week before",
    "cover growth": "growth: new shoots that stay behind those of the week before",
    "compactness": "leggy stems: more bare stem between the leaves",
    "redness": "leaves that lose their red, seen in photos with the card in them",
    "algae": "green on stone, wood and glass, in the same places each week",
    "care minutes": "the minutes of care, written down as before",
    "cost": "what the week used up",
}
"""What tells within a week or two that a step was wrong (common practice, no source)."""

ANIMALS = (
    "Look at the animals first, every day: if they gasp, dart or lie still, stop dosing, change water, and ask a "
    "qualified person."
)


@dataclass(frozen=True, slots=True, eq=False)
class Decision:
    """What follows from a trial: `found` is None below two aims. `better` says for each aim which arm is better, or "".

    `wording` is the sum of it, `limits` what it does not say. `ahead` is what levels and leaves say, None where levels
    are not worked out, and then `levels_said` says why. `hold` is what holds while the trial runs, "" afterwards; no
    steps are given then. `held_back` are steps of findings that levels leave no room for.
    """

    reached: Reached
    found: Frontier | None
    better: tuple[str, ...]
    wording: str
    steps: tuple[Step, ...]
    open_questions: tuple[str, ...]
    limits: tuple[str, ...]
    ahead: WeekAhead | None = None
    levels_said: str = ""
    hold: str = ""
    held_back: tuple[str, ...] = ()


def decide_next(
    trial: Trial,
    findings: Sequence[Finding],
    *,
    rng: np.random.Generator,
    wanted: Mapping[str, Better] | None = None,
    tanks: Sequence[TankAhead] | None = None,
    levels_said: str = "",
    running: bool = False,
) -> Decision:
    """Return what a trial says for next week; `wanted` sets which way a measure is wanted. AimsError.

    `tanks` are its levels ahead, None where they are not worked out, which `levels_said` explains. While it is
    `running` no step follows but for the animals.
    """
    all_of_it = reached(trial, findings, rng=rng, wanted=wanted)
    better = tuple(_better(all_of_it, k) for k in range(len(all_of_it.aims)))
    found = frontier(all_of_it.values, [aim.better for aim in all_of_it.aims]) if len(all_of_it.aims) > 1 else None
    open_questions = tuple(
        _open(aim) for aim, arm in zip(all_of_it.aims, better, strict=True) if not arm or not _told(aim.finding)
    )
    every = _steps(trial, all_of_it, better)
    told = [reason for step in every for reason in step.reasons]
    ahead = None if tanks is None else week_ahead(tanks, running=running, animals=ANIMALS, of_findings=told)
    steps, held_back = steps_within(every, tanks, beside=() if ahead is None else ahead.steps)
    return Decision(
        reached=all_of_it,
        found=found,
        better=better,
        wording=_wording(all_of_it, found, better),
        steps=() if running else steps,
        open_questions=open_questions,
        limits=_limits(trial, all_of_it, ahead),
        ahead=ahead,
        levels_said="" if ahead is not None else levels_said,
        hold=_hold(trial) if running else "",
        held_back=() if running else held_back,
    )


def _told(finding: Finding) -> bool:
    """Whether a finding tells a difference to act on: not where replicated tanks differed in the baseline already."""
    before = finding.rule == "these two tanks differ" and finding.tanks_per_arm >= TANKS_FOR_A_REGIME
    return finding.rule in TOLD and not before


def _hold(trial: Trial) -> str:
    last = date_of(max(trial.length_days - 1, 0), trial)
    return (
        f"The trial runs until {last.day} {last:%B %Y}: change nothing in its arms before the end, except for the "
        "animals' welfare. Steps are given once it is over."
    )


def _better(of: Reached, k: int) -> str:
    """Return the arm that is better in aim k in nearly all draws, or ""."""
    up = of.values[:, 1, k] - of.values[:, 0, k]
    higher, lower = float((up > 0).mean()), float((up < 0).mean())
    if of.aims[k].better == "lower":
        higher, lower = lower, higher
    return of.arms[1] if higher >= SURE else of.arms[0] if lower >= SURE else ""


def _wording(of: Reached, found: Frontier | None, better: Sequence[str]) -> str:
    if not of.aims:
        return "Nothing to decide by yet: no aim of this trial has an answer."
    if found is None:
        return f"One aim alone, {of.aims[0].measure}: its finding says all there is."
    said = []
    for arm in of.arms:
        won = [aim.measure for aim, one in zip(of.aims, better, strict=True) if one == arm]
        if won:
            said.append(f"{arm} is better in {listed(won)}")
    unsure = [aim.measure for aim, one in zip(of.aims, better, strict=True) if not one]
    shares = dict(zip(of.arms, map(float, found.share_unbeaten), strict=True))
    if min(shares.values()) >= SURE:
        lead = "Neither beats the other in everything"
    elif (beaten := min(shares, key=lambda arm: shares[arm])) and shares[beaten] <= 1 - SURE:
        other = next(arm for arm in of.arms if arm != beaten)
        lead = f"{sentence(other)} is as good or better in everything asked about"
    else:
        lead = "Which one beats the other is not settled"
    parts = [f"{lead}: {'; '.join(said)}." if said else f"{lead}: neither is clearly better in anything."]
    if unsure:
        parts.append(f"No clear difference: {listed(unsure)}.")
    if said and min(shares.values()) >= SURE:
        parts.append("What the one is worth against the other is for you to say.")
    return " ".join(parts)


def _steps(trial: Trial, of: Reached, better: Sequence[str]) -> tuple[Step, ...]:
    """Return one step towards each arm that is better in something that a finding tells."""
    steps = []
    for arm in of.arms:
        other = next(one for one in of.arms if one != arm)
        won, lost = (
            [aim for aim, best in zip(of.aims, better, strict=True) if best == name and _told(aim.finding)]
            for name in (arm, other)
        )
        if not won:
            continue
        claims = [aim.finding.wording.partition(". ")[0].rstrip(".") for aim in won]
        price = f" It may cost you what {other} was better in: {listed([one.measure for one in lost])}." if lost else ""
        watch = dict.fromkeys(SIGNS[aim.measure] for aim in (*lost, *won) if aim.measure in SIGNS)
        steps.append(
            Step(
                aims=tuple(aim.measure for aim in won),
                do=_move(other, arm, moves := _moves(trial, other, arm)),
                because=f"{'. '.join(claims)}.{price}",
                watch=(ANIMALS, *(f"{sentence(sign)}." for sign in watch)),
                moves=moves,
                reasons=_reasons(arm, moves, won),
            )
        )
    return tuple(steps)


def _open(aim: AimOf) -> str:
    name = sentence(aim.measure)
    if aim.finding.rule == "no larger than":
        return f"{name}: no difference that matters; by this aim either will do."
    return f"{name}: no step follows yet. {aim.finding.next_step}".strip()


def _moves(trial: Trial, start: str, goal: str) -> tuple[TankMove, ...]:
    mine, theirs = (next(arm for arm in trial.arms if arm.name == name) for name in (start, goal))
    return tank_moves(trial, mine, theirs)


def _move(start: str, goal: str, moves: Sequence[TankMove]) -> str:
    """Return what to do, and what it comes to in a week: once for tanks in which that is the same."""
    tanks = listed([one.name for one in moves])
    said = f"Where {start} is fed ({tanks}), go a quarter of the way to {goal} for one week, and look before going on."
    by_words: dict[str, list[str]] = {}
    for one in moves:
        if words := _week_words(one):
            by_words.setdefault(words, []).append(one.name)
    if not by_words:
        return said
    if list(by_words.values()) == [[one.name for one in moves]]:
        return f"{said} In a week that is {next(iter(by_words))}."
    each = [f"{words} in {listed([f'the {name}' for name in names])}" for words, names in by_words.items()]
    return f"{said} In a week that is {'; '.join(each)}."


def _week_words(move: TankMove) -> str:
    if move.now is None or move.then is None:
        return ""
    moved = [
        f"{NUTRIENTS[key].name} {now + STEP * (then - now):.3g} instead of {now:.3g} mg/L"
        for key in NUTRIENTS
        if key in ("nitrate", "phosphate", "potassium", "iron")
        for now, then in [(move.now.get(key, 0.0), move.then.get(key, 0.0))]
        if abs(now - then) > 0.01 * max(now, then)
    ]
    return listed(moved)


def _reasons(goal: str, moves: Sequence[TankMove], won: Sequence[AimOf]) -> tuple[tuple[str, Reason], ...]:
    words = f"{sentence(goal)} was better in {listed([aim.measure for aim in won])}."
    return tuple(
        (one.tank, Reason(key, "up" if more > 0 else "down", "finding", words))
        for one in moves
        for key, more in (one.more or {}).items()
    )


def _limits(trial: Trial, of: Reached, ahead: WeekAhead | None) -> tuple[str, ...]:
    limits = []
    if ahead is None:
        limits.append("No step was held against levels, ceilings or published limits.")
    else:
        limits.append(
            "Levels are estimates with doubt. A step up keeps the upper end of the 90 % range below every ceiling and "
            "published limit for two weeks, with all that is added counted and none taken up. Published limits are no "
            "aquarium limits."
        )
    if any(aim.finding.tanks_per_arm < 3 and aim.finding.rule != "followed the regime in this pair" for aim in of.aims):
        limits.append(
            f"With so few tanks this tells which tank did better, not that the {trial.factor} did it; other tanks may "
            "do otherwise, and that doubt is not in these numbers."
        )
    if any(not aim.finding.absolute for aim in of.aims):
        limits.append("Without a card in the water, the change since the baseline stands for the difference.")
    limits.append(
        "A quarter of the way is common practice, without a source. An arm is called better where at least "
        f"{percent(SURE)} of draws from the intervals say so. What each arm reached is set so that the two lie as far "
        "apart as the finding says; by itself it may be off a little from the values under the finding."
    )
    return tuple(limits)
