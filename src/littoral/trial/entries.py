"""Entries: the one stream of everything that happened. An entry is never edited; a later one may supersede it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal


@dataclass(frozen=True, slots=True)
class Dose:
    """A dose of a bottle, in mL, or of a dry salt, in g (exactly one of the two); `given` is False for a missed one."""

    of: str
    ml: float | None = None
    g: float | None = None
    given: bool = True


@dataclass(frozen=True, slots=True)
class WaterChange:
    """A water change: the share of the net volume replaced, 0 to 1, with source water."""

    share: float


@dataclass(frozen=True, slots=True)
class TopUp:
    """Water added against evaporation, litres."""

    litres: float


@dataclass(frozen=True, slots=True)
class Trim:
    """A trim of one stand (None: the whole tank): height left in cm, wet mass removed in g, where noted."""

    stand: str | None
    left_cm: float | None = None
    wet_g: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A test result, mg/L, with the range it stands for: a colour step of 10 on a 5-10-20 card is low 7.5, high 15."""

    nutrient: str
    low_mg_per_l: float
    high_mg_per_l: float
    method: str
    shown: str


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo: the SHA-256 of its original, the view, how its time was known, and its file name when it came in."""

    sha256: str
    view: str
    dated_by: Literal["exif", "file name"]
    file_name: str


@dataclass(frozen=True, slots=True)
class Care:
    """Minutes of care spent on a tank."""

    minutes: float


@dataclass(frozen=True, slots=True)
class Note:
    """Free text."""

    text: str


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """That an earlier entry no longer holds, and why; it stands in the logbook only and is never in force itself."""

    reason: str


@dataclass(frozen=True, slots=True)
class Overridden:
    """That a person went on although a dose would pass a published limit; it belongs to no tank and never to a file.

    `act` says on which sheet; `of` is the short name of the bottle (mix) or the arm (week), "" where it was none of the
    trial's. `limit` names the limits passed, with "; " between them, and `said` gives for each the level and the limit,
    as the person read them; `reason` is the person's own.
    """

    act: Literal["mix", "week"]
    of: str
    limit: str
    said: str
    reason: str


Payload = Dose | WaterChange | TopUp | Trim | Reading | Photo | Care | Note | Withdrawn | Overridden


@dataclass(frozen=True, slots=True)
class Entry:
    """One dated record. `at` is UTC; `zone` is the IANA zone it was made in.

    `tank` is None where a view says it, or where no tank is meant.

    `id` is made from the content for imported entries, so that importing twice changes nothing. `trial` is the key of
    the trial that it belongs to; `origin` the name of the file that it was a row of, "" where it was none.
    """

    id: str
    at: datetime
    zone: str
    tank: str | None
    payload: Payload
    who: str = ""
    supersedes: str | None = None
    note: str = ""
    trial: str = ""
    origin: str = ""
