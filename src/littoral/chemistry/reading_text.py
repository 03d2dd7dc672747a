"""A test result as a person writes it: a value, a range, "<5", ">80", a value with its error or its step's range.

One place for every door: the entries file (with a unit behind the number) and the test methods (without one).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from littoral.errors import LittoralError

_NUMBER = r"[0-9][0-9.,]*"
_UNIT = r"(?P<unit>[^\s(,±0-9][^(,±]*?)"


def _form(unit: str, value: str = _NUMBER) -> re.Pattern[str]:
    return re.compile(
        rf"(?P<sign>[<>])?\s*(?P<value>{value})(?:\s*[-–]\s*(?P<upto>{value}))?\s*{unit}\s*"
        rf"(?:±\s*(?P<error>{_NUMBER})(?:\s*(?P=unit))?\s*"
        rf"|\(\s*(?P<low>{_NUMBER})\s*[-–]\s*(?P<high>{_NUMBER})\s*\)\s*)?"
        r"(?:,\s*(?P<method>.+))?"
    )


_WITH_UNIT = _form(_UNIT)
_UNIT_OR_NONE = _form(rf"{_UNIT}?", r"[0-9](?:[0-9.,]*[0-9.])?")  # "10, by lamplight": the comma parts the method
_WORDS = (
    (re.compile(r"^(?:over|above|more than|at least|beyond)\b\s*", re.IGNORECASE), ">"),
    (re.compile(r"^(?:under|below|less than|at most|fewer than)\b\s*", re.IGNORECASE), "<"),
    (re.compile(r"^between\s+", re.IGNORECASE), ""),
    (re.compile(r"(?<=[0-9])\s+(?:and|to)\s+(?=[0-9])", re.IGNORECASE), "-"),
)


class ReadingTextError(LittoralError):
    """A text is no reading, or one that contradicts itself; `right` says what would do, "" where the caller knows."""

    def __init__(self, *, what: str, right: str = "") -> None:
        self.what = what
        self.right = right
        super().__init__(f"reading {what} {right}".rstrip())


@dataclass(frozen=True, slots=True)
class ReadingText:
    """A reading taken apart: its numbers as written, None for parts it does not have.

    `sign` is "<", ">" or ""; `upto` the end of a range; `error` what follows ±; `low` and `high` the range in brackets.
    `shown` is the text without range and method.
    """

    written: str
    sign: str
    value: str
    upto: str | None
    error: str | None
    low: str | None
    high: str | None
    unit: str
    method: str
    shown: str

    @property
    def numbers(self) -> tuple[str, ...]:
        """Every number of it, as written."""
        return tuple(part for part in (self.value, self.upto, self.error, self.low, self.high) if part is not None)


def plain_form(text: str) -> str:
    """Return a reading's words as signs: "between 10 and 20" is "10-20", "over 80" is ">80". Nothing else changes."""
    told = text.strip()
    for words, sign in _WORDS:
        told = words.sub(sign, told)
    return told


def take_apart(text: str, *, needs_unit: bool = True) -> ReadingText | None:
    """Return the parts of a reading; None where it has not the form of one."""
    match = (_WITH_UNIT if needs_unit else _UNIT_OR_NONE).fullmatch(text)
    if match is None:
        return None
    end = match.end("unit") if match["unit"] else match.end("upto") if match["upto"] else match.end("value")
    return ReadingText(
        written=text,
        sign=match["sign"] or "",
        value=match["value"],
        upto=match["upto"],
        error=match["error"],
        low=match["low"],
        high=match["high"],
        unit=match["unit"] or "",
        method=(match["method"] or "").strip(),
        shown=text[:end].strip(),
    )


def with_unit(text: str, unit: str) -> str:
    """Return a reading's plain form with a unit behind its numbers where it has none: "over 80" is ">80 mg/L".

    What has a unit, or is no reading, is as `plain_form` leaves it.
    """
    told = plain_form(text)
    parts = take_apart(told, needs_unit=False)
    if parts is None or parts.unit:
        return told
    numbers = parts.shown
    return f"{numbers} {unit}{told[len(numbers) :]}"


def written_range(parts: ReadingText, number: Callable[[str], float]) -> tuple[float, float, float]:
    """Return value, lowest and highest of what was written, in whatever `number` turns its digits into.

    Without a range of its own a value stands for itself alone. Raises ReadingTextError (a sign beside a range; a range
    that does not hold its value) and whatever `number` raises.
    """
    value = number(parts.value)
    low = high = value
    if parts.sign:
        if parts.upto or parts.error or parts.low:
            raise ReadingTextError(what=f'is "{parts.written}".')
        low, high = (0.0, value) if parts.sign == "<" else (value, math.inf)
    elif parts.upto:
        high = number(parts.upto)
    elif parts.error:
        error = number(parts.error)
        low, high = max(0.0, value - error), value + error
    elif parts.low and parts.high:
        low, high = number(parts.low), number(parts.high)
    if not low <= value <= high or (parts.upto and low == high):
        right = "The range in brackets goes from the lowest to the highest that it may be."
        raise ReadingTextError(what=f'is "{parts.written}", a range that does not hold its value.', right=right)
    return value, low, high
