"""When a photo that is taken in was shot: by the person's word, by camera and file name, or it is asked for."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from littoral.errors import Fault
from littoral.trial.days import outside_days
from littoral.trial.model import Trial
from littoral.trial.photo_dates import APART, date_photo, time_in_name
from littoral.trial.written.report import WrongValueError

_SHIFT = re.compile(r"(?P<sign>[+-])\s*(?P<n>[0-9]{1,4})\s*(?P<unit>y|years?|d|days?|h|hours?|min|minutes?)", re.ASCII)
YEARS_TRIED = (1, -1, 2, -2)
"""A clock that was never set is often off by whole years."""


@dataclass(frozen=True, slots=True)
class ClockShift:
    """By how much a camera's clock is put right: whole years, and a span."""

    years: int = 0
    span: timedelta = timedelta()

    def of(self, local: datetime) -> datetime:
        """Return a camera's local time put right; 29 February becomes the 28th in a year without it. OverflowError."""
        year = local.year + self.years
        if not 1 < year < 9999:
            raise OverflowError(year)
        last = calendar.monthrange(year, local.month)[1]
        return local.replace(year=year, day=min(local.day, last)) + self.span


AS_IT_IS = ClockShift()


@dataclass(frozen=True, slots=True)
class Dated:
    """When a photo was shot, UTC, how that is known, what is noted, and what is doubtful about it."""

    at: datetime
    by: Literal["exif", "file name", "phone", "person"]
    note: str = ""
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Undated:
    """Why the date has to be asked for, and a moment that would fit ("" for none)."""

    why: str
    propose: str = ""


def read_shift(written: str) -> ClockShift:
    """Read how far a camera's clock is to be put right: "+1 year", "-2 h", "+3 days"; WrongValueError."""
    words = " ".join(written.split()).casefold()
    if not words:
        return AS_IT_IS
    match = _SHIFT.fullmatch(words)
    if match is None:
        raise WrongValueError(f'is "{written[:40]}".', 'Write "+1 year", "-3 days", "+2 h" or "-15 min".')
    number, unit = int(match["sign"] + match["n"]), match["unit"][0]
    if unit == "y":
        return ClockShift(years=number)
    spans = {"d": timedelta(days=number), "h": timedelta(hours=number), "m": timedelta(minutes=number)}
    return ClockShift(span=spans[unit])


def date_of_photo(
    name: str,
    *,
    exif_taken: datetime | None,
    exif_offset: timedelta | None,
    trial: Trial,
    now: datetime,
    told: datetime | None,
    shift: ClockShift,
) -> Dated | Undated:
    """Return when a photo was shot, or why that has to be asked. `told` is the person's word and counts before all."""
    if told is not None:
        return Dated(told, "person")
    note = ""
    if exif_taken is not None and shift != AS_IT_IS:
        try:
            exif_taken = shift.of(exif_taken)
        except OverflowError:
            return Undated("is dated by its camera in a year that cannot be.")
        note = "the camera's clock was put right"
    last = name.replace("\\", "/").rpartition("/")[2]
    found = date_photo(last, exif_taken=exif_taken, exif_offset=exif_offset, trial=trial, now=now, where="")
    if isinstance(found, Fault):
        return Undated(_asked(found), _fitting(exif_taken, exif_offset, last, trial, now))
    if outside := outside_days(found.at, trial):
        shown = found.at.astimezone(ZoneInfo(trial.zone))
        by = "camera" if found.dated_by == "exif" else "file name"
        why = f"is dated {shown:%Y-%m-%d} by its {by}, but {outside}."
        return Undated(why, _fitting(exif_taken, exif_offset, last, trial, now))
    doubts: tuple[str, ...] = ()
    named = time_in_name(last)
    if named is not None and found.dated_by == "exif":
        shown = found.at.astimezone(ZoneInfo(trial.zone))
        if abs(shown.replace(tzinfo=None) - named.local) > APART:
            doubts = (f"its camera says {shown:%Y-%m-%d}, its file name {named.local:%Y-%m-%d}: is a clock wrong?",)
    return Dated(found.at, found.dated_by, "; ".join(filter(None, (found.note, note))), doubts)


def _asked(fault: Fault) -> str:
    return fault.what.removeprefix("The photo ")


def _fitting(exif_taken: datetime | None, exif_offset: timedelta | None, name: str, trial: Trial, now: datetime) -> str:
    """Return a moment within the trial that the photo may mean: by its name, or by a clock off by whole years."""
    named = time_in_name(name)
    tries = [] if named is None else [(named.local, None)]
    for years in YEARS_TRIED if exif_taken is not None else ():
        assert exif_taken is not None
        try:
            tries.append((ClockShift(years).of(exif_taken), exif_offset))  # type: ignore[arg-type]
        except OverflowError:
            continue
    for local, offset in tries:
        dated = date_photo("", exif_taken=local, exif_offset=offset, trial=trial, now=now, where="")
        if not isinstance(dated, Fault) and not outside_days(dated.at, trial):
            return f"{dated.at.astimezone(ZoneInfo(trial.zone)):%Y-%m-%d %H:%M}"
    return ""
