"""What a test can tell: a colour kit's steps or an instrument's number, each with its own doubts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from littoral.chemistry.reading_results import step_borders as half_way
from littoral.errors import LittoralError


class FitError(LittoralError):
    """Levels cannot be fitted: `faults` lists all that is wrong, each with what would be right."""

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("levels: " + " ".join(self.faults))


@dataclass(frozen=True, slots=True)
class Method:
    """One way to test one nutrient. Every doubt is a standard deviation or a share, with its `source`.

    `kind`: "steps" (colours; the reader picks a step) or "number" (an instrument or a count of drops).
    `borders_mg_per_l`: of steps, ascending from 0 to infinity, n + 1 borders for n steps; empty where unknown.
    `bias_log_sd`: of the kit itself, the same in all its readings (natural logarithm, so 0.15 is about 15 %).
    `bias_log_mean`: middle of that bias, other than 0 where a known standard was read.
    `judgement_log_sd`: of one look at the colour. `misread_share`: of looks that land one step beside.
    `relative_sd`, `absolute_sd_mg_per_l`: of one number. `gross_share`: of readings that say nothing at all (wrong
    vial, wrong bottle). `top_mg_per_l`: end of the range such a gross error is spread over, for numbers.
    """

    key: str
    kind: Literal["steps", "number"]
    bias_log_sd: float
    gross_share: float
    source: str
    bias_log_mean: float = 0.0
    borders_mg_per_l: tuple[float, ...] = ()
    judgement_log_sd: float = 0.0
    misread_share: float = 0.0
    relative_sd: float = 0.0
    absolute_sd_mg_per_l: float = 0.0
    top_mg_per_l: float = 100.0

    def __post_init__(self) -> None:
        faults = list(_method_faults(self))
        if faults:
            raise FitError(faults)


@dataclass(frozen=True, slots=True)
class Reading:
    """One test result, always a range: low to high, mg/L of the ion, at `day` (days since day 0).

    A colour step is the range between its borders; "over 80" is (80, infinity); below detection is (0, limit); a
    number is low = high. A reading at the minute of an event counts as taken just after it.
    """

    tank: str
    nutrient: str
    day: float
    method: str
    low_mg_per_l: float
    high_mg_per_l: float
    name: str = ""


def step_borders(steps_mg_per_l: Sequence[float]) -> tuple[float, ...]:
    """Return the borders of a colour scale, mg/L, from 0 to infinity: half way between neighbours, as readings have it.

    n + 1 borders for n steps. Raises FitError for steps that do not ascend from zero or more.
    """
    steps = [float(step) for step in steps_mg_per_l]
    if len(steps) < 2 or steps[0] < 0 or any(b <= a or not math.isfinite(b) for a, b in pairwise(steps)):
        raise FitError([f"The steps {steps} do not ascend. Give two or more, from 0 up."])
    return (0.0, *half_way(steps), math.inf)


def _method_faults(method: Method) -> list[str]:
    found = []
    shares = {"gross_share": method.gross_share, "misread_share": method.misread_share}
    found += [
        f"{method.key}: {name} is {v:g}. Give a share from 0 to 0.5." for name, v in shares.items() if not 0 <= v <= 0.5
    ]
    if not method.gross_share > 0:
        found.append(f"{method.key}: gross_share is 0. Give a little, so that no single reading can rule alone.")
    if not method.bias_log_sd >= 0:
        found.append(f"{method.key}: bias_log_sd is {method.bias_log_sd:g}. Give zero or more.")
    borders = method.borders_mg_per_l
    if borders and (borders[0] != 0 or borders[-1] != math.inf or any(b <= a for a, b in pairwise(borders))):
        found.append(f"{method.key}: borders {borders}. Let them ascend from 0 to infinity.")
    if method.kind == "steps" and not method.judgement_log_sd > 0:
        found.append(f"{method.key}: judgement_log_sd is {method.judgement_log_sd:g}. Give more than zero.")
    if method.kind == "number" and not (method.absolute_sd_mg_per_l > 0 and method.relative_sd >= 0):
        found.append(f"{method.key}: give an absolute error above zero and a relative one of zero or more.")
    return found
