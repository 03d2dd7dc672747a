"""How the page writes dates."""

from __future__ import annotations

from datetime import date

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


def long_date(day: date) -> str:
    """Return a date as people say it: "Thursday 19 March 2026" (English, whatever the machine's locale)."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def short_date(day: date) -> str:
    """Return a date in a few letters: "Thu 19 Mar"."""
    return f"{WEEKDAYS[day.weekday()][:3]} {day.day} {MONTHS[day.month - 1][:3]}"
