"""What the page of a trial shows, as plain data: the contract between `acts.view_trial` and the door `web`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Literal

from littoral.findings.model import Finding
from littoral.publish.chart import Chart
from littoral.publish.tables import Table
from littoral.trial.model import Trial

EventKind = Literal[
    "dose",
    "missed dose",
    "water change",
    "top-up",
    "trim",
    "reading",
    "score",
    "animals",
    "plants",
    "equipment",
    "skipped",
    "care",
    "note",
    "override",
    "drawing",
]
Look = Literal["even", "original", "thumb"]
LOOKS: tuple[Look, ...] = ("even", "original", "thumb")
"""even: aligned and evenly exposed; original: as it left the camera, same crop; thumb: even, small."""


@dataclass(frozen=True, slots=True)
class TwinPhoto:
    """One photo in the twin view (`day` is float days since day 0). `stamp` changes whenever its pictures would.

    `prepared` is None where the photo could not be corrected and aligned; `flags` then say why.
    """

    entry_id: str
    day: float
    stamp: str
    original: Path
    prepared: Path | None
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """What one tank shows at one moment: a photo, or the last one before (`held`), or None before the first.

    `from_label` names the moment that the photo shown belongs to.
    """

    photo: TwinPhoto | None
    from_label: str
    held: bool


@dataclass(frozen=True, slots=True)
class TwinTank:
    """One tank in the twin view: what it shows at each moment.

    `arm_place` is the place of its arm in the trial, which gives it its colour. `box` is where the tank is in its view
    (left, upper, right, lower), as shares of the frame's width and height;
    `shape_px` is the size that all its pictures have (width, height).
    """

    key: str
    name: str
    arm: str
    arm_name: str
    arm_place: int
    box: tuple[float, float, float, float]
    shape_px: tuple[int, int]
    shown: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class Moment:
    """One step of the twin view: a whole day, or a part of one where photos come faster."""

    day: float
    label: str
    date: date


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened, in words, at `day` (float days since day 0) in `tank`; `clock` is its local time.

    `tank` is "" for what belongs to none.
    """

    entry_id: str
    day: float
    clock: str
    tank: str
    kind: EventKind
    text: str


@dataclass(frozen=True, slots=True)
class TrialPage:
    """Everything the page of one trial shows.

    `moments` ascend, never empty. Each of `charts` holds one chart by its width in px; `on_dark` maps each colour
    in them to the one it has on dark paper. `published` are names of published files, `pictures` is the folder where
    cut pictures are kept. `left_out` counts photos whose measures came with a data package and no picture with them.
    """

    trial: Trial
    lead: str
    design: str
    moments: tuple[Moment, ...]
    tanks: tuple[TwinTank, ...]
    events: tuple[Event, ...]
    findings: tuple[Finding, ...]
    findings_json: Mapping[str, Any]
    charts: tuple[Mapping[int, Chart], ...]
    on_dark: Mapping[str, str]
    tables: tuple[Table, ...]
    cautions: tuple[str, ...]
    published: tuple[str, ...]
    pictures: Path
    left_out: int = 0

    @property
    def whole_days(self) -> bool:
        """True where each moment is a whole day."""
        return all(moment.day == int(moment.day) for moment in self.moments)

    def moment_at(self, day: float) -> int:
        """Return the index of the moment a day falls in: the last that began by then, the first for any earlier."""
        return max((index for index, moment in enumerate(self.moments) if moment.day <= day), default=0)

    def photo(self, entry_id: str, tank: str) -> tuple[TwinTank, TwinPhoto] | None:
        """Return a tank with one of its photos, by the entry's id; None where the trial has no such pair."""
        for one in self.tanks:
            if one.key == tank:
                photos = (shown.photo for shown in one.shown if shown.photo is not None)
                return next(((one, photo) for photo in photos if photo.entry_id == entry_id), None)
        return None
