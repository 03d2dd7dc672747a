"""Dates and times as people write them in a row, where they can mean one thing only."""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta, timezone

from littoral.trial.days import NoSuchTimeError, moment_of, offset_text
from littoral.trial.written.report import WrongValueError

_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})\2([0-9]{1,2})")
_YEAR_LAST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4})")
_THREE_NUMBERS = re.compile(r"[0-9]{1,4}([-/.])[0-9]{1,2}\1[0-9]{1,4}")
_TIME = re.compile(
    r"(?P<h>[0-9]{1,2})[:.](?P<m>[0-9]{2})(?:[:.](?P<s>[0-9]{2}))?\s*(?P<half>[ap]m)?"
    r"\s*(?P<offset>Z|[+-][0-9]{2}:?[0-9]{2})?",
    re.IGNORECASE,
)
ISO = "Write year-month-day, such as 2026-03-02."


def looks_like_date(written: str) -> bool:
    """Tell whether a text is three numbers parted as in a date, be it a date or not."""
    return _THREE_NUMBERS.fullmatch(written.strip()) is not None


def read_date(written: str) -> date:
    """Return a date: year first, or day.month.year, or with slashes where day and month cannot be exchanged.

    Raises WrongValueError, which continues a sentence that names the column.
    """
    match = _YEAR_FIRST.fullmatch(written)
    if match:
        return _date(written, int(match[1]), int(match[3]), int(match[4]))
    match = _YEAR_LAST.fullmatch(written)
    if match is None:
        raise WrongValueError(f'is "{written}", not a date.' if written else "is empty.", ISO)
    first, second, year = int(match[1]), int(match[3]), int(match[4])
    if match[2] == ".":  # with points the day stands first wherever this form is used
        return _date(written, year, second, first)
    if first <= 12 and second <= 12 and first != second:
        raise WrongValueError(f'is "{written}", which may mean two days.', ISO)
    return _date(written, year, min(first, second), max(first, second))


def _date(written: str, year: int, month: int, day: int) -> date:
    if not 1970 < year < 2200:
        raise WrongValueError(f'is "{written}", a year that no trial is in.', ISO)
    try:
        return date(year, month, day)
    except ValueError:
        missing = f"month {month} of {year} has {monthrange(year, month)[1]} days" if 1 <= month <= 12 else ""
        missing = missing or f"there is no month {month}"
        raise WrongValueError(f'is "{written}", but {missing}.', ISO) from None


def read_time(written: str) -> tuple[time, timedelta | None]:
    """Return a time of day, and how far ahead of UTC its clock was where that is written behind it ("02:30+02:00").

    An empty text is noon. Raises WrongValueError.
    """
    if not written:
        return time(12), None
    match = _TIME.fullmatch(written)
    hour, minute, second = (int(match[part] or 0) for part in "hms") if match else (99, 0, 0)
    half = (match["half"] or "").lower() if match else ""
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "pm" else 0)
    elif half:
        hour = 99
    if match is None or hour > 23 or minute > 59 or second > 59:
        raise WrongValueError(f'is "{written}", not a time of day.', "Write hours and minutes, such as 18:30.")
    return time(hour, minute, second), _offset(match["offset"])


def _offset(written: str | None) -> timedelta | None:
    if not written:
        return None
    if written in "Zz":
        return timedelta(0)
    digits = written[1:].replace(":", "")
    ahead = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    if ahead > timedelta(hours=14):
        raise WrongValueError(f"has the offset {written}.", "No zone is more than 14 hours from UTC.")
    return ahead if written[0] == "+" else -ahead


def read_moment(day: date, clock: time, ahead: timedelta | None, zone: str) -> datetime:
    """Return the moment, UTC. Raises WrongValueError for a time that the clocks leapt over or showed twice."""
    local = datetime.combine(day, clock)
    if ahead is not None:
        return local.replace(tzinfo=timezone(ahead)).astimezone(UTC)
    try:
        return moment_of(local, zone)
    except NoSuchTimeError as error:
        said = f"is {clock:%H:%M} on {day}, which the clocks of {zone}"
        if not error.times:
            raise WrongValueError(f"{said} leapt over.", "Write what a clock showed then.") from None
        forms = (f"{clock:%H:%M}{offset_text(moment, zone)}" for moment in error.times)
        raise WrongValueError(f"{said} showed twice.", f"Write which: {' or '.join(forms)}.") from None
