"""The two passes over a prepared photo: what is counted for the pooled thresholds, and what is then measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from littoral.imaging import greening, measure, segment
from littoral.imaging.frames import LEAST_VISIBLE, Cut, FrameLayout, RegionOnFrame, every
from littoral.imaging.results import PARTLY_HIDDEN

Image = NDArray[np.uint8]
Counts = dict[int, dict[str, NDArray[np.int64]]]
"""Histograms by place of the region in the layout and by look; GROUND is the tank outside the stands."""
GROUND = -1
WHOLLY_VISIBLE = 0.9
"""A region of which less is seen is flagged: algae grow unevenly, so the share of what is left may rise or fall. No
source."""


@dataclass(frozen=True, slots=True)
class Rules:
    """Per region (by place): the stand's threshold, or the clean state and the score above which it is algae."""

    thresholds: dict[int, segment.Threshold]
    clean: dict[int, greening.Clean]
    green_from: dict[int, float]


@dataclass(frozen=True, slots=True)
class Raw:
    """What is measured of a region before the stand's base is known."""

    cover: float | None = None
    columns: measure.Columns | None = None
    lab: NDArray[np.float64] | None = None
    algae: float | None = None
    film: float | None = None
    yellow: float | None = None
    holes: float | None = None
    flags: tuple[str, ...] = ()


def survey(image: Image, layout: FrameLayout, clean: Mapping[int, greening.Clean]) -> Counts:
    """Pass one: the histograms of a prepared photo, sRGB uint8 (height, width, 3); all that is kept of it."""
    stands = {i: region for i, region in enumerate(layout.regions) if region.shape.kind == "stand"}
    looks = [segment.LOOKS if r.shape.look == "auto" else (r.shape.look,) for r in stands.values()]
    found = segment.histograms(image, [region.cut for region in stands.values()], looks)
    counts: Counts = dict(zip(stands, found, strict=True))
    counts[GROUND] = _ground(image, layout)
    for i, state in clean.items():
        counts[i] = {"greening": greening.greening_histogram(image, layout.regions[i].cut, state)}
    return counts


def _ground(image: Image, layout: FrameLayout) -> dict[str, NDArray[np.int64]]:
    """Counts of the tank outside the stands, every fourth pixel each way."""
    few = every(4, image)
    outside = (layout.inside & ~layout.plants)[::4, ::4]
    whole = Cut(slice(0, few.shape[0]), slice(0, few.shape[1]), outside)
    return segment.histograms(few, [whole], [("chroma", "green")])[0]


def add_counts(total: Counts, counts: Counts) -> None:
    """Add the histograms of a photo to those of others."""
    for at, looks in counts.items():
        sums = total.setdefault(at, {})
        for look, histogram in looks.items():
            sums[look] = sums[look] + histogram if look in sums else histogram


def pool(layout: FrameLayout, clean: dict[int, greening.Clean], counted: Sequence[Counts]) -> Rules:
    """Thresholds of every region from the histograms of all photos together."""
    thresholds, green_from = {}, {}
    total: Counts = {}
    for counts in counted:
        add_counts(total, counts)
    for at, pooled in total.items():
        if at == GROUND:
            continue
        shape = layout.regions[at].shape
        if shape.kind == "stand":
            thresholds[at] = segment.choose_threshold(pooled, shape.look, ground=total[GROUND])
        else:
            green_from[at] = greening.greening_threshold(pooled["greening"], clean[at])
    return Rules(thresholds, clean, green_from)


def measure_region(image: Image, at: int, region: RegionOnFrame, rules: Rules, *, marked: Image | None = None) -> Raw:
    """Pass two: measure the region at place `at` of a prepared photo.

    Into `marked`, uint8 (height, width), the pixels that were counted as plant or algae are written as `at` + 1.
    """
    cut = region.cut
    if region.shape.kind == "stand":
        mask = segment.plant_mask(image, cut, rules.thresholds[at])
        if region.hidden is not None:
            mask &= ~region.hidden
        if marked is not None:
            cut.of(marked)[mask] = at + 1
        cover = float(mask.sum() / max(1, cut.mask.sum()))
        flags = rules.thresholds[at].flags
        lab = measure.mid_colour(image, cut, mask)
        yellow, holes = measure.yellow_share(image, cut, mask), measure.holes_share(mask)
        return Raw(cover, measure.columns_of(mask, cut), lab, yellow=yellow, holes=holes, flags=flags)
    if at not in rules.green_from:
        return Raw(lab=measure.region_colour(image, cut))
    plants = [rules.thresholds[stand] for stand in region.before if stand in rules.thresholds]
    visible = cut.mask & ~segment.grown_over(image, cut, region.hidden, plants)
    if visible.sum() < LEAST_VISIBLE * cut.mask.sum():
        return Raw(flags=("hidden by plants",))
    covered = greening.greening(image, cut, rules.clean[at]) > rules.green_from[at]
    if marked is not None:
        cut.of(marked)[covered & visible] = at + 1
    flags = (PARTLY_HIDDEN,) if visible.sum() < WHOLLY_VISIBLE * cut.mask.sum() else ()
    lab = measure.region_colour(image, replace(cut, mask=visible))
    share = float(covered[visible].mean())
    film = measure.wide_share(covered & visible, region.px_per_cm) * share
    return Raw(lab=lab, algae=share, film=film, flags=flags)
