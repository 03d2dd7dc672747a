"""Parsers for amounts with units, and for the few forms that hold several: "60 x 30 x 30 cm", "500 g for 7.90"."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any

from littoral.feeding.bottles import Pack, Recommended
from littoral.quantities.amounts import AmountError, parse_amount
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.values import show_value, text

_TIMES = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_UNIT_AT_END = re.compile(r"^[0-9.,\s]+(?P<unit>[^0-9.,\s].*)$")
_PACK = re.compile(r"(?P<content>.+?)\s+for\s+(?P<price>[0-9]+(?:[.,][0-9]{1,2})?)(?:\s*[A-Z]{3})?")
_MONTHS = re.compile(r"(?P<count>[0-9]{1,4})\s*(?P<unit>month|year)s?", re.ASCII | re.IGNORECASE)
LONGEST_KEEPING_DAYS = 36_525
_RECOMMENDED = re.compile(r"(?P<dose>.+?) per (?P<water>.+?) (?:every (?P<period>.+)|(?:per|a|each) (?P<one>day|week))")


def amount(kind: str, *, above_zero: bool = False, at_most: float | None = None) -> Callable[[Any], float]:
    """Make a parser for one amount, in the canonical unit of its kind (`quantities.amounts.parse_amount`).

    `at_most` is in that canonical unit. Only a fraction may be a bare number.
    """

    def parse(value: Any) -> float:
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            if kind != "fraction":
                raise WrongValueError(f"is {show_value(value)}, a number without a unit.")
            value = repr(value)
        found = read_amount(text(value), kind)
        if above_zero and found <= 0:
            raise WrongValueError(f"is {show_value(value)}; it must be above zero.")
        if at_most is not None and found > at_most:
            raise WrongValueError(f"is {show_value(value)}; at most {at_most:g} is possible.")
        return found

    return parse


def read_amount(written: str, kind: str) -> float:
    """Parse one amount; an `AmountError` is turned into a `WrongValueError`."""
    try:
        return parse_amount(written, kind=kind)
    except AmountError as error:
        raise WrongValueError(f"is {show_value(written)}: {error.reason}.", error.right) from None


def lengths_cm(value: Any) -> tuple[float, float, float]:
    """Return length, width and height, cm, from "60 x 30 x 30 cm"; sides without a unit take the last one's."""
    parts = _TIMES.split(text(value))
    unit = _UNIT_AT_END.match(parts[-1])
    if len(parts) != 3 or unit is None:
        raise WrongValueError(f"is {show_value(value)}, not three lengths with a unit.")
    whole = (part if _UNIT_AT_END.match(part) else f"{part} {unit['unit']}" for part in parts)
    length, width, height = (read_amount(part, "length") for part in whole)
    if min(length, width, height) <= 0:
        raise WrongValueError(f"is {show_value(value)}; every side must be above zero.")
    return length, width, height


def frame_px(value: Any) -> tuple[int, int]:
    """Return width and height in pixels from "1600 x 1200 px"."""
    match = re.fullmatch(r"([0-9]{1,6})\s*[x×*]\s*([0-9]{1,6})(?:\s*px)?", text(value), re.IGNORECASE)
    size = (int(match[1]), int(match[2])) if match else (0, 0)
    if min(size) < 1:
        raise WrongValueError(f"is {show_value(value)}, not a width and a height in pixels.")
    return size


def pack(value: Any) -> Pack:
    """Return what is bought from "500 g for 7.90" or "250 mL for 9.80"; the unit is "g" or "ml"."""
    match = _PACK.fullmatch(text(value))
    if match is None:
        raise WrongValueError(f"is {show_value(value)}, not a content and a price.")
    price = float(match["price"].replace(",", "."))
    for kind, unit in (("mass", "g"), ("dose volume", "ml")):
        try:
            content = parse_amount(match["content"], kind=kind)
        except AmountError:
            continue
        if content <= 0:
            raise WrongValueError(f"is {show_value(value)}; a pack holds more than nothing.")
        return Pack(content=content, unit=unit, price=price)
    raise WrongValueError(f'is {show_value(value)}: "{match["content"]}" is neither a mass nor a volume.')


def keeping_days(value: Any) -> int:
    """Return how many whole days something keeps, from "6 months", "2 years", "60 days" or "12 weeks".

    A month is the twelfth part of a year of 365.25 days; a part of a day is dropped, so that nothing keeps longer than
    was written. Raises WrongValueError.
    """
    match = _MONTHS.fullmatch(text(value))
    if match is not None:
        days = int(match["count"]) * (365.25 if match["unit"].lower() == "year" else 365.25 / 12)
    else:
        try:
            days = read_amount(text(value), "duration")
        except WrongValueError:
            raise WrongValueError(f"is {show_value(value)}, not a length of time.") from None
    if not 1 <= days <= LONGEST_KEEPING_DAYS:
        raise WrongValueError(f"is {show_value(value)}; nothing is bought to keep so long or so short.")
    return math.floor(days + 1e-9)


def recommended(value: Any) -> Recommended:
    """Return what a label recommends from "6 mL per 100 L every 7 days" or "… per 100 L per week"."""
    match = _RECOMMENDED.fullmatch(" ".join(text(value).split()))
    if match is None:
        raise WrongValueError(f"is {show_value(value)}, not a dose per volume of water and period.")
    period = match["one"] or match["period"]
    if period in ("day", "week"):
        period = f"1 {period}"
    found = Recommended(
        ml=read_amount(match["dose"], "dose volume"),
        per_l=read_amount(match["water"], "volume"),
        days=read_amount(period, "duration"),
    )
    if min(found.ml, found.per_l, found.days) <= 0:
        raise WrongValueError(f"is {show_value(value)}; dose, water and period must be above zero.")
    return found
