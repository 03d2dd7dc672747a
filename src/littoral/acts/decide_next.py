"""Decide what to do next week: several aims of one trial side by side, and the small steps that follow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from littoral.acts.answer_questions import answer_questions
from littoral.acts.see_levels import see_levels
from littoral.errors import Fault, FaultsError, MissingExtraError
from littoral.findings.decide import Decision, decide_next
from littoral.findings.estimates.estimated import NothingToEstimateError
from littoral.findings.estimates.model import Estimates
from littoral.findings.model import Finding
from littoral.findings.next_week.model import WeekAhead
from littoral.findings.next_week.outlook import tanks_ahead
from littoral.progress import Progress
from littoral.publish.chart import Chart
from littoral.publish.frontier_chart import Aim, frontier_chart
from littoral.stats.frontier import Better
from littoral.tank.events import BalanceError
from littoral.tank.fit.methods import FitError
from littoral.trial.days import day_of
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

SEED = 20260302
"""The draws behind a decision are the same each time, so that a page does not change when it is loaded again."""


NOT_WORKED_OUT = "The levels are not worked out yet: open Levels, then come back."


def wanted_of(texts: Sequence[str]) -> dict[str, Better]:
    """Return directions of "MEASURE=higher" or "MEASURE=lower". FaultsError with all that is wrong."""
    found: dict[str, Better] = {}
    faults = []
    for text in texts:
        measure, _, way = (part.strip().lower() for part in text.partition("="))
        if measure not in MEASURES or way not in ("higher", "lower"):
            right = f'Write it like "redness=higher"; measures are {", ".join(MEASURES)}.'
            faults.append(Fault(f'is "{text[:60]}".', right, "--want"))
        else:
            found[measure] = "higher" if way == "higher" else "lower"
    if faults:
        raise FaultsError(faults)
    return found


def decision_of(
    trial: Trial,
    findings: Sequence[Finding],
    *,
    now: datetime,
    wanted: Mapping[str, Better] | None = None,
    estimates: Estimates | None = None,
    levels_said: str = NOT_WORKED_OUT,
) -> Decision:
    """Return the decision of an answered trial at `now` (aware), the same for the same findings and levels.

    `estimates` are its levels where they are worked out; otherwise `levels_said` says why not.
    """
    return decide_next(
        trial,
        findings,
        rng=np.random.default_rng(SEED),
        wanted=wanted,
        tanks=None if estimates is None else tanks_ahead(trial, estimates),
        levels_said=levels_said,
        running=day_of(now, trial) < trial.length_days,
    )


def decide(
    folder: Path,
    key: str | None = None,
    *,
    now: datetime,
    wanted: Mapping[str, Better] | None = None,
    with_levels: bool = True,
    progress: Progress | None = None,
) -> tuple[Trial, Decision]:
    """Answer a trial, fit its levels, and return what follows for next week at `now` (aware); see `findings.decide`.

    Without `with_levels` it goes by findings alone, which is quicker where levels were never fitted.
    Where no level can be estimated, or entries contradict each other, the decision says so and goes by findings alone.
    """
    answered = answer_questions(folder, key, progress=progress)
    estimates, said = None, "Levels were left out, as asked."
    try:
        if with_levels:
            estimates = see_levels(folder, answered.trial.key, now=now, progress=progress).estimates
    except (NothingToEstimateError, FitError, BalanceError, MissingExtraError) as error:
        said = str(error)[:1].upper() + str(error)[1:]
    found = decision_of(
        answered.trial, answered.findings, now=now, wanted=wanted, estimates=estimates, levels_said=said
    )
    return answered.trial, found


def aims_chart(trial: Trial, decision: Decision, *, width_px: float = 760) -> Chart | None:
    """Return the picture of the aims, the first that draws on the horizontal axis; None below two aims."""
    of = decision.reached
    aims = [Aim(aim.measure, aim.unit, aim.better) for aim in of.aims]
    return frontier_chart(of.arms, aims, of.values, rendered=trial.rendered, width_px=width_px)


def decision_json(trial: Trial, decision: Decision) -> dict[str, Any]:
    """Return the decision as plain data."""
    of, found = decision.reached, decision.found
    low, middle, high = np.quantile(of.values, [0.025, 0.5, 0.975], axis=0) if of.aims else np.empty((3, 2, 0))
    return {
        "trial": trial.key,
        "rendered": trial.rendered,
        "arms": [
            {
                "name": name,
                "beaten_by_none": None if found is None else bool(found.unbeaten[i]),
                "share_beaten_by_none": None if found is None else float(found.share_unbeaten[i]),
                "values": {
                    aim.measure: {"value": float(middle[i, k]), "low": float(low[i, k]), "high": float(high[i, k])}
                    for k, aim in enumerate(of.aims)
                },
            }
            for i, name in enumerate(of.arms)
        ],
        "aims": [
            {"measure": aim.measure, "unit": aim.unit, "wanted": aim.better, "better": arm or None}
            for aim, arm in zip(of.aims, decision.better, strict=True)
        ],
        "left_out": list(of.left_out),
        "wording": decision.wording,
        "steps": [
            {"aims": list(step.aims), "do": step.do, "because": step.because, "watch": list(step.watch)}
            for step in decision.steps
        ],
        "open": list(decision.open_questions),
        "limits": list(decision.limits),
        "hold": decision.hold or None,
        "held_back": list(decision.held_back),
        "levels": decision.levels_said or None,
        "ahead": None if decision.ahead is None else _ahead_json(decision.ahead),
    }


def _ahead_json(ahead: WeekAhead) -> dict[str, Any]:
    return {
        "animals": list(ahead.animals),
        "steps": [
            {
                "tank": step.tank,
                "way": step.way,
                "do": step.do,
                "because": list(step.because),
                "watch": list(step.watch),
                "doses": [
                    {"bottle": one.bottle, "when": one.when, "unit": one.unit, "before": one.before, "after": one.after}
                    for one in step.changes
                ],
            }
            for step in ahead.steps
        ],
        "conflicts": [
            {"tank": one.name, "about": one.about, "more": list(one.more), "less": list(one.less)}
            for one in ahead.conflicts
        ],
        "held_back": list(ahead.held_back),
        "watch": list(ahead.watch),
    }
