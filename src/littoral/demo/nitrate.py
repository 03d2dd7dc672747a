"""The demo's true nitrate, and what a test with a coarse colour card shows of it.

Written independently of `tank.balance`, so that the two can be compared: between events the level falls at a
first-order rate (closed form), a change mixes in source water, a dose adds its mass over the net volume.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp

from littoral.demo.doses import CHANGE_SHARE, doses
from littoral.demo.recipes import MACRO_NITRATE_MG_PER_ML, NET_VOLUME_L, SOURCE_NITRATE_MG_PER_L
from littoral.demo.story import SATURDAY, Story

STEPS_MG_PER_L = (0.0, 5.0, 10.0, 20.0, 40.0, 80.0)


def nitrate_before(story: Story, tank: str, day: float) -> float:
    """Return the true nitrate in mg/L of a tank at `day`, before anything done at that moment."""
    uptake = story.nitrate_uptake_per_day
    events = [(float(number) + 10.5 / 24, "change", 0.0) for number in range(SATURDAY, story.days, 7)]
    events += [
        (given.day + 13.6 / 24, "dose", given.dose.ml * MACRO_NITRATE_MG_PER_ML / NET_VOLUME_L)
        for given in doses(story, tank)
        if given.given and given.dose.of == "macro"
    ]
    level, since = SOURCE_NITRATE_MG_PER_L, 0.0
    for at, kind, adds in sorted(events):
        if at >= day:
            break
        level *= exp(-uptake * (at - since))
        level = level + adds if kind == "dose" else level + CHANGE_SHARE * (SOURCE_NITRATE_MG_PER_L - level)
        since = at
    return level * exp(-uptake * (day - since))


def true_nitrate(story: Story, tank: str) -> list[tuple[float, float]]:
    """Return (day, mg/L) of a tank at noon of every day."""
    return [(day + 0.5, round(nitrate_before(story, tank, day + 0.5), 4)) for day in range(story.days)]


def card_reading(true_mg_per_l: float) -> tuple[float, float, float]:
    """Return what the colour card shows: the nearest step, and the range that step stands for, mg/L."""
    steps = STEPS_MG_PER_L
    edges = [(low + high) / 2 for low, high in pairwise(steps)]
    index = sum(true_mg_per_l >= edge for edge in edges)
    low = edges[index - 1] if index else 0.0
    high = edges[index] if index < len(edges) else 2 * steps[-1]
    return steps[index], low, high
