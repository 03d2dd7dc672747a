"""A finding as the page shows it: its bar, the runs of days, a few of its photos."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.acts.trial_page import TrialPage, TwinPhoto, TwinTank
from littoral.findings.model import Finding
from littoral.web.interval import IntervalBar, interval_bar

PHOTOS_SHOWN = 3
"""How many days of each tank are shown as small pictures beside a finding: the first, one between, the last."""


@dataclass(frozen=True, slots=True)
class EvidencePhoto:
    """One photo that carries a finding: in which tank's pictures it is, on which day, and how that day is called."""

    tank: TwinTank
    photo: TwinPhoto
    day: float
    label: str


def bar_of(finding: Finding, page: TrialPage) -> IntervalBar | None:
    """Return the bar of a finding's effect, or None where it has no interval."""
    if finding.effect is None or finding.low is None or finding.high is None:
        return None
    smallest = next((ask.smallest for ask in page.trial.questions if ask.key == finding.question), None)
    claim = (finding.claim.low, finding.claim.high) if finding.claim is not None and finding.level != 0.95 else None
    return interval_bar(effect=finding.effect, low=finding.low, high=finding.high, smallest=smallest, claim=claim)


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
