"""What the club really dosed: the regimes' calendar with a few missed doses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.demo.story import BASELINE_DAYS, PlannedDose, Story

MISSED_SHARE = 0.05  # of doses, by the club's own fault
CHANGE_SHARE = 0.40  # of the net volume, on Saturdays


@dataclass(frozen=True, slots=True)
class Given:
    """One planned dose and whether it was given."""

    day: int
    dose: PlannedDose
    given: bool


def doses(story: Story, tank: str) -> tuple[Given, ...]:
    """Return every planned dose of a tank, in order, with the missed ones marked."""
    rng = np.random.default_rng([story.seed, 20, 0 if tank == "left" else 1])
    found: list[Given] = []
    for day in range(story.days):
        regime = "sparing" if day < BASELINE_DAYS else story.arm_of[tank]
        today = [dose for dose in story.regimes[regime] if day % 7 in dose.weekdays]
        found += [Given(day, dose, bool(rng.random() >= MISSED_SHARE)) for dose in today]
    return tuple(found)
