"""Which photo of each tank a film shows when: one moment a day, or one for each photo in a fast series.

A moment without a photo holds the one before, and says so; nothing is left out or invented.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.measured import MeasuredPhoto
from littoral.publish.flags import single_flags, usual_kinds
from littoral.trial.model import Trial

NOON = 0.5
FAST_DAYS = 0.5
FAST_FILLED = 0.8
"""Photos closer than FAST_DAYS (median) that fill this share of such steps: every photo is a moment of its own."""
SLOT_HOURS = (0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0)


@dataclass(frozen=True, slots=True)
class Shown:
    """What one tank shows at one moment: a photo (None before the first), and whether it is held from before.

    `flags` are what is wrong with this photo and not with most of them; of a held one, why its own was set aside.
    """

    photo: MeasuredPhoto | None
    held: bool
    flags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of the film: `day` is float days since the start, `label` what the counter says."""

    day: float
    label: str
    shown: Mapping[str, Shown]


def step_days(days: Sequence[float]) -> float:
    """Return the distance between a film's moments, in days, from the days of the photos of one view.

    One day, unless photos come faster all day and night: a burst of shots, or a few by daylight, are still one day.
    """
    at = np.unique(np.asarray(days, dtype=float))
    if at.size < 2:
        return 1.0
    hours = 24 * float(np.median(np.diff(at)))
    step = min(SLOT_HOURS, key=lambda slot: abs(math.log(slot / hours))) / 24
    slots = np.round(at / step)
    filled = np.unique(slots).size / (slots[-1] - slots[0] + 1)
    return step if hours / 24 < FAST_DAYS and filled >= FAST_FILLED else 1.0


def day_words(day: float, step: float) -> str:
    """Return what the counter says for a day: "day 12", or "day 2, 14:00" where a step is less than a day."""
    if step >= 1:
        return f"day {math.floor(day)}"
    minutes = round(day * 24 * 60)
    return f"day {minutes // 1440}, {minutes % 1440 // 60:02d}:{minutes % 60:02d}"


def moments(trial: Trial, photos: Mapping[str, Sequence[MeasuredPhoto]]) -> tuple[Moment, ...]:
    """Return the film's moments, from the first photo of any tank to the last.

    `photos` is keyed by tank. With one moment a day, a day shows the photo nearest to noon, and one without flags
    before one with. Photos outside the trial's days, and those that were set aside, are left out.
    """
    within = {tank: [photo for photo in some if _usable(trial, photo)] for tank, some in photos.items()}
    every = [photo.day for some in within.values() for photo in some]
    if not every:
        return ()
    step = min((step_days([photo.day for photo in some]) for some in within.values() if some), default=1.0)
    aside = {
        tank: {_slot(photo.day, step): (f"photo set aside: {photo.excluded}",) for photo in some if photo.excluded}
        for tank, some in photos.items()
    }
    usual = {tank: usual_kinds(some) for tank, some in within.items()}
    chosen = {tank: _by_slot(some, step, usual[tank]) for tank, some in within.items()}
    first = min(_slot(day, step) for day in every)
    last = max(_slot(day, step) for day in every)
    before: dict[str, MeasuredPhoto | None] = dict.fromkeys(within)
    made = []
    for slot in range(first, last + 1):
        shown = {}
        for tank, by_slot in chosen.items():
            photo = by_slot.get(slot)
            flags = single_flags(photo.flags, usual[tank]) if photo is not None else aside[tank].get(slot, ())
            shown[tank] = Shown(photo or before[tank], held=photo is None, flags=flags)
            before[tank] = photo or before[tank]
        made.append(Moment(slot * step, day_words(slot * step, step), shown))
    return tuple(made)


def _usable(trial: Trial, photo: MeasuredPhoto) -> bool:
    return 0 <= photo.day < trial.length_days and photo.prepared is not None and not photo.excluded


def _slot(day: float, step: float) -> int:
    """Return the number of the moment that a photo belongs to: its day, or the nearest step of a fast series."""
    return math.floor(day) if step >= 1 else round(day / step)


def _by_slot(photos: Sequence[MeasuredPhoto], step: float, usual: frozenset[str]) -> dict[int, MeasuredPhoto]:
    def rank(photo: MeasuredPhoto) -> tuple[bool, float, str]:
        slot = _slot(photo.day, step)
        centre = slot + NOON if step >= 1 else slot * step
        return bool(single_flags(photo.flags, usual)), abs(photo.day - centre), photo.entry_id

    best: dict[int, MeasuredPhoto] = {}
    for photo in sorted(photos, key=rank):
        best.setdefault(_slot(photo.day, step), photo)
    return best
