"""Days of a trial, and the moments they stand for.

Day 0 begins at local midnight of the trial's start, in the trial's zone. Ranges of days are half-open: day 3 is
3 <= day < 4, a trial of 56 days is 0 <= day < 56, and the baseline is 0 <= day < baseline_days.

The whole part of a day counts local midnights; the fraction is the share of that local day that has passed, by its
real length. Keepers think in calendar days, so a dose "on Sunday" must fall on the same whole day through the year,
which a count of 24-hour spans breaks when clocks change. The fraction is of real time and not of the clock's face,
because then later moments always have later days, also in the hour that the clock shows twice, and every moment has
one day. The price: on the two days a year that have 23 or 25 hours, noon is not exactly .5 (but .478 and .520).

What a keeper calls "today" is the local date in the trial's zone, also on a journey: the tanks stand where they stand.
An entry keeps the zone that it was made in besides, for the words "at six in the evening". A clock that somebody puts
forward or back changes neither: moments are UTC, and daylight saving time does not move them.

A date whose midnight the clock leaps over begins at the first moment that has that date; a date that a zone leapt over
whole has no moments.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from math import ceil, floor
from zoneinfo import ZoneInfo

from littoral.errors import LittoralError
from littoral.trial.model import Trial


class NaiveTimeError(LittoralError):
    """A time without a zone, which stands for no one moment."""

    def __init__(self, at: datetime) -> None:
        self.at = at
        super().__init__(f"{at.isoformat()} has no zone, so it is no certain moment. Give it one, such as UTC.")


class NoSuchTimeError(LittoralError):
    """A local time that the clocks leapt over (`times` is empty) or showed twice (`times` holds both moments, UTC)."""

    def __init__(self, local: datetime, zone: str, times: tuple[datetime, ...]) -> None:
        self.local = local
        self.zone = zone
        self.times = times
        shown = f"{local:%Y-%m-%d %H:%M}"
        if times:
            offsets = " or ".join(offset_text(moment, zone) for moment in times)
            message = f"The clocks of {zone} showed {shown} twice. Write which, with {offsets} behind it."
        else:
            message = f"The clocks of {zone} leapt over {shown}. Write what a clock showed then."
        super().__init__(message)


def day_of(at: datetime, trial: Trial) -> float:
    """Return the day of a moment, before the start negative. Raises NaiveTimeError for a time without a zone."""
    if at.tzinfo is None:
        raise NaiveTimeError(at)
    # in UTC: of two moments that a zone's clocks showed alike, Python says that they are equal
    return _day_of(at.astimezone(UTC), trial.start, trial.zone)


@lru_cache(maxsize=1 << 16)  # an answer asks for the day of the same entries many times
def _day_of(at: datetime, start: date, zone: str) -> float:
    whole = (at.astimezone(ZoneInfo(zone)).date() - start).days
    begin, end = (_first_moment(start + timedelta(days=day), zone) for day in (whole, whole + 1))
    # Where the clock goes back over midnight, the local date is not the count of midnights passed.
    while at < begin:
        whole -= 1
        begin, end = _first_moment(start + timedelta(days=whole), zone), begin
    while at >= end:
        whole += 1
        begin, end = end, _first_moment(start + timedelta(days=whole + 1), zone)
    return whole + (at - begin) / (end - begin)


def instant_of(day: float, trial: Trial) -> datetime:
    """Return the moment of a day, UTC, to the microsecond: the inverse of `day_of`."""
    begin = _midnight(trial, floor(day))
    return begin + (day - floor(day)) * (_midnight(trial, floor(day) + 1) - begin)


def date_of(day: float, trial: Trial) -> date:
    """Return the local date that a day falls on."""
    return trial.start + timedelta(days=floor(day))


def local_date(at: datetime, zone: str) -> date:
    """Return the local date of a moment in a zone, by midnights passed (as `day_of`); NaiveTimeError."""
    if at.tzinfo is None:
        raise NaiveTimeError(at)
    day = at.astimezone(ZoneInfo(zone)).date()
    # Where the clock goes back over midnight, the date on its face is not the count of midnights passed.
    while at < _first_moment(day, zone):
        day -= timedelta(days=1)
    while at >= _first_moment(day + timedelta(days=1), zone):
        day += timedelta(days=1)
    return day


def span_of(day: date, zone: str, *, days: int = 1) -> tuple[datetime, datetime]:
    """Return the first moment of a local date and the first after `days` dates, UTC: a half-open range."""
    return _first_moment(day, zone), _first_moment(day + timedelta(days=days), zone)


def moment_on(day: date, clock: time, zone: str) -> datetime:
    """Return the moment, UTC, at which a clock is due to show a time of a date, for plans that must have one.

    A time that the clocks leap over is taken as long after midnight as it would have been (02:30 becomes 03:30); of one
    that they show twice, the first counts. That is what RFC 5545 (3.3.5) says of calendars.
    """
    return datetime.combine(day, clock, ZoneInfo(zone)).astimezone(UTC)


def outside_days(at: datetime, trial: Trial) -> str:
    """Return "" for a moment within the trial's days, else which days those are: "the trial's days are ... to ..."."""
    if 0 <= day_of(at, trial) < trial.length_days:
        return ""
    last = trial.start + timedelta(days=ceil(trial.length_days) - 1)
    return f"the trial's days are {trial.start} to {last} (day 0 to {ceil(trial.length_days) - 1})"


def moment_of(local: datetime, zone: str) -> datetime:
    """Return the moment, UTC, at which the clocks of a zone showed `local` (a time without a zone).

    Raises NoSuchTimeError where no clock showed it, or where it was shown twice.
    """
    place = ZoneInfo(zone)
    times = {local.replace(tzinfo=place, fold=fold).astimezone(UTC) for fold in (0, 1)}
    real = sorted(moment for moment in times if moment.astimezone(place).replace(tzinfo=None) == local)
    if len(real) != 1:
        raise NoSuchTimeError(local, zone, tuple(real))
    return real[0]


def _midnight(trial: Trial, whole: int) -> datetime:
    return _first_moment(trial.start + timedelta(days=whole), trial.zone)


@lru_cache(maxsize=4096)
def _first_moment(day: date, zone: str) -> datetime:
    """Return the first moment of a local date, UTC; for a midnight that was leapt over, the moment of the leap."""
    return datetime.combine(day, time(), ZoneInfo(zone)).astimezone(UTC)


def offset_text(moment: datetime, zone: str) -> str:
    """Print how far ahead of UTC the clocks of a zone are at a moment: "+02:00"."""
    written = moment.astimezone(ZoneInfo(zone)).strftime("%z")
    return f"{written[:3]}:{written[3:5]}"
