"""A series of photos of one view, measured in two passes so that thresholds are pooled over all of them.

Pass one decodes, aligns and corrects each photo, hands the prepared image to the caller's `store`, and keeps only
histograms. Pass two reads the prepared images back through `load` and measures. Memory does not grow with the number of
photos: at most one photo per worker is held.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import islice
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging import greening, measure, segment
from littoral.imaging.align import AlignReference, align, align_reference, warp
from littoral.imaging.correct import Anchors, anchors_of, apply_table, correct, corrected, reference_table
from littoral.imaging.decode import decode_photo
from littoral.imaging.frames import HARD, LEAST_VISIBLE, WORKING_WIDTH_PX, Cut, FrameLayout, RegionOnFrame, lay_out
from littoral.imaging.photo_errors import PhotoError
from littoral.imaging.regions import ViewShape
from littoral.imaging.results import Prepared, RegionMeasure

METHOD_VERSION = "1"
"""Part of the key of every cached image and measure: raised whenever a number could change."""
FIRST_PHOTOS = 5
"""From so many photos the reference's colour is chosen: the best exposed one."""
CLEAN_PHOTOS = 3
"""So many photos say what stone, wood and glass looked like before algae."""

Progress = Callable[[int, int, str], None]
Image = NDArray[np.uint8]
_GROUND = -1  # place of the tank outside the stands among the regions' counts
T = TypeVar("T")


class NoReferencePhotoError(PhotoError):
    """None of a view's first photos can be used as the reference the others are compared with."""

    def __init__(self, tried: int) -> None:
        self.tried = tried
        super().__init__(
            f"None of the {tried} photos tried can serve as the reference of this view: each is damaged or wrongly "
            "exposed. Remove them or take the photo again."
        )


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """What all photos of a view are brought to: the first photo's framing, the best exposed first photo's colour."""

    layout: FrameLayout
    features: AlignReference
    anchors: Anchors
    camera_locked: bool


@dataclass(frozen=True, slots=True)
class MeasuredFrame:
    """What measuring one photo of a series gave; the fields are those of `Prepared`.

    `refused` says why a photo could not be read (its other fields are then empty), and is None for all others.
    """

    index: int
    correction: str
    colour_residual: float | None
    align_residual_px: float | None
    flags: tuple[str, ...]
    regions: tuple[RegionMeasure, ...]
    refused: PhotoError | None = None


def prepare_photo(data: bytes, view: ViewShape, reference: Reference | None = None) -> Prepared:
    """Decode a photo's bytes and bring it to its view; without a reference it is only decoded and scaled.

    Raises the classes of `photo_errors`.
    """
    decoded = decode_photo(data, width_px=min(WORKING_WIDTH_PX, view.frame_px[0]))
    flags = [*decoded.notes, *_exposure_flags(decoded.image)]
    header = decoded.header
    if abs(np.log(header.width / header.height * view.frame_px[1] / view.frame_px[0])) > 0.03:
        flags.append(
            f"the photo's shape ({header.width} x {header.height}) is not the view's "
            f"({view.frame_px[0]} x {view.frame_px[1]})"
        )
    if reference is None:
        size = lay_out(view, (header.width, header.height)).size_px
        scale = np.diag([size[0] / decoded.image.shape[1], size[1] / decoded.image.shape[0], 1.0])
        return Prepared(warp(decoded.image, scale, size), "none: no reference", None, None, tuple(flags))
    found = align(decoded.image, reference.features)
    image = warp(decoded.image, found.matrix, reference.layout.size_px)
    correction = correct(anchors_of(image, reference.layout), reference.anchors, camera_locked=reference.camera_locked)
    return Prepared(
        apply_table(image, correction.table),
        correction.description,
        correction.residual,
        found.residual_px,
        (*flags, *found.flags, *correction.flags),
    )


def make_reference(photos: Sequence[bytes], view: ViewShape) -> Reference:
    """The reference of a view from its first photos' bytes, in order of time; unreadable or dark ones are passed over.

    The first usable photo fixes the framing (polygons are drawn on it), the best exposed one the colour; where a card
    is in view the colour is brought to it. Raises NoReferencePhotoError.
    """
    layout: FrameLayout | None = None
    features: AlignReference | None = None
    best: Anchors | None = None
    for data in photos:
        try:
            decoded = decode_photo(data, width_px=min(WORKING_WIDTH_PX, view.frame_px[0]))
        except PhotoError:
            continue
        if _exposure_flags(decoded.image):
            continue
        if layout is None or features is None:
            layout = lay_out(view, (decoded.header.width, decoded.header.height))
            width, height = layout.size_px
            scale = np.diag([width / decoded.image.shape[1], height / decoded.image.shape[0], 1.0])
            image = warp(decoded.image, scale, layout.size_px)
            corners = [pane.corners_px * layout.per_frame_px for pane in view.panes if pane.corners_px is not None]
            features = align_reference(
                image, trusted=~layout.plants, corners_px=np.concatenate(corners) if corners else None
            )
        else:
            found = align(decoded.image, features)
            if found.flags:
                continue
            image = warp(decoded.image, found.matrix, layout.size_px)
        anchors = anchors_of(image, layout)
        if best is None or anchors.usable.sum() > 1.05 * best.usable.sum():
            best = anchors
    if layout is None or features is None or best is None:
        raise NoReferencePhotoError(len(photos))
    return Reference(layout, features, corrected(best, reference_table(best).table), view.camera_locked)


def measure_series(
    read: Callable[[int], bytes],
    count: int,
    view: ViewShape,
    *,
    store: Callable[[int, Image], None],
    load: Callable[[int], Image],
    workers: int = 2,
    progress: Progress | None = None,
) -> tuple[MeasuredFrame, ...]:
    """Measure a view's photos 0 to `count` - 1, in order of time; the result has one row for each.

    `read` gives a photo's bytes. `store` receives each prepared image, sRGB uint8 (height, width, 3), and `load` must
    give it back; both are called from several threads. `progress(done, total, what)` counts both passes together. The
    result does not depend on `workers`. Unreadable photos are reported in `refused`; NoReferencePhotoError is raised
    where none can serve as the reference.
    """
    if count == 0:
        return ()
    before, total, done = cv2.getNumThreads(), 2 * count, 0

    def report(rows: Sequence[T], what: str) -> None:
        nonlocal done
        done += len(rows)
        if progress is not None:
            progress(done, total, what)

    def each(work: Callable[[int], T], what: str) -> list[T]:
        rows: list[T] = []
        with ThreadPoolExecutor(max_workers=max(1, workers)) as pool:
            for row in pool.map(work, range(count)):
                rows.append(row)
                report([row], what)
        return rows

    cv2.setNumThreads(1)  # one thread per worker: photos are the parallel unit
    try:
        reference = make_reference([read(i) for i in range(min(count, 4 * FIRST_PHOTOS))][: 4 * FIRST_PHOTOS], view)
        clean = _clean_states(read, count, view, reference)

        def first(i: int) -> _Pass1:
            try:
                prepared = prepare_photo(read(i), view, reference)
            except PhotoError as error:
                return _Pass1(None, error, {})
            store(i, prepared.image)
            return _Pass1(replace(prepared, image=prepared.image[:0]), None, _survey(prepared.image, reference, clean))

        passed = each(first, "preparing photos")
        rules = _pool(reference, clean, passed)

        def second(i: int) -> list[_Raw]:
            if passed[i].prepared is None:
                return []
            image = load(i)
            return [_measure(image, at, region, rules) for at, region in enumerate(reference.layout.regions)]

        raw = each(second, "measuring photos")
    finally:
        cv2.setNumThreads(before)
    return _finish(reference, passed, raw, rules)


@dataclass(frozen=True, slots=True)
class _Pass1:
    prepared: Prepared | None  # without its image
    refused: PhotoError | None
    counts: dict[int, dict[str, NDArray[np.int64]]]


@dataclass(frozen=True, slots=True)
class _Rules:
    """Per region (by place): the stand's threshold, or the clean state and the score above which it is algae."""

    thresholds: dict[int, segment.Threshold]
    clean: dict[int, greening.Clean]
    green_from: dict[int, float]


@dataclass(frozen=True, slots=True)
class _Raw:
    cover: float | None = None
    columns: measure.Columns | None = None
    lab: NDArray[np.float64] | None = None
    algae: float | None = None
    flags: tuple[str, ...] = ()


def _clean_states(
    read: Callable[[int], bytes], count: int, view: ViewShape, reference: Reference
) -> dict[int, greening.Clean]:
    hard = {i: r for i, r in enumerate(reference.layout.regions) if r.shape.kind in HARD}
    if not hard:
        return {}

    def usable() -> Sequence[Image]:
        images = []
        for i in range(count):
            try:
                prepared = prepare_photo(read(i), view, reference)
            except PhotoError:
                continue
            if not _exposure_flags(prepared.image):
                images.append(prepared.image)
            if len(images) == CLEAN_PHOTOS:
                break
        return images

    images = list(islice(usable(), CLEAN_PHOTOS))
    return {i: greening.clean_state(images, region.cut) for i, region in hard.items()}


def _survey(
    image: Image, reference: Reference, clean: dict[int, greening.Clean]
) -> dict[int, dict[str, NDArray[np.int64]]]:
    stands = {i: region for i, region in enumerate(reference.layout.regions) if region.shape.kind == "stand"}
    looks = [segment.LOOKS if r.shape.look == "auto" else (r.shape.look,) for r in stands.values()]
    found = segment.histograms(image, [region.cut for region in stands.values()], looks)
    counts = dict(zip(stands, found, strict=True))
    counts[_GROUND] = _ground(image, reference.layout)
    for i, state in clean.items():
        counts[i] = {"greening": greening.greening_histogram(image, reference.layout.regions[i].cut, state)}
    return counts


def _ground(image: Image, layout: FrameLayout) -> dict[str, NDArray[np.int64]]:
    """Counts of the tank outside the stands, every fourth pixel each way."""
    few = np.ascontiguousarray(image[::4, ::4])
    outside = (layout.inside & ~layout.plants)[::4, ::4]
    whole = Cut(slice(0, few.shape[0]), slice(0, few.shape[1]), outside)
    return segment.histograms(few, [whole], [("chroma", "green")])[0]


def _pool(reference: Reference, clean: dict[int, greening.Clean], passed: Sequence[_Pass1]) -> _Rules:
    thresholds, green_from = {}, {}
    around = [row.counts[_GROUND] for row in passed if row.counts]
    ground = {look: np.sum([row[look] for row in around], axis=0) for look in around[0]} if around else None
    for i, region in enumerate(reference.layout.regions):
        rows = [row.counts[i] for row in passed if i in row.counts]
        if not rows:
            continue
        pooled = {look: np.sum([row[look] for row in rows], axis=0) for look in rows[0]}
        if region.shape.kind == "stand":
            thresholds[i] = segment.choose_threshold(pooled, region.shape.look, ground=ground)
        else:
            green_from[i] = greening.greening_threshold(pooled["greening"], clean[i])
    return _Rules(thresholds, clean, green_from)


def _measure(image: Image, at: int, region: RegionOnFrame, rules: _Rules) -> _Raw:
    cut = region.cut
    if region.shape.kind == "stand":
        mask = segment.plant_mask(image, cut, rules.thresholds[at])
        if region.hidden is not None:
            mask &= ~region.hidden
        cover = float(mask.sum() / max(1, cut.mask.sum()))
        return _Raw(cover, measure.columns_of(mask, cut), measure.mid_colour(image, cut, mask))
    if at not in rules.green_from:
        return _Raw(lab=measure.region_colour(image, cut))
    plants = [rules.thresholds[stand] for stand in region.before if stand in rules.thresholds]
    visible = cut.mask & ~segment.grown_over(image, cut, region.hidden, plants)
    if visible.sum() < LEAST_VISIBLE * cut.mask.sum():
        return _Raw(flags=("hidden by plants",))
    covered = greening.greening(image, cut, rules.clean[at]) > rules.green_from[at]
    return _Raw(lab=measure.region_colour(image, replace(cut, mask=visible)), algae=float(covered[visible].mean()))


def _finish(
    reference: Reference, passed: Sequence[_Pass1], raw: Sequence[list[_Raw]], rules: _Rules
) -> tuple[MeasuredFrame, ...]:
    layout = reference.layout
    bases = {
        at: measure.base_row([rows[at].columns for rows in raw if rows and rows[at].columns])  # type: ignore[misc]
        for at in rules.thresholds
    }
    frames = []
    for i, (row, rows) in enumerate(zip(passed, raw, strict=True)):
        if row.prepared is None:
            frames.append(MeasuredFrame(i, "", None, None, (), (), row.refused))
            continue
        error = measure.colour_error(row.prepared.colour_residual, camera_locked=reference.camera_locked)
        regions = []
        for at, (region, one) in enumerate(zip(layout.regions, rows, strict=True)):
            size: dict[str, float | None] = {}
            flags = one.flags
            if one.columns is not None:
                height, width = measure.canopy(one.columns, bases[at])
                scale = region.px_per_cm
                size = {
                    "height_px": height / layout.per_frame_px,
                    "height_cm": height / scale if scale else None,
                    "width_cm": width / scale if scale else None,
                }
                flags = rules.thresholds[at].flags
            lab = [None] * 3 if one.lab is None else [float(value) for value in one.lab]
            regions.append(
                RegionMeasure(
                    region.pane,
                    region.shape.key,
                    region.shape.kind,
                    cover=one.cover,
                    lightness=lab[0],
                    a=lab[1],
                    b=lab[2],
                    colour_error=None if one.lab is None else error,
                    algae=one.algae,
                    flags=flags,
                    **size,
                )
            )
        prepared = row.prepared
        frames.append(
            MeasuredFrame(
                i,
                prepared.correction,
                prepared.colour_residual,
                prepared.align_residual_px,
                prepared.flags,
                tuple(regions),
            )
        )
    return tuple(frames)


def _exposure_flags(image: Image) -> list[str]:
    small = cv2.resize(image, (64, 64), interpolation=cv2.INTER_AREA)
    if small.max() < 20:
        return ["the photo is nearly black"]
    if np.mean(small.min(axis=2) > 250) > 0.6:
        return ["the photo is overexposed"]
    return []
