"""Parsers for single values of the trial file; each returns the value or raises `WrongValueError`."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from datetime import date, datetime
from typing import Any

from littoral.feeding.regimes import WEEKDAYS
from littoral.trial.written.moments import looks_like_date, read_date
from littoral.trial.written.report import WrongValueError, nearest, quoted, suggest, suggest_each

KEY_RULE = "Short names are letters a-z, digits, - and _, at most 40; the name to be shown goes into `name`."
LONGEST_TEXT = 2_000

_KEY = re.compile(r"[A-Za-z0-9_-]{1,40}")
_REGION = re.compile(r"[A-Za-z0-9_ -]{1,40}")
_FULL_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_WEEKDAY = {name.lower(): day for names in (WEEKDAYS, _FULL_WEEKDAYS) for day, name in enumerate(names)}


def is_key(name: str) -> bool:
    """Tell whether a name may stand in keys, addresses and columns."""
    return _KEY.fullmatch(name) is not None


def show_value(value: object) -> str:
    """Print a value of the file shortly, for a message."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"' if len(value) <= 60 else f'"{value[:57]}…"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    text = str(value)
    return text if len(text) <= 30 else f"{text[:27]}…"


def text(value: Any) -> str:
    """Return text that is not empty."""
    if not isinstance(value, str):
        raise WrongValueError(f"is {show_value(value)}, not text.", "Put text into quotation marks.")
    if not value.strip():
        raise WrongValueError("is empty.")
    if len(value) > LONGEST_TEXT or "\x00" in value:
        raise WrongValueError(f"is too long or holds characters that cannot be shown ({len(value)} characters).")
    return value.strip()


def short_name(value: Any) -> str:
    """Return text that may stand in keys and addresses."""
    name = text(value)
    if not is_key(name):
        raise WrongValueError(f"is {show_value(name)}.", KEY_RULE)
    return name


def region_name(value: Any) -> str:
    """Return the name of a region: like a short name, but with spaces allowed ("front glass")."""
    name = text(value)
    if _REGION.fullmatch(name) is None:
        raise WrongValueError(f"is {show_value(name)}.", "Write letters a-z, digits, spaces, - and _, at most 40.")
    return name


def number(value: Any) -> float:
    """Return a finite number."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise WrongValueError(f"is {show_value(value)}, not a number.")
    return float(value)


def whole_number(value: Any) -> int:
    """Return a whole number from 0 to 2**63 - 1."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 2**63:
        raise WrongValueError(f"is {show_value(value)}, not a whole number from 0.")
    return value


def flag(value: Any) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise WrongValueError(f"is {show_value(value)}.", "Write true or false, without quotation marks.")
    return value


def day(key: str) -> Callable[[Any], date]:
    """Make a parser for a date as TOML writes it, without quotation marks; `key` is named in what would be right."""

    def parse(value: Any) -> date:
        if isinstance(value, date) and not isinstance(value, datetime):
            if 1970 < value.year < 2200:
                return value
            raise WrongValueError(f"is {value}, a year that no trial is in.")
        if isinstance(value, str) and looks_like_date(value):
            found = read_date(value.strip())
            raise WrongValueError(
                f"is {show_value(value)}, text.", f"Leave the quotation marks out: `{key} = {found}`."
            )
        right = "Write year-month-day without quotation marks and time, such as 2026-03-02."
        raise WrongValueError(f"is {show_value(value)}, not a date.", right)

    return parse


def texts(value: Any) -> tuple[str, ...]:
    """Return a list of texts, none of them twice."""
    if not isinstance(value, list):
        raise WrongValueError(f"is {show_value(value)}, not a list.", 'Write a list in brackets, such as ["left"].')
    found = tuple(text(entry) for entry in value)
    twice = [entry for entry in found if found.count(entry) > 1]
    if twice:
        raise WrongValueError(f"names {quoted(twice)} twice.", "Name it once.")
    return found


def one_of(choices: Iterable[str], called: str) -> Callable[[Any], str]:
    """Make a parser for one of some words; `called` names them in the message ("measures")."""
    known = tuple(choices)

    def parse(value: Any) -> str:
        word = text(value)
        if word not in known:
            raise WrongValueError(f"is {show_value(word)}.", suggest(word, known, called))
        return word

    return parse


def some_of(choices: Iterable[str], called: str) -> Callable[[Any], tuple[str, ...]]:
    """Make a parser for a list of known words."""
    known = tuple(choices)

    def parse(value: Any) -> tuple[str, ...]:
        words = texts(value)
        wrong = [word for word in words if word not in known]
        if wrong:
            raise WrongValueError(f"names {quoted(wrong)}.", suggest_each(wrong, known, called))
        return words

    return parse


def weekdays(value: Any) -> tuple[int, ...]:
    """Return days of the week, 0 is Monday, ascending; "every day" is all seven."""
    if value == "every day":
        return tuple(range(7))
    names = texts(value)
    wrong = [name for name in names if name.lower() not in _WEEKDAY]
    if wrong:
        meant = [found[:3] for name in wrong if (found := nearest(name, _FULL_WEEKDAYS)) is not None]
        hint = f"Did you mean {quoted(meant)}? " if meant else ""
        raise WrongValueError(f"names {quoted(wrong)}.", f"{hint}The weekdays are {', '.join(WEEKDAYS)}.")
    days = [_WEEKDAY[name.lower()] for name in names]
    if not days:
        raise WrongValueError("is an empty list.")
    if len(set(days)) < len(days):
        raise WrongValueError("names a weekday twice.", "Name it once.")
    return tuple(sorted(days))
