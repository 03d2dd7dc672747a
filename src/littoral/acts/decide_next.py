"""Decide what to do next week: several aims of one trial side by side, and the small steps that follow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from littoral.acts.answer_questions import answer_questions
from littoral.errors import Fault, FaultsError
from littoral.findings.decide import Decision, decide_next
from littoral.findings.model import Finding
from littoral.progress import Progress
from littoral.publish.chart import Chart
from littoral.publish.frontier_chart import Aim, frontier_chart
from littoral.stats.frontier import Better
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

SEED = 20260302
"""The draws behind a decision are the same each time, so that a page does not change when it is loaded again."""


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


def decision_of(trial: Trial, findings: Sequence[Finding], *, wanted: Mapping[str, Better] | None = None) -> Decision:
    """Return the decision of an answered trial, the same for the same findings."""
    return decide_next(trial, findings, rng=np.random.default_rng(SEED), wanted=wanted)


def decide(
    folder: Path,
    key: str | None = None,
    *,
    wanted: Mapping[str, Better] | None = None,
    progress: Progress | None = None,
) -> tuple[Trial, Decision]:
    """Answer a trial and return what follows for next week; see `findings.decide`."""
    answered = answer_questions(folder, key, progress=progress)
    return answered.trial, decision_of(answered.trial, answered.findings, wanted=wanted)


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
    }
