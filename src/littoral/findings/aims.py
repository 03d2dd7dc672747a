"""The aims of a trial as numbers: what each arm reached of each, with its doubt, as draws; nothing is weighed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.errors import LittoralError
from littoral.findings.model import Finding
from littoral.findings.response_ratio import NORMAL_95
from littoral.findings.showing import GROWTH, MINUS, account_doubt, decimals_for, unit_of
from littoral.stats.frontier import Better
from littoral.stats.series import FloatArray
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

WANTED: Mapping[str, Better] = {
    "height growth": "higher",
    "cover growth": "higher",
    "compactness": "higher",
    "redness": "higher",
    "algae": "lower",
    "regrowth": "lower",
    "algae onset": "higher",
    "condition": "higher",
    "algae score": "lower",
    "care minutes": "lower",
    "cost": "lower",
}
"""Which way most people want it: common practice, no source. Trimmings are wanted by some and a nuisance to others."""

DRAWS = 4000


class AimsError(LittoralError):
    """Aims that were asked for and are none; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class AimOf:
    """One aim: its measure, the unit its values are shown in, which way is wanted, and the finding behind it."""

    measure: str
    unit: str
    better: Better
    finding: Finding


@dataclass(frozen=True, slots=True, eq=False)
class Reached:
    """What the arms reached: `values` (draws, arms, aims) in the aims' units, and why other aims are left out."""

    arms: tuple[str, ...]
    aims: tuple[AimOf, ...]
    values: FloatArray
    left_out: tuple[str, ...]


def reached(
    trial: Trial,
    findings: Sequence[Finding],
    *,
    rng: np.random.Generator,
    wanted: Mapping[str, Better] | None = None,
    draws: int = DRAWS,
) -> Reached:
    """Return draws of what the first two arms reached in each aim that was asked about and answered.

    Values lie a drawn difference apart around the mean of both arms: the difference has its own interval, which holds
    what the two tanks have in common, widened by what cameras may make of themselves. `wanted` replaces the direction
    of a measure. An account of what was written down has no doubt. Raises AimsError for a measure that is none.
    """
    ways = {**WANTED, **(wanted or {})}
    strange = [measure for measure in ways if measure not in MEASURES]
    if strange:
        raise AimsError(f"There is no measure {strange[0]!r}; there are {', '.join(MEASURES)}.")
    names = tuple(arm.name for arm in trial.arms[:2])
    aims: list[AimOf] = []
    columns: list[FloatArray] = []
    left_out: list[str] = []
    for measure in dict.fromkeys(finding.measure for finding in findings):
        own = [finding for finding in findings if finding.measure == measure]
        finding = next((one for one in own if one.primary), own[0])
        if measure not in ways:
            left_out.append(f"{measure}: wanted by some, a nuisance to others; say which way you want it.")
            continue
        column = _column(trial, finding, rng, draws)
        if isinstance(column, str):
            left_out.append(f"{measure}: {column}")
            continue
        shown = 100.0 if measure in GROWTH else 1.0
        unit = "% per day" if measure in GROWTH else unit_of(measure, trial.currency)
        aims.append(AimOf(measure, unit, ways[measure], finding))
        columns.append(shown * column)
    values = np.stack(columns, axis=2) if columns else np.empty((draws, len(names), 0))
    return Reached(names, tuple(aims), values, tuple(left_out))


def value_text(drawn: FloatArray) -> str:
    """Return the median of draws (n,) with its 95 % interval: "2.7 (2.6 to 2.8)", with the digits its doubt leaves.

    Exact values have three digits and no interval.
    """
    low, middle, high = (float(one) for one in np.quantile(drawn, [0.025, 0.5, 0.975]))
    digits = decimals_for(account_doubt(middle) if high == low else (high - low) / 2)
    texts = [f"{round(one, digits) + 0.0:.{digits}f}".replace("-", MINUS) for one in (middle, low, high)]
    return texts[0] if high == low else f"{texts[0]} ({texts[1]} to {texts[2]})"


def _column(trial: Trial, finding: Finding, rng: np.random.Generator, draws: int) -> FloatArray | str:
    """Return draws (draws, 2) of both arms in the measure's unit, or why there are none."""
    if MEASURES[finding.measure].compared != "difference" and finding.rule != "not answered":
        return f"told in words ({finding.effect_words}); days of waiting and ranks are not weighed against numbers."
    if finding.effect is None:
        return f"not answered, {finding.missing}." if finding.missing else "not answered."
    middles, errors = [], []
    for arm in trial.arms[:2]:
        own = [value for value in finding.arms if value.arm == arm.key]
        if not own:
            return f"there is no value of {arm.name}."
        middles.append(sum(value.value for value in own) / len(own))
        spread = [0.0 if one.low is None or one.high is None else _error(one.low, one.high) for one in own]
        errors.append(math.sqrt(sum(one**2 for one in spread)) / len(own))
    difference, low, high = finding.effect, finding.low, finding.high
    if not finding.absolute:
        if finding.change is None:
            return "without a card in the water of each tank only a change could be told, and there was no baseline."
        difference, low, high = finding.change.value, finding.change.low, finding.change.high
    doubt = 0.0 if low is None or high is None else _error(low, high)
    if low is not None and finding.camera_term:
        doubt = math.hypot(doubt, finding.camera_term / NORMAL_95)
    if not all(map(math.isfinite, (*middles, *errors, difference, doubt))):
        return "its interval is open to one side."
    middle = sum(middles) / 2 + math.hypot(*errors) / 2 * rng.standard_normal(draws)
    apart = difference + doubt * rng.standard_normal(draws)
    return np.column_stack([middle - apart / 2, middle + apart / 2])


def _error(low: float, high: float) -> float:
    return (high - low) / (2 * NORMAL_95)
