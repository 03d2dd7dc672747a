"""One view of a demo measured by several methods that differ only in how the camera is taken out (`photo_proof`)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from camera_methods import labels_of
from numpy.typing import NDArray

from littoral.demo.story import tell
from littoral.findings.view_series import shape_of
from littoral.imaging import greening, measure
from littoral.imaging.align import Alignment, align, warp
from littoral.imaging.anchors import Anchors, anchors_of
from littoral.imaging.camera_model import CameraModel, identity
from littoral.imaging.camera_out import apply
from littoral.imaging.colour import LINEAR_OF_BYTE
from littoral.imaging.correct import Correction, correct
from littoral.imaging.decode import decode_photo
from littoral.imaging.frames import HARD, WORKING_WIDTH_PX, FrameLayout
from littoral.imaging.passes import Raw, measure_region, pool, survey
from littoral.imaging.prepare import Reference, make_reference
from littoral.imaging.regions import ViewShape
from littoral.imaging.series import CLEAN_PHOTOS
from littoral.trial.written.reader import read_trial

OURS = "card and stable places (ours)"
METHODS = ("as they came", "grey world", "white patch", "card only", OURS)
PHOTOS = 12
"""Photos of each view, spread evenly over its days."""
GREY, BRIGHT = 0.18, 0.99
Image = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Measured:
    """One region of one photo by one method, with what its 95 % intervals are made of (see `RegionMeasure`).

    `common` are the standard errors that all photos share of height and width (cm) and cover (share); `scale` those of
    L*, a* and b*. `true_width_cm` is the width of the stand's own label, by the truth's rule for columns.
    """

    photo: str
    day: float
    region: str
    kind: str
    cover: float = 0.0
    height_cm: float = 0.0
    width_cm: float = 0.0
    true_width_cm: float = 0.0
    lab: NDArray[np.float64] | None = None
    algae: float | None = None
    iou: float = 0.0
    error: float = 0.0
    common: tuple[float, float, float] = (measure.HEIGHT_COMMON_CM, measure.WIDTH_COMMON_CM, measure.COVER_COMMON)
    scale: tuple[float, float, float] = (measure.SCALE_ERROR_LIGHTNESS, measure.SCALE_ERROR, measure.SCALE_ERROR)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A photo brought to the view, as it came."""

    raw: Image
    at: Alignment
    photo_px: tuple[int, int]
    anchors: Anchors


def measured_view(files: Path, truth: Mapping[str, Any], tank: str, *, days: int) -> dict[str, list[Measured]]:
    """Measure photos of one tank by every method; photos that cannot be aligned are left out for all."""
    trial = read_trial((files / "trial.toml").read_text(encoding="utf-8"), where="trial.toml")[0]
    assert trial is not None
    view = shape_of(trial.views[tank])
    names = sorted(name for name, photo in truth["photos"].items() if photo["view"] == tank)
    data = {name: (files / name).read_bytes() for name in names}
    reference = make_reference(data.values(), view)
    chosen = [names[i] for i in np.unique(np.linspace(0, len(names) - 1, PHOTOS).astype(int))]
    seen = {name: one for name in chosen if (one := _seen(data[name], view, reference)) is not None}
    labels = labels_of(tell(truth["seed"], days=days), dict(truth), tank, set(seen))
    found = {}
    for method, camera in _cameras(reference).items():
        fitted = {name: camera(one) for name, one in seen.items()}
        images = {name: apply(one.raw, fitted[name].model, one.at.matrix, one.photo_px) for name, one in seen.items()}
        found[method] = _measured(images, fitted, reference.layout, labels, truth)
    return found


def _seen(data: bytes, view: ViewShape, reference: Reference) -> _Seen | None:
    image = decode_photo(data, width_px=min(WORKING_WIDTH_PX, view.frame_px[0])).image
    at = align(image, reference.features)
    if at.residual_px is None:
        return None
    raw = warp(image, at.matrix, reference.layout.size_px)
    photo_px = (image.shape[1], image.shape[0])
    return _Seen(raw, at, photo_px, anchors_of(raw, reference.layout, to_frame=at.matrix, photo_px=photo_px))


def _cameras(reference: Reference) -> dict[str, Callable[[_Seen], Correction]]:
    """Return each method as what it makes of a photo's camera."""
    target, inside = reference.target, reference.layout.inside
    nothing = identity(target.bumps.shape[1])
    on_card = replace(target, fading=0.0)

    def gains(photo: _Seen, goal: float, of: Callable[[NDArray[np.float32]], NDArray[np.float64]]) -> Correction:
        light = of(LINEAR_OF_BYTE[photo.raw[inside]])
        return _plain(replace(nothing, gain=np.log(goal / np.maximum(light, 1e-4))))

    def card_only(photo: _Seen) -> Correction:
        part = photo.anchors.usable & photo.anchors.card
        return correct(replace(photo.anchors, usable=part), on_card)

    cameras: tuple[Callable[[_Seen], Correction], ...] = (
        lambda _photo: _plain(nothing),
        lambda photo: gains(photo, GREY, lambda light: light.mean(axis=0, dtype=np.float64)),
        lambda photo: gains(photo, 1.0, lambda light: np.quantile(light, BRIGHT, axis=0).astype(np.float64)),
        card_only,
        lambda photo: correct(photo.anchors, target),
    )
    return dict(zip(METHODS, cameras, strict=True))


def _plain(model: CameraModel) -> Correction:
    return Correction(model, "", None, None)


def _measured(
    images: Mapping[str, Image],
    fitted: Mapping[str, Correction],
    layout: FrameLayout,
    labels: Mapping[str, Mapping[str, NDArray[np.bool_]]],
    truth: Mapping[str, Any],
) -> list[Measured]:
    """Follow the whole measuring: what is clean, pooled thresholds, masks, and each stand's foot."""
    first = list(images.values())[:CLEAN_PHOTOS]
    hard = {at: region for at, region in enumerate(layout.regions) if region.shape.kind in HARD}
    clean = {at: greening.clean_state(first, region.cut) for at, region in hard.items()}
    rules = pool(layout, clean, [survey(image, layout, clean) for image in images.values()])
    found: list[Measured] = []
    for at, region in enumerate(layout.regions):
        if region.shape.kind == "card" or region.px_per_cm is None:
            continue
        raw, overlap, widths = {}, {}, {}
        for name, image in images.items():
            marked = np.zeros(image.shape[:2], dtype=np.uint8)
            raw[name] = measure_region(image, at, region, rules, marked=marked)
            if region.shape.kind == "stand":
                mask = region.cut.of(marked) == at + 1
                right = labels[name][region.shape.key][region.cut.rows, region.cut.columns] & region.cut.mask
                overlap[name] = float((mask & right).sum() / max(1, int((mask | right).sum())))
                widths[name] = right
        if region.shape.kind != "stand":
            found += [
                Measured(name, float(truth["photos"][name]["day"]), region.shape.key, "hard", algae=one.algae)
                for name, one in raw.items()
            ]
            continue
        drawn = region.shape.polygon_px[:, 1] * layout.per_frame_px - region.cut.rows.start
        columns = [one.columns for one in raw.values() if one.columns is not None]
        base = measure.foot_row(columns, float(drawn.max()), float(np.ptp(drawn)))
        for name, one in raw.items():
            height, width = _size(one, base)
            found.append(Measured(
                name, float(truth["photos"][name]["day"]), region.shape.key, "stand",
                cover=one.cover or 0.0, height_cm=height / region.px_per_cm, width_cm=width / region.px_per_cm,
                true_width_cm=_true_width(widths[name], base) / region.px_per_cm, lab=one.lab, iou=overlap[name],
                error=measure.colour_error(fitted[name].residual, camera_locked=False),
            ))  # fmt: skip
    return found


def _size(one: Raw, base: float) -> tuple[float, float]:
    return (0.0, 0.0) if one.columns is None else measure.canopy(one.columns, base)


def _true_width(label: NDArray[np.bool_], foot: float) -> float:
    """Return how many columns a stand's own label fills to at least 30 % between its top and the foot."""
    tops = np.where(label.any(axis=0), label.argmax(axis=0), int(foot))
    return float((label.sum(axis=0) >= np.maximum(0.30 * (foot - tops), 1)).sum())
