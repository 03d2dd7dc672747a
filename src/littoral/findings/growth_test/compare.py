"""Doses against the control in one number of each vessel: inhibition, Dunnett's test, Williams' where asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from littoral.findings.growth_test.model import Compared, Group, Rule, Versus, VesselGrowth, values_of
from littoral.findings.growth_test.words import compared_words, versus_words
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.stats.many_to_one import Side, dunnett, dunnett_half_widths, residual_normality, williams
from littoral.stats.oecd import inhibition_percent
from littoral.stats.series import FloatArray

LEVEL = 0.05


def compared(
    vessels: Sequence[VesselGrowth],
    groups: Sequence[Group],
    *,
    of: str,
    unit: str,
    factor: str,
    side: Side | None,
    ask_williams: bool,
    valid: bool,
    dose_unit: str,
) -> Compared:
    """Return one number of all `vessels`, each dose against the control (the first of `groups`).

    A group in which that number is missing of a vessel takes no part in the test. Without at least two vessels in the
    control and in one dose there is no test. `valid` is False where the guideline's own criteria fail.
    """
    whole = {group.name: sum(one.group == group.name for one in vessels) for group in groups}
    values = {group.name: values_of(vessels, group.name, of) for group in groups}
    control, *doses = groups
    lost = [name for name, count in whole.items() if values[name].size < count]
    tested = [one for one in doses if one.name not in lost and values[one.name].size >= 2]
    why_not = _why_not(control, doses, tested, values, lost, of)
    normality = None
    numbers: dict[str, dict[str, float | bool]] = {}
    df = None
    if not why_not:
        arrays, against = [values[one.name] for one in tested], values[control.name]
        found, reach = dunnett(arrays, against, side=side), dunnett_half_widths(arrays, against, side=side)
        df = found.df
        for at, one in enumerate(tested):
            difference = float(found.difference[at])
            numbers[one.name] = {
                "difference": difference, "t": float(found.statistic[at]), "p_value": float(found.p_value[at]),
            }  # fmt: skip
            if side != "less":
                numbers[one.name]["low"] = difference - float(reach[at])
            if side != "greater":
                numbers[one.name]["high"] = difference + float(reach[at])
        if ask_williams and all(one.amount is not None for one in tested):
            ordered = williams(arrays, against, side=side or "less", level=LEVEL)
            for at, one in enumerate(tested):
                numbers[one.name] |= {
                    "williams_t": float(ordered.statistic[at]), "williams_critical": float(ordered.critical[at]),
                    "williams_p": float(ordered.p_value[at]), "williams_called": ordered.called[at],
                }  # fmt: skip
        normality = residual_normality([against, *arrays])
    rows = [
        _versus(one, control, values, numbers.get(one.name, {}), of=of, unit=unit, factor=factor, valid=valid,
                lost=one.name in lost, side=side)
        for one in groups
    ]  # fmt: skip
    return Compared(
        of=of,
        unit=unit,
        control=rows[0],
        doses=tuple(rows[1:]),
        df=df,
        side=side,
        normality=normality,
        wording=compared_words(rows[1:], of=of, factor=factor, why_not=why_not, dose_unit=dose_unit),
        why_not=why_not,
    )


def _why_not(
    control: Group, doses: Sequence[Group], tested: Sequence[Group], values: dict[str, FloatArray], lost: list[str],
    of: str,
) -> str:  # fmt: skip
    if not doses:
        return "the table holds one group only, so there is nothing to compare"
    if control.name in lost:
        return f"a vessel of the control has no {of}: nothing was left of it"
    if values[control.name].size < 2 or not tested:
        return "a test needs at least two vessels of the control and of a dose, since the vessel is the unit"
    spread = [float(np.ptp(values[one.name])) for one in (control, *tested)]
    if max(spread) <= 1e-12 * max(1.0, *(float(np.abs(values[one.name]).max()) for one in (control, *tested))):
        return "the vessels of every group came out exactly alike, so there is no spread to test against"
    return ""


def _versus(
    group: Group,
    control: Group,
    values: dict[str, FloatArray],
    numbers: dict[str, float | bool],
    *,
    of: str,
    unit: str,
    factor: str,
    valid: bool,
    lost: bool,
    side: Side | None,
) -> Versus:
    own, against = values[group.name], values[control.name]
    mean = float(own.mean()) if own.size and not lost else None
    usual = float(against.mean()) if against.size else None
    inhibited = None
    if mean is not None and usual is not None and usual > 0 and group is not control:
        inhibited = inhibition_percent(control=usual, treated=mean)
    fewest = min(own.size, against.size)
    rule = _rule(numbers, fewest, valid=valid)
    made = Versus(
        group=group.name, vessels=int(own.size), mean=mean,
        spread=float(own.std(ddof=1)) if own.size > 1 and not lost else None,
        inhibition_percent=inhibited, difference=_number(numbers, "difference"), low=_number(numbers, "low"),
        high=_number(numbers, "high"), t=_number(numbers, "t"), p_value=_number(numbers, "p_value"),
        williams_t=_number(numbers, "williams_t"), williams_critical=_number(numbers, "williams_critical"),
        williams_p=_number(numbers, "williams_p"),
        williams_called=bool(numbers["williams_called"]) if "williams_called" in numbers else None,
        rule=rule, wording="",
    )  # fmt: skip
    if group is control:
        return made
    said = versus_words(made, usual, of=of, unit=unit, factor=factor, controls=int(against.size), lost=lost, side=side)
    return replace(made, wording=said)


def _number(numbers: dict[str, float | bool], key: str) -> float | None:
    return float(numbers[key]) if key in numbers else None


def _rule(numbers: dict[str, float | bool], fewest: int, *, valid: bool) -> Rule:
    """Return how much may be said of one dose: what the numbers allow, and never more than its vessels do."""
    if not numbers:
        return "no test"
    if not valid:
        return "test not valid"
    if numbers["p_value"] >= LEVEL:
        return "cannot tell"
    return "effect of the dose" if fewest >= TANKS_FOR_A_REGIME else "these vessels differ"
