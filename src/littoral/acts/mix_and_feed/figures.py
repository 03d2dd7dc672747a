"""What the four acts share: a number that a person reads, what was refused, and a dose that was stopped."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.errors import Fault
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step
from littoral.quantities.preferred import in_chosen_unit, plain_digits, read_as
from littoral.speech.dates import money
from littoral.speech.numbers import numeral
from littoral.speech.say import say

Pairs = tuple[tuple[str, str], ...]
"""Rows of a form: a name and an amount as a person wrote them, such as ("KNO3", "33 g")."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number as it is read, with its unit, in `text`; `value` is the bare number in `unit`, None where there is none.

    The text is written for whoever reads it, so its unit may be another than `unit`, which programs get.

    `steps` answer "why?", line by line. They are empty only where the number is the person's own.
    """

    text: str
    value: float | None
    unit: str
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Refused:
    """A form with mistakes: nothing was computed. `where` of a fault is the field's name, `line` its row from 1."""

    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """A dose that would pass a published limit. `anyway` is the reason of who gives it all the same; "" stops it.

    `explanation` is for the person, `rows` are the limits passed, `steps` derive them. What a stopped result would have
    one weigh out or print is left empty.
    """

    explanation: str
    rows: tuple[CheckRow, ...]
    steps: tuple[Step, ...]
    anyway: str

    @property
    def stands(self) -> bool:
        """Whether the dose is stopped: nobody gave a reason."""
        return not self.anyway

    @property
    def words(self) -> str:
        """The explanation, and the reason where it was overridden."""
        if self.stands:
            return self.explanation
        return say(
            "{explanation} Overridden deliberately: “{anyway}”.", explanation=self.explanation, anyway=self.anyway
        )


def figure(
    value: float,
    unit: str = "",
    *,
    steps: tuple[Step, ...] = (),
    digits: int = 3,
    sign: bool = False,
    as_is: bool = False,
) -> Figure:
    """Return a number for reading, at `digits` significant digits and without an exponent; infinity has no end.

    The text is in the unit that is chosen for this kind of amount, unless it is to stay `as_is`.
    """
    if math.isinf(value):
        return Figure(say("grows without end"), None, unit, steps)
    plus = "+" if sign and value > 0 else ""
    text = f"{numeral(plain(value, digits))} {unit}".strip() if as_is else read_as(value, unit, digits=digits)
    return Figure(f"{plus}{text}", value, unit, steps)


def plain(value: float, digits: int = 3) -> str:
    """Return a number with so many significant digits and a decimal point, never with an exponent: 0.000012, 1230."""
    return plain_digits(value, digits)


def exact(value: float, unit: str) -> Figure:
    """Return a number as it was typed, or as a scale shows it: all its digits, or in another unit its own many."""
    turned = in_chosen_unit(value, unit)[1] != unit
    digits = max(3, sum(sign.isdigit() for sign in plain(value, 12).lstrip("-0."))) if turned else 12
    return Figure(read_as(value, unit, digits=digits), value, unit)


def price(amount: float, currency: str) -> str:
    """Return a price with two decimals and its currency, whose decimals are its own where it is a known one."""
    return money(amount, currency) if currency else numeral(f"{amount:.2f}")
