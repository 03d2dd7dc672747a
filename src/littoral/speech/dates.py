"""Dates, weeks and money as the language in force writes them. English is written by Littoral's own rule."""

from __future__ import annotations

from datetime import date

from littoral.speech.manner import cldr_language, manner
from littoral.speech.numbers import numeral

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_STARTS = {"monday": 0, "saturday": 5, "sunday": 6}


def long_date(day: date) -> str:
    """Return a date as people say it: "Thursday 19 March 2026", "Donnerstag, 19. März 2026"."""
    if (language := cldr_language()) == "en":
        return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"
    from babel.dates import format_date

    return format_date(day, "full", locale=language)


def short_date(day: date) -> str:
    """Return a date in a few letters: "Thu 19 Mar", "Do. 19. März"."""
    if (language := cldr_language()) == "en":
        return f"{WEEKDAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1][:3]}"
    from babel.dates import format_skeleton

    return format_skeleton("MMMEd", day, locale=language).replace(",", "")


def day_and_month(day: date) -> str:
    """Return a date without its year: "Thursday 19 March", "Donnerstag, 19. März"."""
    if (language := cldr_language()) == "en":
        return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]}"
    from babel.dates import format_skeleton

    return format_skeleton("MMMMEEEEd", day, locale=language)


def weekday_name(weekday: int) -> str:
    """Return the name of a day of the week, 0 for Monday."""
    if (language := cldr_language()) == "en":
        return WEEKDAYS[weekday]
    from babel.dates import get_day_names

    return str(get_day_names("wide", "stand-alone", language)[weekday])


def short_weekday(weekday: int) -> str:
    """Return the name of a day of the week in a few letters, 0 for Monday: "Mon", "Mo"."""
    if (language := cldr_language()) == "en":
        return WEEKDAYS[weekday][:3]
    from babel.dates import get_day_names

    return str(get_day_names("abbreviated", "stand-alone", language)[weekday]).rstrip(".")


def first_weekday() -> int:
    """Return the day a week begins on, 0 for Monday: as chosen, otherwise Monday (ISO 8601)."""
    return _STARTS[manner().week_start]


def money(amount: float, currency: str) -> str:
    """Return an amount of money with its currency's decimals: "3.20 EUR" in English, "3,20 EUR" in German.

    The code is written out (ISO 4217), because one sign stands for the money of many countries.
    """
    return f"{numeral(f'{amount:.{decimals_of(currency)}f}')} {currency}"


def decimals_of(currency: str) -> int:
    """Return how many decimals a currency has (ISO 4217), two for one that is not known."""
    from babel.numbers import get_currency_precision

    return int(get_currency_precision(currency))
