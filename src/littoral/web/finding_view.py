"""A finding as the page shows it: its bar, the runs of days, a few of its photos."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from littoral.acts.trial_page import TrialPage, TwinPhoto, TwinTank
from littoral.findings.model import Finding
from littoral.trial.days import date_of
from littoral.web.interval import IntervalBar, interval_bar

NEAR_DAYS = 3
PHOTOS_SHOWN = 3
"""How many days of each tank are shown as small pictures beside a finding: the first, one between, the last."""


@dataclass(frozen=True, slots=True)
class EvidencePhoto:
    """One photo that carries a finding: in which tank's pictures it is, on which day, and how that day is called."""

    tank: TwinTank
    photo: TwinPhoto
    day: float
    label: str


@dataclass(frozen=True, slots=True)
class CarryingPhotos:
    """A day that carries a finding: why, how it is called, and each tank's photo of that day."""

    day: int
    why: str
    label: str
    photos: tuple[EvidencePhoto, ...]


@dataclass(frozen=True, slots=True)
class Disturbance:
    """What weakened a finding, and where its entries are: whole day, its date, and the tank ("": all of them)."""

    reason: str
    days: tuple[tuple[int, date, str], ...]


def bar_of(finding: Finding, page: TrialPage) -> IntervalBar | None:
    """Return the bar of a finding's effect, or None where it has no interval."""
    if finding.effect is None or finding.low is None or finding.high is None:
        return None
    smallest = next((ask.smallest for ask in page.trial.questions if ask.key == finding.question), None)
    claim = (finding.claim.low, finding.claim.high) if finding.claim is not None and finding.level != 0.95 else None
    return interval_bar(effect=finding.effect, low=finding.low, high=finding.high, smallest=smallest, claim=claim)


def carrying_photos(finding: Finding, page: TrialPage) -> list[CarryingPhotos]:
    """Return the days that carry a finding with their photos, ascending; none without a photo of its own.

    A tank without a photo on that day shows its nearest, at most `NEAR_DAYS` away.
    """
    carrying = set(finding.evidence.photos)
    asked = {value.tank for value in finding.arms}
    found = []
    for one in finding.evidence.carrying:
        photos = []
        for tank in (tank for tank in page.tanks if tank.key in asked):
            near = [
                EvidencePhoto(tank, shown.photo, moment.day, moment.label)
                for moment, shown in zip(page.moments, tank.shown, strict=True)
                if shown.photo is not None
                and not shown.held
                and shown.photo.entry_id in carrying
                and abs(int(shown.photo.day) - one.day) <= NEAR_DAYS
            ]
            photos += sorted(near, key=lambda shot: abs(int(shot.photo.day) - one.day))[:1]
        if any(int(shot.photo.day) == one.day for shot in photos):
            label = next(shot.label for shot in photos if int(shot.photo.day) == one.day)
            found.append(CarryingPhotos(one.day, one.why, label, tuple(photos)))
    return found


def disturbances_of(finding: Finding, page: TrialPage) -> list[Disturbance]:
    """Return what weakened a finding, each reason once, by its first day; reasons without a day that is known last."""
    where = {event.entry_id: (int(event.day), event.tank) for event in page.events}
    for tank in page.tanks:
        for shown in tank.shown:
            if shown.photo is not None:
                where.setdefault(shown.photo.entry_id, (int(shown.photo.day), tank.key))
    reasons: dict[str, set[tuple[int, str]]] = {}
    for entry_id, reason in finding.evidence.disturbed_by.items():
        days = reasons.setdefault(reason, set())
        if entry_id in where:
            days.add(where[entry_id])
    found = [
        Disturbance(reason, tuple((day, date_of(day, page.trial), tank) for day, tank in sorted(days)))
        for reason, days in reasons.items()
    ]
    return sorted(found, key=lambda one: one.days[0][0] if one.days else math.inf)


def evidence_photos(finding: Finding, page: TrialPage) -> list[EvidencePhoto]:
    """Return a few of the photos a finding rests on: of each tank the first, one between, and the last, by day."""
    carrying = set(finding.evidence.photos)
    few: list[EvidencePhoto] = []
    for tank in page.tanks:
        photos = [
            EvidencePhoto(tank, shown.photo, moment.day, moment.label)
            for moment, shown in zip(page.moments, tank.shown, strict=True)
            if shown.photo is not None and not shown.held and shown.photo.entry_id in carrying
        ]
        last = len(photos) - 1
        picks = sorted({round(step * last / (PHOTOS_SHOWN - 1)) for step in range(PHOTOS_SHOWN)}) if photos else []
        few.extend(photos[pick] for pick in picks)
    return sorted(few, key=lambda one: (one.day, one.tank.key))
