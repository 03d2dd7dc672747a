"""The sentences of a growth test, by rule: they say what the vessels and the test allow, and no more."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.findings.growth_test.model import Guideline, MeasuredGrowth, Rule, Versus
from littoral.findings.showing import MINUS, decimals_for, sentence
from littoral.quantities.check_row import CheckRow
from littoral.quantities.counting import counted
from littoral.stats.many_to_one import Side

RULES: dict[Rule, str] = {
    "effect of the dose": (
        "“Effect” is said from three vessels in each group on, where Dunnett's test calls the dose at 5 %. It holds if "
        "the vessels got their doses by lot and stood mixed on the bench: a table cannot show that."
    ),
    "these vessels differ": (
        "With fewer than three vessels in a group, how much equal vessels differ is hardly known: the vessels are "
        "described, and nothing is said of the dose."
    ),
    "cannot tell": (
        "The interval includes 0. That is no proof of equality: half its width (of a one-sided one, how far it reaches "
        "from the value) says how large a difference could have been missed. A dose that was not called is not shown "
        "to do nothing."
    ),
    "no test": "Nothing is tested where a group has one vessel only: fronds, shoots and days are no replicates.",
    "test not valid": "The control failed the guideline's own criteria, so nothing of the doses is claimed.",
}

SOURCES = (
    "Rates, yield, doubling time and inhibition: OECD 221 (2006); EU 761/2009, Annex VI.",
    "Dunnett 1955, J Am Stat Assoc 50:1096-1121: all doses against the control share a 5 % chance of a false call.",
)
WILLIAMS = (
    "Williams 1971, 1972, Biometrics 27:103-117, 28:519-531: one-sided, for doses that can only do more and more; from "
    "the highest dose down to the first that is not called."
)
NORMALITY = "Shapiro & Wilk 1965, Biometrika 52:591-611, of what is left about the groups' means."


def number(value: float, doubt: float) -> str:
    """Return a value with the digits that its `doubt` leaves, minus as U+2212."""
    digits = decimals_for(doubt)
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", MINUS)


def p_words(p: float) -> str:
    """Return a p value as it is said: "p = 0.03", "p < 0.001"."""
    if p < 0.001:
        return "p < 0.001"
    return "p > 0.99" if p > 0.99 else f"p = {p:.2g}"


def versus_words(
    one: Versus, control: float | None, *, of: str, unit: str, factor: str, controls: int, lost: bool, side: Side | None
) -> str:
    """Return what may be said of one dose; `control` is the control's mean, in the number's own unit."""
    if lost:
        return f"A vessel has no {of}: nothing was left of it, so this {factor} takes no part in the test."
    inhibited = one.inhibition_percent
    less = ""
    if inhibited is not None:
        less = f"{sentence(of)} {number(abs(inhibited), 1)} % {'below' if inhibited >= 0 else 'above'} the control"
    if one.difference is None or one.reach is None or one.p_value is None:
        vessels = "one vessel" if one.vessels == 1 else counted(range(one.vessels), "vessel")
        return f"{less} in {vessels}; what other vessels would do is not known." if less else "No number to compare."
    half = one.reach
    against = f"{one.vessels} vessels against {controls}"
    asked = "lower" if side == "less" else "higher"
    test = "Dunnett's test" if side is None else f"Dunnett's test, one-sided ({asked})"
    test = f"{test}, {p_words(one.p_value)}"
    said = f"{number(one.difference, half)} {unit} ({_interval_words(one, half)}; {test}; {against})."
    aside = one.difference if side == "less" else -one.difference
    if one.rule == "cannot tell" and side is not None and aside > half:
        return f"Not asked about: the test was for {asked} values only. Seen: {said}"
    if one.rule == "cannot tell":
        missed = f"{number(half, half)} {unit}"
        if control is not None and control > 0:
            missed += f" ({number(100 * half / control, 100 * half / control)} % of the control)"
        to = "" if side is None else f" to the {asked} side"
        return f"Cannot tell; a difference under {missed}{to} could have been missed. Seen: {said}"
    if one.rule == "effect of the dose":
        return f"Effect of the {factor}. {less}: {said}" if less else f"Effect of the {factor}: {said}"
    if one.rule == "these vessels differ":
        return f"A difference between these vessels; vessel or {factor}, unknown. {less}: {said}"
    return f"Measured, not claimed: the test is not valid. {less}: {said}"


def _interval_words(one: Versus, doubt: float) -> str:
    if one.low is not None and one.high is not None:
        return f"95 % interval {number(one.low, doubt)} to {number(one.high, doubt)}"
    if one.high is not None:
        return f"at most {number(one.high, doubt)}, the end of a one-sided 95 % interval"
    return f"at least {number(one.low or 0.0, doubt)}, the end of a one-sided 95 % interval"


def compared_words(rows: Sequence[Versus], *, of: str, factor: str, why_not: str, dose_unit: str) -> str:
    """Return the sum over the doses in a sentence."""
    after = f" {dose_unit}" if dose_unit else ""
    if why_not:
        return f"{sentence(of)}: no test; {why_not}."
    parts = []
    for rule, words in (
        ("effect of the dose", f"effect of the {factor} at {{}}"),
        ("these vessels differ", f"the vessels differ at {{}} (vessel or {factor}, unknown)"),
        ("cannot tell", "cannot tell at {}"),
        ("test not valid", "nothing is claimed at {}, since the test is not valid"),
        ("no test", "no test at {}"),
    ):
        names = [one.group for one in rows if one.rule == rule]
        if names:
            parts.append(words.format(listed(names) + after))
    called = [one.group for one in rows if one.williams_called]
    if any(one.williams_called is not None for one in rows) and not any(one.rule == "test not valid" for one in rows):
        parts.append(f"Williams' test calls {listed(called) + after if called else 'none'}")
    return f"{sentence(of)}: {'; '.join(parts)}."


def lead_of(guideline: Guideline, rows: Sequence[CheckRow], results: Sequence[MeasuredGrowth]) -> str:
    """Return what a person reads first: whether the test may be believed, then each measure's growth rate."""
    several = len(results) > 1
    said = [validity_words(guideline, rows)] if guideline else []
    for one in results:
        name = f"{sentence(one.measured.name)}. " if several else ""
        said.append(f"{name}{one.rate.wording}")
    return " ".join(said)


def validity_words(guideline: Guideline, rows: Sequence[CheckRow]) -> str:
    """Return what the criteria come to."""
    if not guideline:
        return "No guideline's criteria fit what was measured, so nobody has said how well the control must grow."
    if any(row.verdict == "fails" for row in rows):
        failed = listed([row.what for row in rows if row.verdict == "fails"])
        return f"Not valid by OECD {guideline}: {failed}. Nothing of the doses is claimed."
    if not rows or any(row.verdict == "cannot tell" for row in rows):
        return f"Whether the test is valid by OECD {guideline} cannot be told from this table alone."
    warned = any(row.verdict == "warns" for row in rows)
    return f"Valid by the control criteria of OECD {guideline}{', with remarks' if warned else ''}."


def listed(names: Sequence[str]) -> str:
    """Return names as a sentence lists them, those with a comma in quotation marks."""
    names = [f"“{name}”" if "," in name else name for name in names]
    return ", ".join(names[:-1]) + f" and {names[-1]}" if len(names) > 1 else "".join(names)
