"""Reads the fields of a form: each mistake becomes a fault with the field's name and row, and none hides another."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any, TypeVar

from littoral.acts.mix_and_feed.figures import Pairs
from littoral.chemistry.label_names import LabelError
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.errors import Fault, LittoralError
from littoral.feeding.patterns import weekday_number
from littoral.feeding.ranges import Range
from littoral.feeding.regimes import EveryDays, RegimeError
from littoral.quantities.amounts import AmountError, parse_amount
from littoral.quantities.numbers import plain_number
from littoral.speech.say import say
from littoral.trial.written.decimal_marks import any_decimal_comma, check_readings
from littoral.trial.written.report import WrongValueError

LONGEST = 200  # characters of a field
MOST_ROWS = 60
_NUMBER = re.compile(r"([+-]?)([0-9][0-9.,]*|[.,][0-9]+)", re.ASCII)
_EVERY = re.compile(r"every (?P<days>[0-9]{1,3}) days?(?: from day (?P<first>[0-9]{1,3}))?", re.IGNORECASE)
_WORDS = {"daily": 1, "every day": 1, "every other day": 2, "every week": 7, "every other week": 14}
T = TypeVar("T")


class Reading:
    """The faults found so far in one form, and whether its points are decimal ones: a decimal comma anywhere says no.

    Each method returns the value in the canonical unit of its kind, or None where the field is empty or wrong; a field
    that must not be empty is a fault then.
    """

    def __init__(self, form: object) -> None:
        self.faults: list[Fault] = []
        self._points = not any_decimal_comma(text for text in _texts(form) if text[:1].isdecimal())
        for name, text in _named_texts(form):
            if len(text) > LONGEST:
                self.wrong(
                    name,
                    say("is {text} characters long.", text=len(text)),
                    say("Write at most {longest}.", longest=LONGEST),
                )

    def wrong(self, field: str, what: str, right: str, *, line: int | None = None) -> None:
        """Note one fault; the same one is kept once."""
        fault = Fault(what, right, field, line)
        if fault not in self.faults:
            self.faults.append(fault)

    @contextmanager
    def trying(self, field: str, *, line: int | None = None) -> Iterator[None]:
        """Turn an error of a room below into a fault of this field."""
        try:
            yield
        except LittoralError as error:
            self.wrong(field, *_told(error), line=line)

    def amount(
        self,
        field: str,
        text: str,
        kind: str,
        *,
        needed: bool = True,
        above_zero: bool = True,
        at_most: float = math.inf,
        line: int | None = None,
        of: str = "",
    ) -> float | None:
        """Return an amount; `kind` as in `quantities.amounts.parse_amount`, `at_most` in its unit, `of` names the row.

        Above-zero is asked only of kinds that have a zero.
        """

        def read(written: str) -> float:
            check_readings(written, points_are_decimal=self._points)
            try:
                found = parse_amount(written, kind=kind)
            except AmountError as error:
                raise WrongValueError(
                    say('is "{short}": {reason}.', short=_short(written), reason=error.reason), error.right
                ) from None
            if above_zero and found <= 0 and kind != "temperature":
                raise WrongValueError(say('is "{short}".', short=_short(written)), say("It must be above zero."))
            if found > at_most:
                raise WrongValueError(
                    say('is "{short}"; that cannot be meant.', short=_short(written)),
                    say("At most {at_most:.15g} here.", at_most=at_most),
                )
            return found

        return self.parse(field, text, read, needed=needed, line=line, of=of)

    def number(
        self,
        field: str,
        text: str,
        *,
        low: float = 0.0,
        high: float = math.inf,
        needed: bool = True,
        line: int | None = None,
        of: str = "",
    ) -> float | None:
        """Return a bare number from `low` to `high`: a pH, a price, a count."""

        def read(written: str) -> float:
            check_readings(written, points_are_decimal=self._points)
            return _bare(written, low, high)

        return self.parse(field, text, read, needed=needed, line=line, of=of)

    def range(
        self, field: str, text: str, kind: str = "", *, needed: bool = True, line: int | None = None, of: str = ""
    ) -> Range | None:
        """Return a number that may be uncertain, "7 to 9" or "24 W"; without a `kind` it has no unit to convert.

        The likely value of a range is its middle.
        """

        def read(written: str) -> Range:
            check_readings(written, points_are_decimal=self._points)
            parts = [part.strip() for part in re.split(r"\s+to\s+|\s*–\s*", written)]
            if len(parts) > 2:
                raise WrongValueError(
                    say('is "{short}".', short=_short(written)), say('Write a number, or a range such as "7 to 9".')
                )
            if kind and len(parts) == 2 and _NUMBER.fullmatch(parts[0]):
                parts[0] += " " + parts[1].lstrip("+-0123456789.,").strip()
            values = [_of_kind(part, kind) for part in parts]
            if values[0] > values[-1]:
                raise WrongValueError(say('is "{short}".', short=_short(written)), say("Write the lower end first."))
            return Range(values[0], (values[0] + values[-1]) / 2.0, values[-1])

        return self.parse(field, text, read, needed=needed, line=line, of=of)

    def day(self, field: str, text: str) -> date | None:
        """Return a date, YYYY-MM-DD; an empty field is none."""

        def read(written: str) -> date:
            try:
                return date.fromisoformat(written)
            except ValueError:
                raise WrongValueError(
                    say('is "{short}", no date.', short=_short(written)), say("Write it like 2026-03-02.")
                ) from None

        return self.parse(field, text, read, needed=False)

    def one_of(self, field: str, text: str, choices: Iterable[str]) -> str:
        """Return the choice, or the first one where the field names none of them (and note that)."""
        known = tuple(choices)
        if text in known:
            return text
        self.wrong(field, say('is "{short}".', short=_short(text)), say("Choose {known}.", known=" or ".join(known)))
        return known[0]

    def nutrients(
        self, field: str, rows: Pairs, kind: str = "concentration", *, above_zero: bool = False
    ) -> dict[str, float]:
        """Return amounts by nutrient; a name nobody keeps account of, or one given twice, is a fault."""
        found: dict[str, float] = {}
        for line, name, text in self.rows(field, rows):
            key = nutrient_named(name)
            if key is None:
                known = say("Write one of: {nutrients}.", nutrients=", ".join(NUTRIENTS))
                self.wrong(
                    field, say('"{short}" is nothing Littoral keeps account of.', short=_short(name)), known, line=line
                )
            elif key in found:
                self.wrong(field, say("{key} is given twice.", key=key), say("Give it once."), line=line)
            else:
                value = self.amount(field, text, kind, above_zero=above_zero, line=line, of=key)
                found[key] = 0.0 if value is None else value
        return found

    def rows(self, field: str, rows: Pairs) -> Iterator[tuple[int, str, str]]:
        """Yield (row from 1, name, amount) of the rows that are filled in; a row without a name is a fault."""
        if len(rows) > MOST_ROWS:
            self.wrong(
                field, say("has {rows} rows.", rows=len(rows)), say("Give at most {most_rows}.", most_rows=MOST_ROWS)
            )
            return
        for line, (name, text) in enumerate(rows, start=1):
            if name.strip():
                yield line, name.strip(), text.strip()
            elif text.strip():
                self.wrong(
                    field, say('"{short}" is of nothing.', short=_short(text)), say("Say what it is of."), line=line
                )

    def pattern(self, field: str, text: str, *, line: int | None = None) -> tuple[tuple[int, ...], EveryDays | None]:
        """Return weekdays (0 is Monday), or a period in days: "Sun, Wed", "daily", "every 3 days from day 1"."""

        def read(written: str) -> tuple[tuple[int, ...], EveryDays | None]:
            folded = " ".join(written.casefold().split())
            if folded in ("daily", "every day"):
                return tuple(range(7)), None
            every = _EVERY.fullmatch(folded)
            if every or folded in _WORDS:
                days = int(every["days"]) if every else _WORDS[folded]
                first = int(every["first"] or 0) if every else 0
                with _as_wrong(written):
                    return (), EveryDays(days, first)
            with _as_wrong(written):
                names = [name for name in re.split(r"[\s,;+]+", written) if name]
                return tuple(sorted({weekday_number(name) for name in names})), None
            raise AssertionError

        return self.parse(field, text, read, line=line) or ((), None)

    def parse(
        self,
        field: str,
        text: str,
        read: Callable[[str], T],
        *,
        needed: bool = True,
        line: int | None = None,
        of: str = "",
    ) -> T | None:
        """Return what `read` makes of a field's text; None where it is empty or `read` raises WrongValueError."""
        written = text.strip()
        if not written:
            if needed:
                self.wrong(
                    field, say("{of}is empty.", of=of + " " if of else ""), say("Write something there."), line=line
                )
            return None
        try:
            return read(written)
        except WrongValueError as error:
            self.wrong(field, f"{of + ' ' if of else ''}{error.what}", error.right, line=line)
            return None


def _bare(written: str, low: float, high: float) -> float:
    match = _NUMBER.fullmatch(written)
    plain = plain_number(match[2]) if match else None
    if match is None or plain is None:
        raise WrongValueError(
            say('is "{short}", no plain number.', short=_short(written)),
            say("Write a number without a unit, like 4.50."),
        )
    value = float(match[1] + plain)
    if not low <= value <= high:
        right = (
            say("Give {low:g} to {high:g}.", low=low, high=high)
            if math.isfinite(high)
            else say("Give {low:g} or more.", low=low)
        )
        raise WrongValueError(say('is "{short}".', short=_short(written)), right)
    return value


def _of_kind(part: str, kind: str) -> float:
    if not kind:
        return _bare(part, 0.0, math.inf)
    try:
        return parse_amount(part, kind=kind)
    except AmountError as error:
        raise WrongValueError(
            say('is "{short}": {reason}.', short=_short(part), reason=error.reason), error.right
        ) from None


@contextmanager
def _as_wrong(written: str) -> Iterator[None]:
    try:
        yield
    except RegimeError as error:
        raise WrongValueError(
            say('is "{short}": {what}.', short=_short(written), what=error.what), error.right
        ) from None


def _told(error: LittoralError) -> tuple[str, str]:
    if isinstance(error, LabelError):
        return f"{error.entry}: {error.reason}.", error.right
    what, right = getattr(error, "what", None), getattr(error, "right", None)
    if isinstance(what, str) and isinstance(right, str):
        return f"{what}.", right
    return str(error), ""


def nutrient_named(name: str) -> str | None:
    """Return the key of a nutrient that is called so, by its key or its formula; None for what is none."""
    folded = " ".join(name.casefold().split())
    for key, nutrient in NUTRIENTS.items():
        if folded in (key, nutrient.formula.casefold()):
            return key
    return None


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}..."


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value.strip()
    elif isinstance(value, tuple):
        for part in value:
            yield from _texts(part)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _texts(getattr(value, field.name))


def _named_texts(form: Any) -> Iterator[tuple[str, str]]:
    for field in fields(form):
        for text in _texts(getattr(form, field.name)):
            yield field.name, text
