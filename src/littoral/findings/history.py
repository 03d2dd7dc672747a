"""All trials of one bench side by side, what they say of its tanks, and which one is asked for next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.findings.baseline_tanks import BaselineEffect, baseline_effects
from littoral.findings.model import Finding, Interval
from littoral.findings.pooled_showing import range_text, unit_text
from littoral.findings.showing import doubt_of, sentence, shown
from littoral.findings.spread_seen import spread_words
from littoral.findings.tank_effects import Result, TankEffect, tank_effects, tank_words
from littoral.trial.design import after_crossover
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class PastTrial:
    """One trial in the history: its key, title, first and last day, who stood where, and one cell for each measure.

    A cell is (difference in words, wording); it is ("", why) where the question has no answer, and None where it was
    not asked.
    """

    key: str
    title: str
    start: date
    end: date
    arms: str
    factor: str
    rendered: bool
    cells: tuple[tuple[str, str] | None, ...]


@dataclass(frozen=True, slots=True)
class History:
    """The trials oldest first, the measures asked about in any of them, tank effects, and what comes next.

    `baselines` tell how tanks differ under the same care, before the regimes began. `units` are those of the
    measures' differences; `tank_words` say the tank effects in sentences, `spreads` how far equal tanks differ.
    `next_key` is the trial whose arms are to be swapped next, "" where something else comes first; `proposal` says it.
    """

    measures: tuple[str, ...]
    units: tuple[str, ...]
    trials: tuple[PastTrial, ...]
    tanks: tuple[TankEffect, ...]
    tank_words: tuple[str, ...]
    baselines: tuple[BaselineEffect, ...]
    spreads: tuple[str, ...]
    next_key: str
    proposal: str


def history_of(results: Sequence[Result]) -> History:
    """Return the history of trials with their findings, in any order; the oldest start comes first."""
    ordered = sorted(results, key=lambda one: (one[0].start, one[0].key))
    asked = {finding.measure for _, findings in ordered for finding in findings}
    measures = tuple(measure for measure in MEASURES if measure in asked)
    key, proposal = _next(ordered)
    currency = ordered[-1][0].currency if ordered else ""
    effects = tank_effects(ordered)
    return History(
        measures=measures,
        units=tuple(unit_text(measure, "difference", currency, difference=True) for measure in measures),
        trials=tuple(_past(trial, findings, measures, currency) for trial, findings in ordered),
        tanks=effects,
        tank_words=tank_words(effects),
        baselines=baseline_effects(ordered),
        spreads=spread_words(ordered),
        next_key=key,
        proposal=proposal,
    )


def last_day(trial: Trial) -> date:
    """Return the date of a trial's last day."""
    return trial.start + timedelta(days=max(0, round(trial.length_days) - 1))


def _past(trial: Trial, findings: Sequence[Finding], measures: Sequence[str], currency: str) -> PastTrial:
    cells = []
    for measure in measures:
        own = [finding for finding in findings if finding.measure == measure]
        chosen = next((finding for finding in own if finding.primary), own[0] if own else None)
        cells.append(None if chosen is None else answer_cell(chosen, trial, currency))
    arms = "; ".join(f"{arm.name}: {', '.join(trial.tanks[tank].name for tank in arm.tanks)}" for arm in trial.arms)
    return PastTrial(
        key=trial.key,
        title=trial.title,
        start=trial.start,
        end=last_day(trial),
        arms=arms,
        factor=trial.factor,
        rendered=trial.rendered,
        cells=tuple(cells),
    )


def answer_cell(finding: Finding, trial: Trial, currency: str) -> tuple[str, str]:
    """Return a finding's difference with its interval, "" where there is none, and what it claims or lacks."""
    if finding.effect_words:
        return finding.effect_words, f"{finding.wording.partition('. ')[0].rstrip('.')}."
    if finding.effect is None:
        return "", f"Not answered: {finding.missing}." if finding.missing else "Not answered."
    if finding.low is None or finding.high is None:
        doubt = doubt_of(finding)
        number = shown(finding.measure, finding.effect, doubt=doubt, signed=True, unit=False)
    else:
        number = range_text(finding.measure, "difference", Interval(finding.effect, finding.low, finding.high))
    if finding.measure == "cost" and trial.currency != currency:
        number = f"{number} {trial.currency}"
    claim, colon, _ = finding.wording.partition(". ")[0].rstrip(".").partition(":")
    return number, f"{claim}: {finding.rule}." if colon else f"{claim}."


def _next(ordered: Sequence[Result]) -> tuple[str, str]:
    """Return which trial to swap, and the proposal: a swap as long as the last arms stood one way round more often."""
    if not ordered:
        return "", "There is no trial yet. The first one tells how alike the tanks are before anything differs."
    trial, findings = ordered[-1]
    step = next((one.next_step for one in findings if one.primary), findings[0].next_step if findings else "")
    if trial.plan.kind == "crossover":
        return "", f"The last trial swapped its regimes itself. {after_crossover(trial)}"
    if len(trial.arms) != 2 or len(trial.arms[0].tanks) != len(trial.arms[1].tanks):
        return "", step or "The last trial has not two arms of equally many tanks: decide by hand what comes next."
    here = there = 0
    for other, _ in ordered:
        if _names(other) == _names(trial) and other.factor == trial.factor:
            if _places(other) == _places(trial):
                here += 1
            elif sorted(_places(other).values()) == sorted(_places(trial).values()):
                there += 1
    if here > there:
        pair = f"{sentence(trial.arms[0].name)} and {trial.arms[1].name}"
        drawn = bool(trial.plan.start_drawn_from)  # its start was drawn for it; the sequel needs a draw of its own
        return "" if drawn else trial.key, (
            f"Next: the last trial with its arms swapped. {pair} have stood this way round {_times(here)} "
            f"and the other way {_times(there)}; only the swap tells the tank from the {trial.factor}. "
            f"{'Draw its start day anew; everything' if drawn else 'Everything'} else stays as it is."
        )
    return "", f"Both ways round have been tried {_times(here)} each: a further swap of this pair tells little. {step}"


def _names(trial: Trial) -> frozenset[str]:
    return frozenset(arm.name.casefold() for arm in trial.arms)


def _places(trial: Trial) -> dict[str, tuple[str, ...]]:
    return {arm.name.casefold(): tuple(sorted(arm.tanks)) for arm in trial.arms}


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")
