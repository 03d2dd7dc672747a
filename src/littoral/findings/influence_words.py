"""What leaving something out does to a finding, in words."""

from __future__ import annotations

from littoral.findings.compared import Compared
from littoral.findings.model import Influence, LeftOut, LeftOutKind, Rule
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.showing import sentence, shown
from littoral.quantities.counting import counted
from littoral.trial.design import FEWEST_PERIODS
from littoral.trial.model import Trial

NOUNS: dict[LeftOutKind, str] = {
    "day": "day",
    "place": "place",
    "tank": "tank",
    "pair": "pair",
    "period": "period",
}
NAMED = 4
"""At most so many parts are named in one sentence."""
CLAIMLESS: tuple[Rule, ...] = ("cannot tell", "not distinguishable from the camera")


def influence_text(trial: Trial, compared: Compared, rule: Rule, influence: Influence, *, of: int | None) -> str:
    """Return in one or two sentences what leaving out one part at a time does.

    `of` is the number of tanks per arm, pairs or periods where these are left out: with too few left, no data could
    carry a claim about the regime, and that is said.
    """
    noun, answer = NOUNS[influence.kind], "answer" if rule in CLAIMLESS else "claim"
    if influence.kind == "place" and compared.question.measure != "algae":
        noun = "stand"
    what = "difference" if compared.absolute else "change"
    said = f"Without {influence.most.name} {_value(trial, compared, influence.most, what)}"
    if not influence.changing:
        of_these = f"of {counted(influence.tried, noun)}{' compared' if noun == 'day' else ''}"
        most = "" if influence.tried == 1 else f"; it moves the {what} most {of_these}"
        return f"{said}{most}. The {answer} stands without any single {noun}."
    if of == TANKS_FOR_A_REGIME and rule == "effect of the regime":
        return (
            f"{said}; it moves the {what} most. Of fewer than {TANKS_FOR_A_REGIME} {noun}s nothing would be said of "
            f"the regime at all, so the claim rests on every {noun}."
        )
    if of == FEWEST_PERIODS and rule == "followed the regime in this pair":
        return (
            f"{said}; it moves the {what} most. Fewer than {FEWEST_PERIODS} periods would be too short for this claim, "
            "so it rests on every period."
        )
    listed = [_other(trial, compared, one, rule) for one in influence.changing[:NAMED]]
    more = len(influence.changing) - len(listed)
    rest = f", and so without at least {more} more" if more else ""
    first = sentence("; ".join(listed))
    if len(influence.changing) == 1:
        return f"{first}. The {answer} rests on one {noun}."
    return f"{first}{rest}. The {answer} hangs on single {noun}s."


def _other(trial: Trial, compared: Compared, one: LeftOut, rule: Rule) -> str:
    what = "difference" if compared.absolute else "change"
    said = f"without {one.name} {_value(trial, compared, one, what)}"
    if one.rule == "not answered":
        return said
    then = f"“{one.rule}”" if one.rule != rule else "in the other direction"
    return f"{said}, and the answer would be {then}"


def _value(trial: Trial, compared: Compared, one: LeftOut, what: str) -> str:
    if one.low is None or one.high is None:
        return "too little would be left to answer"
    measure = compared.question.measure
    doubt = (one.high - one.low) / 2
    low = shown(measure, one.low, doubt=doubt, signed=True, unit=False)
    high = shown(measure, one.high, doubt=doubt, currency=trial.currency, signed=True)
    return f"the {what} would be {low} to {high}"
