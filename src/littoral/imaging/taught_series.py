"""Strokes on some photos of a series put in place of the pooled threshold of their stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from littoral.imaging import segment
from littoral.imaging.frames import FrameLayout
from littoral.imaging.passes import Rules
from littoral.imaging.taught import Brush, Image, Sample, few_odds, samples_of, settled, teach, too_few

SETTLED_ON = 24
"""On so many photos, evenly over the series, the share of stand is settled."""
CONTRADICT = "the strokes contradict each other, so the stand is told by its colour as before"
NOT_ENOUGH = "the strokes are not enough: {why}; the stand is told by its colour as before"


def with_strokes(
    rules: Rules,
    layout: FrameLayout,
    strokes: Mapping[int, Sequence[Brush]],
    load: Callable[[int], Image],
    usable: Sequence[int],
) -> Rules:
    """Return rules in which each stand with strokes (by its place in the layout) is told by what they taught.

    `load` gives the prepared photo at a place of the series, `usable` are the places of those that could be prepared;
    strokes on others are passed over. Where strokes contradict each other, or are too few, the threshold stays, with a
    flag that says so. The same strokes and photos give the same rules.
    """
    thresholds = dict(rules.thresholds)
    for at, brushes in strokes.items():
        if at not in thresholds:
            continue
        samples = stroke_samples(layout, at, brushes, load, usable)
        if why := too_few(samples):
            thresholds[at] = replace(thresholds[at], flags=(*thresholds[at].flags, NOT_ENOUGH.format(why=why)))
            continue
        look = teach(samples)
        if look.contradicted:
            thresholds[at] = replace(thresholds[at], flags=(*thresholds[at].flags, CONTRADICT))
            continue
        few = [usable[i] for i in np.unique(np.linspace(0, len(usable) - 1, SETTLED_ON).astype(int))]
        cut = layout.regions[at].cut
        odds = []
        for i in few:
            image = load(i)
            odds.append(few_odds(look, image, cut, segment.surroundings(image)))
        look = settled(look, np.concatenate(odds).astype(np.float64))
        thresholds[at] = segment.Threshold("taught", look.border, None, (), look)
    return replace(rules, thresholds=thresholds)


def stroke_samples(
    layout: FrameLayout, at: int, brushes: Sequence[Brush], load: Callable[[int], Image], usable: Sequence[int]
) -> tuple[Sample, ...]:
    """Return what lies under each stroke on the stand at place `at`, photo by photo."""
    found: list[Sample] = []
    for i in sorted({brush.photo for brush in brushes} & set(usable)):
        image = load(i)
        own = [brush for brush in brushes if brush.photo == i]
        found += samples_of(image, layout, layout.regions[at].cut, own, segment.surroundings(image))
    return tuple(found)
