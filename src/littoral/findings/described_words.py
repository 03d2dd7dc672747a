"""Sentences on waiting times and ordered steps: a description of the tanks, or what a test over three and more says."""

from __future__ import annotations

from littoral.findings.compared import NOTHING_CAME, NOTHING_CAME_YET, Compared, TankTest
from littoral.findings.model import Rule
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import inside_sentence, shown
from littoral.speech.say import say
from littoral.stats.permutation import least_p_within
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.periods import pairs_of

FEWEST_TO_TELL = 4
"""Tanks per arm from which on an exact test over tanks can fall under 5 %: 2 of 70 dealings; of 3 and 3, 2 of 20."""
FEWEST_PAIRS_TO_TELL = 6
"""Pairs from which on turning signs can: 2 of 64."""


ACCOUNT = "an account of what is written down, without an interval"


def told_beforehand(trial: Trial, question: Question) -> str:
    """Return what a design can say of waiting times or steps before it starts; "" for other measures, or where all is.

    An exact test over few tanks cannot fall under 5 %, whatever comes. Minutes, trimmings and costs are an account of
    what is written down, and so is the yield of fewer than three tanks per arm.
    """
    if question.measure in ("care minutes", "trimmed mass", "cost"):
        return ACCOUNT
    if question.measure == "yield":
        if trial.plan.kind == "crossover":
            return say("not answered in a crossover")
        units = len(pairs_of(trial)) if trial.plan.kind == "pairs" else min(len(arm.tanks) for arm in trial.arms[:2])
        return ACCOUNT if units < TANKS_FOR_A_REGIME else ""
    if MEASURES[question.measure].compared == "difference":
        return ""
    if trial.plan.kind == "crossover":
        return say("not answered in a crossover")
    if trial.plan.blocks:
        first, second = ({*arm.tanks} for arm in trial.arms[:2])
        sizes = [(len(second & {*tanks}), len(first & {*tanks})) for _, tanks in trial.plan.blocks]
        if min(len(first), len(second)) >= 3 and least_p_within(sizes) < 0.05:
            return ""
        return say("described only: an exact test over so few tanks in each block cannot tell; more blocks could")
    pairs = len(pairs_of(trial)) if trial.plan.kind == "pairs" else 0
    units = pairs or min(len(arm.tanks) for arm in trial.arms[:2])
    least = FEWEST_PAIRS_TO_TELL if pairs else FEWEST_TO_TELL
    if units >= least:
        return ""
    return say(
        "described only: an exact test can tell from {least} {pairs} on",
        least=least,
        pairs=say("pairs") if pairs else say("tanks per arm"),
    )


def described_wording(trial: Trial, compared: Compared, rule: Rule, *, level: float, treatment: str) -> str:
    """Return the claim and what was measured; `treatment` is what the arms differ in, in a word."""
    described = compared.described
    assert described is not None
    claim = _claim(trial, compared, rule, level=level, treatment=treatment)
    if rule in ("cannot tell", "no larger than"):
        return f"{claim} {described.measured}"
    return f"{described.more}: {inside_sentence(claim)} {described.measured}"


def luck_said(tested: TankTest, *, level: float, tanks: str) -> str:
    """Return why a test does not tell: too few tanks for any outcome to be told, or an outcome that luck may give."""
    if tested.name == NOTHING_CAME:
        return say("it has not come in any tank, so there is nothing to compare.")
    if tested.name == NOTHING_CAME_YET:
        return say(
            "it had not come in any tank by the last day on which all were watched, so there is nothing to compare."
        )
    held = say(", and this question is held to {per_100}", per_100=_per_100(1 - level)) if level > 0.9501 else ""
    if tested.smallest_p >= 1 - level - 1e-12:
        least = _per_100(tested.smallest_p)
        return say(
            "with {tanks} even the clearest outcome comes by luck alone in {least} of 100 draws{held}.",
            tanks=tanks,
            least=least,
            held=held,
        )
    return say(
        "a difference as large comes by luck alone in {per_100} of 100 draws{held}.",
        per_100=_per_100(tested.p_value),
        held=held,
    )


def _claim(trial: Trial, compared: Compared, rule: Rule, *, level: float, treatment: str) -> str:
    described, per_arm = compared.described, compared.tanks_per_arm
    assert described is not None
    tanks = f"{per_arm} {'pairs' if compared.paired else 'tanks per arm'}"
    match rule:
        case "effect of the regime":
            return say("Effect of the {treatment} ({tanks}).", treatment=treatment, tanks=tanks)
        case "cannot tell":
            assert described.tested is not None
            if described.tested.name.endswith("in blocks"):
                tanks = say("{tanks}, dealt within their blocks,", tanks=tanks)
            return say("Cannot tell: {luck_said}", luck_said=luck_said(described.tested, level=level, tanks=tanks))
        case "no larger than":
            smallest = compared.question.smallest or 0.0
            measure, currency = compared.question.measure, trial.currency
            least = shown(measure, smallest, doubt=smallest, currency=currency, signed=True).lstrip("+")
            return say("No difference larger than {least}, the margin set beforehand.", least=least)
        case _:
            two = per_arm == 1 and len({value.tank for value in compared.arms}) < 3
            these = say("these two tanks") if two else say("these tanks")
            unknown = "" if described.alike else say("; tank or {treatment}, unknown", treatment=treatment)
            return say("A description of {these}{unknown}.", these=these, unknown=unknown)


def _per_100(p_value: float) -> str:
    return f"{100 * p_value:.0f}" if p_value >= 0.095 else f"{100 * p_value:.2g}"
