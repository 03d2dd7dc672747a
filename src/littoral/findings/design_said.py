"""The design behind a finding in a few words: tanks per arm, order, washout, baseline, draw."""

from __future__ import annotations

import math

from littoral.findings.compared import Compared
from littoral.findings.swaps import Swaps
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.trial.model import Trial
from littoral.trial.periods import pairs_of


def design_text(trial: Trial, compared: Compared) -> str:
    """Return the design in a few words: tanks per arm, baseline, draw."""
    count = compared.tanks_per_arm
    if compared.missing:  # nothing was compared: as it was laid out
        pairs = len(pairs_of(trial)) if trial.plan.kind != "parallel" else 0
        count = pairs or min(len(arm.tanks) for arm in trial.arms[:2])
    swapped = trial.plan.kind == "crossover" or compared.swaps is not None
    if swapped:
        parts = [say("one pair of tanks") if count == 1 else say("{count} pairs of tanks", count=count)]
    else:
        in_pairs = compared.paired or (bool(compared.missing) and trial.plan.kind == "pairs")
        many = f"{count} {'pairs of tanks' if in_pairs else 'tanks per arm'}"
        parts = [say("one tank per arm") if count == 1 else many]
    if swapped and compared.swaps is None:  # an account, or nothing to compare yet
        parts.append(say("regimes swapped over {trial} periods", trial=len(trial.plan.swapped)))
    if compared.swaps is not None:
        swaps = compared.swaps
        order = {
            "alternating": say("in alternating order"),
            "drawn": say("in an order drawn by lot"),
            "mixed": say("in mixed order"),
            "blocks": say("in blocks"),
        }
        parts.append(
            say(
                "regimes swapped over {periods} periods {order}, {washout_said}",
                periods=swaps.periods,
                order=order[swaps.order],
                washout_said=_washout_said(swaps),
            )
        )
    if trial.plan.blocks:
        by = f" ({trial.plan.blocked_by})" if trial.plan.blocked_by else ""
        parts.append(say("in {trial}{by}", trial=counted(len(trial.plan.blocks), "block"), by=by))
    if trial.baseline_days:
        drawn = len(trial.plan.start_drawn_from)
        ended = say(", its end drawn by lot from {drawn} days", drawn=drawn) if drawn else ""
        parts.append(
            say(
                "a baseline of {baseline_days:g} days with the same care for all{ended}",
                baseline_days=trial.baseline_days,
                ended=ended,
            )
        )
    else:
        parts.append(say("no baseline"))
    parts.append(
        say("tanks drawn by lot ({drawn})", drawn=trial.drawn) if trial.drawn else say("tanks not drawn by lot")
    )
    if len(trial.arms) > 2:
        parts.append(say("only the first two arms are compared"))
    return ", ".join(parts)


def _washout_said(swaps: Swaps) -> str:
    if math.isnan(swaps.washout_half_lives):
        return say("each after a washout of unknown half-lives")
    if swaps.washout_half_lives == 0:
        return say("without a washout")
    return say(
        "each after a washout of {washout_half_lives:.2g} half-lives", washout_half_lives=swaps.washout_half_lives
    )
