"""A series of photos of one view, measured in two passes so that thresholds are pooled over all of them.

Pass one decodes, aligns and corrects each photo, hands the prepared image to the caller's `store`, and keeps only
histograms. Pass two reads the prepared images back through `load` and measures. Memory does not grow with the number of
photos: at most one photo per worker is held.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from threading import Lock
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging import greening, measure
from littoral.imaging.colour import ciede2000
from littoral.imaging.frames import HARD, FrameLayout, RegionOnFrame
from littoral.imaging.kept import (
    NO_IMAGE,
    Kept,
    first_from_bytes,
    first_to_bytes,
    read_back,
    rules_name,
    second_from_bytes,
    second_to_bytes,
    start_from_bytes,
    start_to_bytes,
)
from littoral.imaging.one_photo import Hands, first_pass, second_pass
from littoral.imaging.passes import Counts, Raw, Rules, add_counts, pool
from littoral.imaging.photo_errors import PhotoError
from littoral.imaging.prepare import Reference, exposure_flags, make_reference, prepare_photo
from littoral.imaging.regions import ViewShape
from littoral.imaging.results import Prepared, RegionMeasure
from littoral.imaging.taught import Brush
from littoral.imaging.taught_series import with_strokes
from littoral.progress import Progress
from littoral.speech.say import say

__all__ = ["MeasuredFrame", "Reference", "make_reference", "measure_series", "prepare_photo"]

CLEAN_PHOTOS = 3
"""So many photos say what stone, wood and glass looked like before algae."""

Image = NDArray[np.uint8]
T = TypeVar("T")


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
    clarity: float | None = None


def measure_series(
    read: Callable[[int], bytes],
    count: int,
    view: ViewShape,
    *,
    store: Callable[[int, Image], None],
    load: Callable[[int], Image],
    mark: Callable[[int, Image], None] | None = None,
    strokes: Mapping[int, Sequence[Brush]] | None = None,
    kept: Kept | None = None,
    hands: Hands | None = None,
    workers: int = 2,
    progress: Progress | None = None,
) -> tuple[MeasuredFrame, ...]:
    """Measure a view's photos 0 to `count` - 1, in order of time; the result has one row for each.

    `read` gives a photo's bytes. `store` receives each prepared image, sRGB uint8 (height, width, 3), and `load` must
    give it back; both are called from several threads, and so is `mark`, which receives which pixels were counted:
    uint8 (height, width), the place of the region in the order of panes and regions + 1, else 0.
    `strokes` teach the looks of stands, by the same places (`imaging.taught`).
    What `kept` holds of earlier measurings is not measured again (nor stored, nor marked), and the result is the same.
    `hands` may fill `kept` ahead of each pass. `progress(done, total, what)` counts both passes together. The result
    depends neither on `workers` nor on `hands`. Unreadable photos are reported in `refused`; NoReferencePhotoError is
    raised where none can serve as the reference; ValueError for hands without anything kept.
    """
    if hands is not None and kept is None:
        raise ValueError("hands need a place where what they found is kept")
    if count == 0:
        return ()
    before, total, done = cv2.getNumThreads(), 2 * count, 0

    def report(rows: Sequence[T], what: str) -> None:
        nonlocal done
        done += len(rows)
        if progress is not None:
            progress(done, total, what)

    def each(work: Callable[[int], T], what: str, ahead: Callable[[], Iterator[int]]) -> list[T]:
        rows: list[T] = []
        told = set()
        for i in ahead():
            told.add(i)
            report([i], what)
        with ThreadPoolExecutor(max_workers=max(1, workers)) as pool:
            for i, row in enumerate(pool.map(work, range(count))):
                rows.append(row)
                report([] if i in told else [row], what)
        return rows

    cv2.setNumThreads(1)  # one thread per worker: photos are the parallel unit
    try:
        reference, clean = _start(read, count, view, kept)
        total_counts: Counts = {}
        adding = Lock()

        def first(i: int) -> _Passed:
            known = None if kept is None else read_back(first_from_bytes, kept.first(i))
            if known is not None:
                prepared, counts = known
            else:
                try:
                    whole, counts = first_pass(read(i), view, reference, clean)
                except PhotoError as error:
                    return _Passed(None, error)
                store(i, whole.image)
                prepared = replace(whole, image=NO_IMAGE)
                if kept is not None:
                    kept.keep_first(i, first_to_bytes(prepared, counts))
            with adding:  # whole numbers: their order does not matter
                add_counts(total_counts, counts)
            return _Passed(prepared, None)

        def first_ahead() -> Iterator[int]:
            if hands is not None and kept is not None:
                missing = [i for i in range(count) if kept.first(i) is None]
                yield from hands.first(missing, start_to_bytes(reference, clean))

        passed = each(first, say("preparing photos"), first_ahead)
        rules = pool(reference.layout, clean, [total_counts])
        if strokes:
            usable = [i for i, row in enumerate(passed) if row.prepared is not None]
            rules = with_strokes(rules, reference.layout, strokes, load, usable)
        name = rules_name(rules)

        def second(i: int) -> list[Raw]:
            if passed[i].prepared is None:
                return []
            known = None if kept is None else read_back(second_from_bytes, kept.second(i, name))
            if known is not None:
                return known
            rows, marked = second_pass(load(i), reference.layout, rules, marks=mark is not None)
            if mark is not None and marked is not None:
                mark(i, marked)
            if kept is not None:
                kept.keep_second(i, name, second_to_bytes(rows))
            return rows

        def second_ahead() -> Iterator[int]:
            if hands is not None and kept is not None:
                usable = (i for i, row in enumerate(passed) if row.prepared is not None)
                missing = [i for i in usable if kept.second(i, name) is None]
                yield from hands.second(missing, start_to_bytes(reference, clean), rules, name)

        raw = each(second, say("measuring photos"), second_ahead)
    finally:
        cv2.setNumThreads(before)
    return _finish(reference, passed, raw, rules)


@dataclass(frozen=True, slots=True)
class _Passed:
    prepared: Prepared | None  # without its image
    refused: PhotoError | None


def _start(
    read: Callable[[int], bytes], count: int, view: ViewShape, kept: Kept | None
) -> tuple[Reference, dict[int, greening.Clean]]:
    """What all photos are brought to, and what is clean: as it was kept, or from the first photos."""
    known = None if kept is None else read_back(lambda data: start_from_bytes(data, view), kept.start())
    if known is not None:
        return known
    tried = 0

    def reading(i: int) -> bytes:
        nonlocal tried
        tried = max(tried, i + 1)
        return read(i)

    reference = make_reference((reading(i) for i in range(count)), view)
    clean = _clean_states(reading, count, view, reference)
    if kept is not None:
        # Where it was looked at all photos, one more might have been taken too.
        kept.keep_start(start_to_bytes(reference, clean), tried=tried, of_all=tried == count)
    return reference, clean


def _clean_states(
    read: Callable[[int], bytes], count: int, view: ViewShape, reference: Reference
) -> dict[int, greening.Clean]:
    hard = {i: r for i, r in enumerate(reference.layout.regions) if r.shape.kind in HARD}
    images: list[Image] = []
    for i in range(count if hard else 0):
        try:
            image = prepare_photo(read(i), view, reference).image
        except PhotoError:
            continue
        if not exposure_flags(image):
            images.append(image)
        if len(images) == CLEAN_PHOTOS:
            break
    return {at: greening.clean_state(images, region.cut) for at, region in hard.items()} if images else {}


def _finish(
    reference: Reference, passed: Sequence[_Passed], raw: Sequence[list[Raw]], rules: Rules
) -> tuple[MeasuredFrame, ...]:
    layout = reference.layout
    firsts = [_first_days([rows[at] for rows in raw if rows]) for at in range(len(layout.regions))]
    scaled = reference.target.absolute
    bases = {}
    for at in rules.thresholds:
        seen = [columns for rows in raw if rows and (columns := rows[at].columns) is not None]
        region = layout.regions[at]
        rows_drawn = region.shape.polygon_px[:, 1] * layout.per_frame_px - region.cut.rows.start
        bases[at] = measure.foot_row(seen, float(rows_drawn.max()), float(np.ptp(rows_drawn)))
    frames = []
    for i, (row, rows) in enumerate(zip(passed, raw, strict=True)):
        if row.prepared is None:
            frames.append(MeasuredFrame(i, "", None, None, (), (), row.refused))
            continue
        error = measure.colour_error(row.prepared.colour_residual, camera_locked=reference.camera_locked)
        regions = tuple(
            _with_change(
                _whole(region, one, layout, bases.get(at), error if one.lab is not None else None),
                one,
                firsts[at],
                scaled=scaled,
            )
            for at, (region, one) in enumerate(zip(layout.regions, rows, strict=True))
        )
        done = row.prepared
        frames.append(
            MeasuredFrame(
                i,
                done.correction,
                done.colour_residual,
                done.align_residual_px,
                done.flags,
                regions,
                clarity=done.clarity,
            )
        )
    return tuple(frames)


@dataclass(frozen=True, slots=True)
class _FirstDays:
    """A region on the first photos that show it: median CIELAB (3,) and share of yellow."""

    lab: NDArray[np.float64] | None
    yellow: float


def _first_days(rows: Sequence[Raw]) -> _FirstDays:
    seen = [row for row in rows if row.lab is not None][:CLEAN_PHOTOS]
    if not seen:
        return _FirstDays(None, 0.0)
    return _FirstDays(
        np.median([row.lab for row in seen if row.lab is not None], axis=0),
        float(np.median([row.yellow or 0.0 for row in seen])),
    )


def _with_change(row: RegionMeasure, one: Raw, first: _FirstDays, *, scaled: bool) -> RegionMeasure:
    """A region's row with what is told against its first days, and how far algae are a film."""
    if row.algae is not None and one.film is not None:
        row = replace(row, film=one.film, spots=row.algae - one.film)
    if one.lab is None or first.lab is None:
        return row
    green = np.degrees(np.arctan2(first.lab[2], first.lab[1])) > measure.GREEN_HUE
    return replace(
        row,
        scale_error=measure.SCALE_ERROR if scaled else None,
        lightness_scale_error=measure.SCALE_ERROR_LIGHTNESS if scaled else None,
        chroma=float(np.hypot(one.lab[1], one.lab[2])),
        change=float(ciede2000(first.lab, one.lab)),
        yellowed=max(0.0, one.yellow - first.yellow) if one.yellow is not None and green else None,
        holes=one.holes,
    )


def _whole(
    region: RegionOnFrame, one: Raw, layout: FrameLayout, base: float | None, error: float | None
) -> RegionMeasure:
    """A region's row, now that its stand's base is known."""
    height_px = height_cm = width_cm = None
    scaled = one.columns is not None and base is not None and region.px_per_cm is not None
    if one.columns is not None and base is not None:
        height, width = measure.canopy(one.columns, base)
        height_px = height / layout.per_frame_px
        if region.px_per_cm is not None:
            height_cm, width_cm = height / region.px_per_cm, width / region.px_per_cm
    lightness, a, b = (None, None, None) if one.lab is None else (float(value) for value in one.lab)
    return RegionMeasure(
        region.pane,
        region.shape.key,
        region.shape.kind,
        cover=one.cover,
        height_px=height_px,
        height_cm=height_cm,
        width_cm=width_cm,
        lightness=lightness,
        a=a,
        b=b,
        colour_error=error,
        algae=one.algae,
        height_cm_common_error=measure.HEIGHT_COMMON_CM if scaled else None,
        width_cm_common_error=measure.WIDTH_COMMON_CM if scaled else None,
        cover_common_error=None if one.cover is None else measure.COVER_COMMON,
        flags=one.flags,
    )
