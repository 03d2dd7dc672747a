"""Whether a point in amounts can only be a decimal one, and the refusal of numbers that may be a thousandfold more.

"1.500 mL" is one and a half in some countries and fifteen hundred in others, and a dose may hang on it. A file tells
how its writer uses points: a spreadsheet parts cells with semicolons or tabs where commas are decimal, and a decimal
comma in any amount says the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from littoral.quantities.numbers import has_decimal_comma, two_readings
from littoral.trial.written.report import Path, Report, WrongValueError, show_path

_NUMBER = re.compile(r"[0-9][0-9.,]*(?<![.,])", re.ASCII)
_METHOD = re.compile(r",\s*[^\W\d].*", re.DOTALL)  # behind a reading: ", strip of lot 1.234"
_UNIT = re.compile(r"\s*(%|°?[^\W\d]+(?:/[^\W\d]+)?)")


def any_decimal_comma(amounts: Iterable[str]) -> bool:
    """Tell whether a number in any of the amounts has a comma that can only be a decimal one."""
    return any(has_decimal_comma(digits) for amount in amounts for digits in _NUMBER.findall(_METHOD.sub("", amount)))


def check_readings(amount: str, *, points_are_decimal: bool) -> None:
    """Refuse an amount with a number that may be read in two ways, a thousandfold apart.

    Raises WrongValueError, which says both ways of writing it clearly.
    """
    told = _METHOD.sub("", amount)
    for number in _NUMBER.finditer(told):
        readings = two_readings(number[0], points_are_decimal=points_are_decimal)
        if readings is not None:
            unit = _UNIT.match(told, number.end())
            small, large = (f"{reading} {unit[1]}" if unit else reading for reading in readings)
            what = f'is "{amount}": "{number[0]}" may be {readings[0]} or {readings[1]}.'
            raise WrongValueError(what, f"Write {small} or {large}.")


def check_whole_file(values: Mapping[str, object], report: Report) -> None:
    """Note every amount of a trial file that may be a thousandfold more, where another amount has a decimal comma."""
    amounts = dict(_amounts(values, ()))
    if not any_decimal_comma(amounts.values()):
        return  # numbers of TOML itself have decimal points, and so has text beside them unless it shows otherwise
    for path, amount in amounts.items():
        try:
            check_readings(amount, points_are_decimal=False)
        except WrongValueError as error:
            if not report.is_wrong(path):
                report.add(path, f"{show_path(path)} {error.what}", error.right)


def _amounts(value: object, path: Path) -> Iterator[tuple[Path, str]]:
    """Yield every text that begins with a digit, with its place; titles and other sentences seldom do."""
    if isinstance(value, str) and value[:1].isdecimal():
        yield path, value
    parts: Iterable[tuple[str | int, object]] = ()
    if isinstance(value, Mapping):
        parts = value.items()
    elif isinstance(value, list):
        parts = enumerate(value)
    for step, part in parts:
        yield from _amounts(part, (*path, step))
