"""What a person measures doses with: strokes calibrated into a cylinder, drops, millilitres, grams, level spoons.

A tool gives whole steps. What it really gives varies, and the spread is kept beside the mean.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from littoral.errors import LittoralError
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

ToolKind = Literal["mL", "stroke", "drop", "g", "spoon"]

STROKES_INTO_A_CYLINDER = 10
WIDEST_SPREAD = 0.10  # of the mean; common practice, no source
WIDEST_ROUNDING = 0.10  # of the dose; common practice, no source


class ToolError(LittoralError):
    """A measuring tool cannot be: `what` is wrong, `right` would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"measuring tool: {what}. {right}")


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool that gives whole steps of `step` mL (or g, for kinds "g" and "spoon"), at most `most_steps` of a dose.

    `spread` is the standard deviation of one step as a share of it, None where nobody measured it.
    """

    kind: ToolKind
    step: float
    most_steps: int = 20
    spread: float | None = None

    def __post_init__(self) -> None:
        """Raise ToolError for a step, a number of steps or a spread that cannot be."""
        if not (math.isfinite(self.step) and self.step > 0):
            what = f"a {self.kind} of {self.step:g} {self.unit}"
            raise ToolError(what=what, right="One step must be above zero: pump ten strokes into a cylinder and read.")
        if self.most_steps < 1:
            raise ToolError(what=f"at most {self.most_steps} steps", right="Allow at least one step of a dose.")
        if self.spread is not None and not 0 <= self.spread < 1:
            raise ToolError(what=f"a spread of {self.spread:g}", right="Give it as a share of the step, from 0 to 1.")

    @property
    def unit(self) -> Literal["mL", "g"]:
        """The unit of `step`."""
        return "g" if self.kind in ("g", "spoon") else "mL"

    def written(self, steps: int) -> str:
        """Return what a person reads for a number of steps: "3 strokes", "1 drop", "4.5 mL"."""
        if self.kind in ("mL", "g"):
            return f"{steps * self.step:.6g} {self.kind}"
        plural = "" if steps == 1 else "s"
        level = "level " if self.kind == "spoon" else ""
        return f"{steps} {level}{self.kind}{plural}"


@dataclass(frozen=True, slots=True)
class StrokeSize:
    """One stroke of a pump: mean, mL; `sd_ml` of a single stroke and `mean_se_ml`, None after a single reading.

    `checks` says whether the spread allows dosing by the stroke; `steps` how the numbers came about.
    """

    stroke_ml: float
    sd_ml: float | None
    mean_se_ml: float | None
    checks: tuple[CheckRow, ...]
    steps: tuple[Step, ...]

    def tool(self, *, most_steps: int = 20) -> Tool:
        """Return this pump as a tool."""
        spread = None if self.sd_ml is None else min(self.sd_ml / self.stroke_ml, 0.999)
        return Tool("stroke", self.stroke_ml, most_steps=most_steps, spread=spread)


def calibrate_strokes(readings_ml: Sequence[float], strokes: int = STROKES_INTO_A_CYLINDER) -> StrokeSize:
    """Return the size of one stroke from cylinder readings (mL), each of `strokes` strokes.

    The mean is the readings' mean over `strokes`. Strokes are taken to vary independently, so the SD of a reading is
    that of one stroke times the root of their number; it includes the error of reading the cylinder, and so errs to the
    wide side. One reading gives a mean without a spread. Raises ToolError: no reading, a reading not above zero, no
    stroke.
    """
    if strokes < 1:
        raise ToolError(what=f"{strokes} strokes", right="Pump at least one stroke, better ten, into a cylinder.")
    if not readings_ml:
        raise ToolError(what="no reading", right="Pump ten strokes into a measuring cylinder and read it, three times.")
    for reading in readings_ml:
        if not (math.isfinite(reading) and reading > 0):
            raise ToolError(what=f"a reading of {reading:g} mL", right="Give what the cylinder shows, above zero.")
    count = len(readings_ml)
    mean_ml = math.fsum(readings_ml) / count / strokes
    shown = " + ".join(f"{reading:g}" for reading in readings_ml)
    source = "read from a cylinder"
    steps = [Step("one stroke", f"({shown}) mL / ({count} × {strokes} strokes)", f"{mean_ml:.4g} mL", source)]
    if count == 1:
        comment = "one reading says nothing of the spread: pump and read at least twice more"
        row = CheckRow("strokes are alike", None, "<=", WIDEST_SPREAD, "of the mean", "cannot tell", comment, _PRACTICE)
        return StrokeSize(mean_ml, None, None, (row,), tuple(steps))
    reading_sd = statistics.stdev(readings_ml)
    sd_ml, se_ml = reading_sd / math.sqrt(strokes), reading_sd / strokes / math.sqrt(count)
    steps += [
        Step("spread of one stroke", f"{reading_sd:.3g} mL between readings / √{strokes}", f"SD {sd_ml:.2g} mL",
             "independent strokes"),
        Step("doubt of the mean", f"{reading_sd:.3g} mL / {strokes} / √{count}", f"± {se_ml:.2g} mL (SE)",
             "standard error of a mean"),
    ]  # fmt: skip
    spread = sd_ml / mean_ml
    comment = f"a dose of one stroke is {mean_ml:.3g} mL, give or take {sd_ml:.2g} mL; {_SPREAD_ADVICE}"
    verdict: Literal["holds", "warns"] = "holds" if spread <= WIDEST_SPREAD else "warns"
    row = CheckRow("strokes are alike", spread, "<=", WIDEST_SPREAD, "of the mean", verdict, comment, _PRACTICE)
    return StrokeSize(mean_ml, sd_ml, se_ml, (row,), tuple(steps))


_PRACTICE = "common practice, no source"
_SPREAD_ADVICE = "where that is too much, prime the pump and press it fully, or use a syringe"


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount as a tool can give it: whole `steps`, the amount (mL or g) and `off`, its error as a share of the wish.

    `low` and `high` are the ends of 95 % of what it really gives, from the tool's spread; None where that is unknown.
    """

    steps: int
    amount: float
    written: str
    off: float
    low: float | None
    high: float | None
    check: CheckRow


def measurable(wanted: float, tool: Tool) -> Measured:
    """Return the nearest amount (mL or g) that a tool gives in whole steps, at least one.

    Raises ToolError: an amount not above zero, or more than the tool's `most_steps`.
    """
    if not (math.isfinite(wanted) and wanted > 0):
        raise ToolError(what=f"a dose of {wanted:g} {tool.unit}", right="Give an amount above zero.")
    steps = max(1, round(wanted / tool.step))
    if steps > tool.most_steps:
        what = f"{wanted:g} {tool.unit} is {steps} {tool.kind} steps, more than {tool.most_steps}"
        raise ToolError(what=what, right="Use a larger measure, or a stronger stock.")
    amount = steps * tool.step
    off = amount / wanted - 1.0
    around = None if tool.spread is None else 1.96 * tool.spread * tool.step * math.sqrt(steps)
    comment = f"{tool.written(steps)} is {amount:.4g} {tool.unit}, {wanted:.4g} were wanted"
    if abs(off) > WIDEST_ROUNDING:
        comment += "; use a finer measure" if tool.unit == "g" else "; dilute the stock, or use a finer measure"
    row = CheckRow(
        "dose in whole steps",
        abs(off),
        "<=",
        WIDEST_ROUNDING,
        "of the dose",
        "holds" if abs(off) <= WIDEST_ROUNDING else "warns",
        comment,
        _PRACTICE,
    )
    low = None if around is None else max(0.0, amount - around)
    high = None if around is None else amount + around
    return Measured(steps, amount, tool.written(steps), off, low, high, row)
