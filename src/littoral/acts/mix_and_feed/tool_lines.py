"""A tool whose size was found, not stated, as a line to read: a counted stroke, a level spoon, and their spread."""

from __future__ import annotations

import math
from dataclasses import replace

from littoral.acts.mix_and_feed.bottle_form import ToolLine
from littoral.acts.mix_and_feed.figures import Figure, figure, plain
from littoral.acts.mix_and_feed.shelf_reading import Shelf
from littoral.acts.mix_and_feed.tool_reading import Sized
from littoral.feeding.spoons import SpoonHolds
from littoral.feeding.tools import StrokeSize, Tool, measurable
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step
from littoral.quantities.preferred import amounts

BRIM = 1e-9
WIDE = 1.96  # standard deviations to either side of 95 % of normal deviates
OFTEN = "19 times of 20"


def tool_lines(shelf: Shelf) -> tuple[ToolLine, ...]:
    """Return a line for each bottle whose stroke was counted into a cylinder, or that is measured by level spoons."""
    return tuple(_line(shelf, key, sized) for key, sized in shelf.sized.items())


def tool_checks(shelf: Shelf) -> tuple[CheckRow, ...]:
    """Return whether each such tool is even enough to dose by; for spoons, the advice to weigh."""
    rows: list[CheckRow] = []
    for key, sized in shelf.sized.items():
        checks = sized.checks if isinstance(sized, StrokeSize) else (sized.check,)
        rows += [replace(check, what=f"{check.what}, {shelf.bottles[key].name}") for check in checks]
    return tuple(rows)


def given_really(amount: float, tool: Tool | None, sized: Sized | None) -> Figure | None:
    """Return what a tool really gives for a dose (mL or g): the nearest whole steps, and the range where it is known.

    None where there is nothing to add: no tool, more than it can give, or a dose in whole steps of unknown spread.
    Strokes vary one by one, so their errors add as squares; a salt lies loose or dense, so those of spoons just add up.
    """
    if tool is None or amount <= 0 or amount > tool.step * tool.most_steps * (1 + BRIM):
        return None
    found = measurable(amount, tool)
    unit, steps, exact = tool.unit, [], abs(found.off) < BRIM
    if not exact:
        formula = f"{amount:.4g} {unit} / {tool.step:.4g} {unit}, to whole steps"
        steps.append(Step("nearest measure", formula, f"{found.written}, {found.amount:.4g} {unit}"))
    ends = _ends(found.steps, sized)
    if ends is not None:
        low, high, how = ends
        steps.append(how)
    text = "" if exact else f"nearest {found.written}, {plain(found.amount, 4)} {unit}"
    if ends is not None:
        really = f"{plain(low)} to {plain(high)} {unit}"
        text = f"{text}{', ' if text else ''}really {really}" + (f", {OFTEN}" if isinstance(sized, StrokeSize) else "")
    return Figure(amounts(text), found.amount, unit, tuple(steps)) if text else None


def _ends(count: int, sized: Sized | None) -> tuple[float, float, Step] | None:
    if isinstance(sized, StrokeSize) and sized.sd_ml is not None:
        middle, around = count * sized.stroke_ml, WIDE * sized.sd_ml * math.sqrt(count)
        low, high = max(0.0, middle - around), middle + around
        formula = f"{middle:.4g} mL ± {WIDE} × {sized.sd_ml:.2g} mL × √{count}"
        return low, high, Step("95 % of such doses", formula, f"{low:.4g} to {high:.4g} mL", "independent strokes")
    if isinstance(sized, SpoonHolds):
        low, high = count * sized.low_g, count * sized.high_g
        formula = f"{count} × {sized.low_g:.4g} to {sized.high_g:.4g} g"
        return low, high, Step("loose to dense", formula, f"{low:.4g} to {high:.4g} g", "bulk density")
    return None


def _line(shelf: Shelf, key: str, sized: Sized) -> ToolLine:
    name = shelf.bottles[key].name
    if isinstance(sized, StrokeSize):
        varies = None if sized.sd_ml is None else figure(sized.sd_ml, "mL", steps=sized.steps[1:2], digits=2)
        one = figure(sized.stroke_ml, "mL", steps=(sized.steps[0], *sized.steps[2:]), digits=4)
        return ToolLine(key, name, "stroke", one, varies, sized.checks[0].comment)
    ends = Figure(amounts(f"{plain(sized.low_g)} to {plain(sized.high_g)} g"), None, "g", sized.steps[:1])
    one = figure(sized.middle_g, "g", steps=sized.steps)
    return ToolLine(key, name, "level spoon", one, ends, sized.check.comment)
