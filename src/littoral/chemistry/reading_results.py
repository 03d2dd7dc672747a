"""What a result on a test says: an interval, and how it came.

A colour between two steps is no number: the reading "10" on a card of 5, 10 and 20 says 7.5 to 15, the borders lying
half way. A colour like the last step says "from there on", without an end. Drops count up: when the fourteenth turns
the colour, the water needed more than thirteen.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.reading_methods import ReadingMethod
from littoral.chemistry.reading_text import (
    ReadingText,
    ReadingTextError,
    plain_form,
    take_apart,
    written_range,
)
from littoral.errors import Fault
from littoral.quantities.derivation import Step
from littoral.quantities.numbers import has_decimal_comma, plain_number, two_readings


@dataclass(frozen=True, slots=True)
class MethodReading:
    """What a result says: `low` to `high` in `unit` (mg/L *as the ion* for nutrients), and how it came about.

    `value` is the result itself in that unit. `blur` is one standard deviation of the borders, as a share of the level
    (of one step for pH). `high` is infinite where the test has no end there.
    """

    method: str
    of: str
    value: float
    low: float
    high: float
    unit: str
    blur: float
    shown: str
    steps: tuple[Step, ...]


def read_result(text: str, method: ReadingMethod, *, points_are_decimal: bool = True) -> MethodReading:
    """Return what a result written by a person says: "10", "between 10 and 20", "over 80", "< 5", "14 drops", "12.3".

    Numbers are in the method's own unit, which may stand behind them. `points_are_decimal` is False where the writer
    uses decimal commas: then "1.500" may be fifteen hundred and is refused. Raises ReadingTextError: no reading, a
    number below zero or off the test's scale, a step that the card does not have, marks that mean two things.
    """
    told = plain_form(text)
    parts = take_apart(told, needs_unit=False)
    if parts is None and told[:1] in "-−" and told[1:].strip()[:1].isdecimal():
        raise ReadingTextError(what=f'is "{text[:60]}", below zero.', right=_right(method))
    if parts is None:
        raise ReadingTextError(what=f'is "{text[:60]}", not a reading.', right=_right(method))
    _check_unit(parts, method)
    _check_marks(parts, points_are_decimal)
    value, low, high = written_range(parts, lambda digits: _number(digits, parts, method))
    for given in (value, high if math.isfinite(high) else value):
        _on_scale(given, parts, method)
    if method.kind == "steps":
        low, high, how = _of_steps(value, low, high, parts, method)
    elif method.kind == "drops":
        low, high, how = _of_drops(value, low, high, parts, method)
    else:
        low, high, how = _of_instrument(value, low, high, parts, method)
    return _in_interval_unit(value, low, high, how, parts, method)


def read_results(
    texts: Sequence[str], method: ReadingMethod, *, where: str
) -> tuple[tuple[MethodReading, ...], tuple[Fault, ...]]:
    """Return what several results say, and the faults of those that say nothing, all at once.

    `where` names the place for faults; lines count from 1. A decimal comma in one makes a point in the others unclear.
    """
    commas = any(has_decimal_comma(word) for text in texts for word in plain_form(text).replace("-", " ").split())
    readings: list[MethodReading] = []
    faults: list[Fault] = []
    for line, text in enumerate(texts, start=1):
        try:
            readings.append(read_result(text, method, points_are_decimal=not commas))
        except ReadingTextError as error:
            faults.append(Fault(f"the reading {error.what}", error.right, where, line))
    return tuple(readings), tuple(faults)


def step_borders(steps: Sequence[float]) -> tuple[float, ...]:
    """Return the borders between a card's steps, half way; one fewer than steps, in the steps' own unit."""
    return tuple((low + high) / 2.0 for low, high in pairwise(steps))


def step_shown(value: float, method: ReadingMethod) -> float:
    """Return the step that a colour card shows for a value, both in the test's own unit, without an eye's blur."""
    return method.steps[sum(value >= border for border in step_borders(method.steps))]


def _right(method: ReadingMethod) -> str:
    if method.kind == "steps":
        low, high = _plain(method.steps[0]), _plain(method.steps[-1])
        near = f"between {_plain(method.steps[1])} and {_plain(method.steps[2])}"
        return f"Write a step of the card, {low} to {high}, or {near}, over {high}, under {_plain(method.steps[1])}."
    if method.kind == "drops":
        return "Write how many drops it took, such as 14 drops."
    return f"Write the number it showed, {_plain(method.low)} to {_plain(method.high)} {method.unit}".rstrip() + "."


def _check_unit(parts: ReadingText, method: ReadingMethod) -> None:
    if not parts.unit:
        return
    known = {method.unit.casefold(), method.form.casefold(), "°d" if method.unit.startswith("d") else ""}
    known |= {"drops", "drop"} if method.kind == "drops" else set()
    known |= {"ppm"} if method.unit == "mg/L" else set()
    if method.of in NUTRIENTS:
        known |= {f"mg/l {method.reported_as.casefold()}", f"mg {method.reported_as.casefold()}/l"}
    if parts.unit.casefold() in known:
        return
    what = f'is "{parts.written[:60]}": this test reads in {method.form}.'
    raise ReadingTextError(what=what, right=f"Write the number alone, or in {method.form}.")


def _check_marks(parts: ReadingText, points_are_decimal: bool) -> None:
    if any(has_decimal_comma(one) for one in parts.numbers) and any("." in one for one in parts.numbers):
        what = f'is "{parts.written[:60]}": one number has a decimal comma, the other a point.'
        raise ReadingTextError(what=what, right="Use the same mark in both.")
    for digits in parts.numbers:
        readings = two_readings(digits, points_are_decimal=points_are_decimal)
        if readings is not None:
            what = f'is "{parts.written[:60]}": "{digits}" may be {readings[0]} or {readings[1]}.'
            raise ReadingTextError(what=what, right=f"Write {readings[0]} or {readings[1]}.")


def _number(digits: str, parts: ReadingText, method: ReadingMethod) -> float:
    plain = plain_number(digits)
    if plain is None:
        raise ReadingTextError(what=f'is "{parts.written[:60]}": "{digits}" is no number.', right=_right(method))
    drops = method.kind == "drops" and not _in_own_unit(parts)
    return float(plain) * (method.per_drop if drops else 1.0)


def _in_own_unit(parts: ReadingText) -> bool:
    """Whether a drop test's number is in its unit already and not in drops: "14 dGH"."""
    return bool(parts.unit) and parts.unit.casefold() not in ("drop", "drops")


def _on_scale(value: float, parts: ReadingText, method: ReadingMethod) -> None:
    top = method.high if method.kind != "steps" or method.of == "ph" else method.steps[-1]
    if not method.low <= value <= top:
        end = _plain(top if value > top else method.low)
        what = f'is "{parts.written[:60]}", off the scale of this test, which goes from {_plain(method.low)} to '
        what += f"{_plain(top)} {method.unit}".rstrip() + "."
        say = f"over {end}" if value > top else f"under {end}"
        raise ReadingTextError(what=what, right=f"Write {say}, or dilute the water and read again.")


def _of_steps(
    value: float, low: float, high: float, parts: ReadingText, method: ReadingMethod
) -> tuple[float, float, Step]:
    """The range that a colour stands for: half way to the neighbours, or between two steps, or beyond one."""
    card = method.steps
    for given in (value, high) if parts.upto else (value,):
        if given not in card:
            at = bisect_left(card, given)
            near = [card[i] for i in (at - 1, at) if 0 <= i < len(card)]
            what = f'is "{parts.written[:60]}": the card has no step {_plain(given)}.'
            between = f"between {_plain(near[0])} and {_plain(near[1])}" if len(near) == 2 else f"{_plain(near[0])}"
            raise ReadingTextError(what=what, right=f"Write {' or '.join(map(_plain, near))}, or {between}.")
    scale = ", ".join(map(_plain, card))
    if parts.sign or parts.upto or parts.error or parts.low:
        if parts.sign == "<":
            low = method.low
        elif parts.sign == ">":
            high = method.high
        return low, high, Step("range of the colour", f"as written, on a card of {scale}", "", "the reader")
    borders = step_borders(card)
    at = card.index(value)
    low = borders[at - 1] if at else method.low
    high = borders[at] if at < len(borders) else method.high
    return (
        low,
        high,
        Step("range of the colour", f"half way to the steps beside {_plain(value)} on {scale}", "", "half way"),
    )


def _of_drops(
    value: float, low: float, high: float, parts: ReadingText, method: ReadingMethod
) -> tuple[float, float, Step]:
    counts = value / method.per_drop
    if abs(counts - round(counts)) > 1e-9:
        what = f'is "{parts.written[:60]}", which is no whole number of drops.'
        raise ReadingTextError(what=what, right=_right(method))
    if not parts.sign and not parts.error and not parts.low:
        low = max(low - method.per_drop, method.low)
    error = method.relative_error
    formula = (
        f"({_plain(round(low / method.per_drop))} to {_plain(round(high / method.per_drop))} drops) x "
        f"{_plain(method.per_drop)} {method.unit}, drops ±{100 * error:g} %"
        if math.isfinite(high)
        else f"over {_plain(low)} {method.unit}"
    )
    high = max(high * (1.0 + error), method.per_drop) if math.isfinite(high) else high
    return low * (1.0 - error), high, Step("range of the drops", formula, "", "the last drop but one did not suffice")


def _of_instrument(
    value: float, low: float, high: float, parts: ReadingText, method: ReadingMethod
) -> tuple[float, float, Step]:
    if parts.sign or parts.error or parts.low:
        return low, high, Step("range of the reading", "as written", "", "the reader")
    down = method.relative_error * low + method.absolute_error
    up = method.relative_error * high + method.absolute_error
    formula = f"{_plain(value)} ± ({100 * method.relative_error:g} % + {_plain(method.absolute_error)}) {method.unit}"
    below = high < method.detection_limit
    low = method.low if below else max(low - down, method.low)
    high = min(max(high + up, method.detection_limit), method.high) if method.of == "ph" else high + up
    if below:
        high = max(high, method.detection_limit)
        formula += f", below what it can tell from nothing ({_plain(method.detection_limit)})"
    return low, high, Step("range of the reading", formula.strip(), "", method.source)


def _in_interval_unit(
    value: float, low: float, high: float, how: Step, parts: ReadingText, method: ReadingMethod
) -> MethodReading:
    factor, unit = method.factor, method.interval_unit
    own = (
        f"{_plain(low)} to {_plain(high)} {method.form}" if math.isfinite(high) else f"over {_plain(low)} {method.form}"
    )
    steps = [Step(how.what, how.formula, own, how.source)]
    if factor != 1.0:
        of = NUTRIENTS[method.of].formula if method.of in NUTRIENTS else method.of
        formula = f"x {factor:.5g} ({unit} of {of} per {method.form})"
        result = f"{low * factor:.4g} to {high * factor:.4g} {unit}"
        steps.append(Step("in Littoral's unit", formula, result, "formula weights"))
    return MethodReading(
        method=method.key,
        of=method.of,
        value=value * factor,
        low=low * factor,
        high=high * factor,
        unit=unit,
        blur=method.reader_blur,
        shown=parts.shown,
        steps=tuple(steps),
    )


def _plain(number: float) -> str:
    return f"{number:.6g}"
