"""Entries: the one stream of everything that happened. An entry is never edited; a later one may supersede it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal


@dataclass(frozen=True, slots=True)
class Dose:
    """A dose of a bottle, in mL, or of a dry salt, in g (exactly one of the two); `given` is False for a missed one.

    `written` is the amount as the person measured it ("2 strokes"), "" where nobody wrote it; it is not compared, since
    ml or g say how much it was. `for_date` (ISO) is the planned day that it makes up for, None: the day it was given.
    """

    of: str
    ml: float | None = None
    g: float | None = None
    given: bool = True
    written: str = field(default="", compare=False)
    for_date: str | None = None


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
    """A trim of one stand (None: the whole tank): height left, cm, wet mass removed, g, minutes, where noted."""

    stand: str | None
    left_cm: float | None = None
    wet_g: float | None = None
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """A test result, mg/L, with the range it stands for: a colour step of 10 on a 5-10-20 card is low 7.5, high 15."""

    nutrient: str
    low_mg_per_l: float
    high_mg_per_l: float
    method: str
    shown: str


@dataclass(frozen=True, slots=True)
class GaugeReading:
    """What was read off a gauge (`trial.gauges`), in its unit, with the range it stands for."""

    gauge: str
    low: float
    high: float
    method: str
    shown: str


@dataclass(frozen=True, slots=True)
class Score:
    """A condition judged by eye: a step, 0 to 4, of a scale (`trial.scales`); of one stand, None: the whole tank."""

    scale: str
    step: int
    stand: str | None = None


@dataclass(frozen=True, slots=True)
class Living:
    """Animals or plants that came into a tank or left it: how many of what, and why."""

    group: Literal["animals", "plants"]
    what: str
    count: int
    change: Literal["added", "removed", "died"]


@dataclass(frozen=True, slots=True)
class Equipment:
    """A change of equipment: which (filter, lamp, heater…), and what was done or set."""

    what: str
    change: str


@dataclass(frozen=True, slots=True)
class Skipped:
    """That a planned task other than a dose was let go on the day of the entry: `trial.due.Due.task` says which."""

    task: str


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo: the SHA-256 of its original, the view, how its time was known, and its file name when it came in.

    `doubts` says what made it look wrong when it came in (blurred, another tank…), `decided` what a person made of it:
    a photo with doubts is used only once it is kept, and one that is set aside never. `camera` is as the camera wrote
    it. None of these makes it another photo, so they are not compared.
    """

    sha256: str
    view: str
    dated_by: Literal["exif", "file name", "phone", "person"]
    file_name: str
    doubts: tuple[str, ...] = field(default=(), compare=False)
    decided: Literal["", "kept", "set aside"] = field(default="", compare=False)
    camera: str = field(default="", compare=False)

    @property
    def waits(self) -> bool:
        """Whether a person has yet to decide about it."""
        return bool(self.doubts) and not self.decided

    @property
    def used(self) -> bool:
        """Whether it is measured."""
        return not self.waits and self.decided != "set aside"


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


@dataclass(frozen=True, slots=True)
class Drawn:
    """That a view was drawn anew: its tanks' corners, widths and regions, from a day of the trial on.

    It belongs to no tank and never to a file. `panes` is JSON text, what `[views.….tanks]` of a trial file holds
    (`trial.written.drawings`). Photos of earlier days keep the drawing that they had.
    """

    view: str
    from_day: float
    panes: str


@dataclass(frozen=True, slots=True)
class Taught:
    """Brush strokes on one photo that teach a stand's look in one view, from a day of the trial on.

    The photo is named by the SHA-256 of its original; the entry's tank says whose stand it is. `strokes` is JSON text
    (`trial.written.brush_strokes`). All strokes in force on a stand teach together; photos of days before `from_day`
    do not learn from these.
    """

    view: str
    stand: str
    sha256: str
    from_day: float
    strokes: str


Payload = (
    Dose
    | WaterChange
    | TopUp
    | Trim
    | Reading
    | GaugeReading
    | Score
    | Living
    | Equipment
    | Skipped
    | Photo
    | Care
    | Note
    | Withdrawn
    | Overridden
    | Drawn
    | Taught
)

AT_A_DESK: tuple[type[Payload], ...] = (Overridden, Drawn, Taught)
"""What is written down away from the tanks, at any time: it shows nothing of a tank on the day it was made."""


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


def by_tank(entries: Iterable[Entry]) -> Mapping[str | None, Sequence[Entry]]:
    """Return entries by their tank, each tank's in the order given: what asks for every tank reads all only once."""
    found: dict[str | None, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.tank, []).append(entry)
    return found
