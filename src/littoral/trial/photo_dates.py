"""When a photo was taken: from its camera's own note (EXIF), from its file name, or from the phone that sends it.

The rule. The camera wrote its time at the moment of the shot, so it is taken first. It is not believed where its clock
cannot have been set (a year before 2000) or is in the future; then the file name is asked. Where both are
believable and lie more than a day apart, the camera is taken and the photo's note says so. Nothing is guessed: a photo
without a believable date is refused.

A camera's time without an offset, and a time in a file name, is what a clock in the trial's zone showed. An hour that
the clocks showed twice is taken as the first of the two, and the photo's note says so.

A photo that a phone took for a view is sent with the moment at which it was taken. It counts where the camera wrote
none that is believed, unless the file name says another day: then it was an older picture out of the phone's album.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Literal

from littoral.errors import Fault
from littoral.trial.days import NoSuchTimeError, moment_of
from littoral.trial.model import Trial

FIRST_YEAR = 2000
"""Cameras whose clock was never set start in 1970, 1980 or on the first day of a later year."""
CLOCK_SLACK = timedelta(minutes=10)
"""A camera's clock may run ahead of this computer's by so much and not be "in the future"."""
FARTHEST_OFFSET = timedelta(hours=14)
"""No zone is farther from UTC; an offset beyond it is damaged and not used."""
APART = timedelta(days=1)

DatedBy = Literal["exif", "file name", "phone"]

_DATE = r"(?P<y>[0-9]{4})(?P<s>[-_.]?)(?P<m>[0-9]{2})(?P=s)(?P<d>[0-9]{2})"
_SECONDS = r"(?:(?P=t)(?P<S>[0-5][0-9])(?:[.,]?[0-9]{1,6})?)?"
_TIME = rf"(?:[-_ T.]{{1,2}}(?P<H>[0-2][0-9])(?P<t>[-_.:hH]?)(?P<M>[0-5][0-9]){_SECONDS})?"
_NOT_ANOTHER_DATE = r"(?![0-9]|[-_.][0-9]{2}[-_.][0-9]{2}(?![0-9]))"
_STAMP = re.compile(rf"(?<![0-9]){_DATE}{_TIME}{_NOT_ANOTHER_DATE}")
_DAY_FIRST = re.compile(r"(?<![0-9])[0-9]{2}[-_.]?[0-9]{2}[-_.]?(?:19|20)[0-9]{2}(?![0-9])")


@dataclass(frozen=True, slots=True)
class PhotoDate:
    """When a photo was taken, UTC, how that is known, and what is to be said about it ("" for nothing)."""

    at: datetime
    dated_by: DatedBy
    note: str = ""


@dataclass(frozen=True, slots=True)
class NamedTime:
    """A local time found in a file name; `noon_assumed` where it names a day only."""

    local: datetime
    noon_assumed: bool


def time_in_name(name: str) -> NamedTime | None:
    """Return the local time that a file name states, year first, or None where it states none or more than one.

    Read are for example 2019-10-22-11-05_plant.jpg, 2024-01-01T0200.png, IMG_20260302_181500.jpg and
    2026-03-02.jpg (noon is assumed). Day-first dates are not read: 02-03-2026 may mean two days.
    """
    found = {named for match in _STAMP.finditer(name) if (named := _named_time(match)) is not None}
    return found.pop() if len(found) == 1 else None


def _named_time(match: re.Match[str]) -> NamedTime | None:
    hour, minute, second = match["H"], match["M"], match["S"]
    try:
        local = datetime(
            int(match["y"]), int(match["m"]), int(match["d"]), int(hour or 12), int(minute or 0), int(second or 0)
        )
    except ValueError:
        return None
    return NamedTime(local, noon_assumed=hour is None)


def date_photo(
    name: str,
    *,
    exif_taken: datetime | None,
    exif_offset: timedelta | None,
    trial: Trial,
    now: datetime,
    where: str,
) -> PhotoDate | Fault:
    """Return when a photo was taken by the rule above, or the fault that it has no believable date.

    `exif_taken` is the camera's own time without a zone, `exif_offset` how far that was ahead of UTC where it is known;
    `now` (with a zone) is the present; `where` names the photo in the fault.
    """
    named = time_in_name(name)
    by_camera: PhotoDate | str = "has no date from its camera"
    if exif_taken is not None:
        by_camera = _believable(exif_taken, exif_offset, trial.zone, now, "exif")
    by_name = _believable(named.local, None, trial.zone, now, "file name") if named else _why_not_named(name)
    if isinstance(by_camera, PhotoDate):
        if isinstance(by_name, PhotoDate) and abs(by_camera.at - by_name.at) > APART:
            note = f"the file name says {by_name.at:%Y-%m-%d %H:%M} UTC; the camera's date is used"
            return replace(by_camera, note=_joined(by_camera.note, note))
        return by_camera
    if isinstance(by_name, PhotoDate):
        ignored = f"not believed: the photo {by_camera}" if exif_taken is not None else ""
        noon = "the file name gives only the day: noon is assumed" if named and named.noon_assumed else ""
        return replace(by_name, note=_joined(by_name.note, ignored, noon))
    right = "Set the camera's clock; name this file by its local time, year first: 2026-03-02_1815.jpg."
    return Fault(f"The photo {by_camera}, and {by_name}.", right, where)


def date_taken(
    name: str,
    *,
    phone_at: datetime,
    exif_taken: datetime | None,
    exif_offset: timedelta | None,
    trial: Trial,
    now: datetime,
) -> PhotoDate:
    """Return when a photo was taken that a phone sent, `phone_at` (with a zone) being the phone's own moment of it."""
    dated = date_photo(name, exif_taken=exif_taken, exif_offset=exif_offset, trial=trial, now=now, where="photo")
    if isinstance(dated, Fault):
        return PhotoDate(phone_at, "phone", "" if exif_taken is None else dated.what.partition(", and")[0])
    if dated.dated_by == "exif":
        off = abs(dated.at - phone_at) > APART
        note = (
            f"sent as taken at {phone_at.astimezone(UTC):%Y-%m-%d %H:%M} UTC; the camera's date is used" if off else ""
        )
        return replace(dated, note=_joined(dated.note, note))
    return dated if abs(dated.at - phone_at) > APART else PhotoDate(phone_at, "phone")


def _believable(
    local: datetime, offset: timedelta | None, zone: str, now: datetime, dated_by: Literal["exif", "file name"]
) -> PhotoDate | str:
    """Return the moment, or why it is not believed, as the end of a sentence that begins with the photo."""
    said = f"is dated {local:%Y-%m-%d %H:%M} by its {'camera' if dated_by == 'exif' else 'file name'}"
    note = ""
    if local.year < FIRST_YEAR:
        return f"{said}, before the year {FIRST_YEAR}"
    if offset is not None and abs(offset) > FARTHEST_OFFSET:
        offset = None
    if local.year > now.year + 1:
        return f"{said}, in the future"
    try:
        at = local.replace(tzinfo=timezone(offset)).astimezone(UTC) if offset is not None else moment_of(local, zone)
    except NoSuchTimeError as error:
        if not error.times:
            return f"{said}, when the clocks of {zone} leapt over that time"
        at = error.times[0]
        note = "the clocks showed this time twice that night: the first is taken"
    if at > now + CLOCK_SLACK:
        return f"{said}, in the future"
    return PhotoDate(at, dated_by, note)


def _why_not_named(name: str) -> str:
    if len({match[0] for match in _STAMP.finditer(name)}) > 1:
        return "has several dates in its file name"
    if _DAY_FIRST.search(name):
        return "has a date in its file name that does not begin with the year, so that it may mean two days"
    return "has no date in its file name"


def _joined(*notes: str) -> str:
    return "; ".join(note for note in notes if note)
