"""Bring one photo to its view: decode, align, warp, correct; and choose what photos are brought to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.align import Alignment, AlignReference, align, align_reference, warp
from littoral.imaging.anchors import Anchors, anchors_of
from littoral.imaging.camera_out import apply
from littoral.imaging.correct import correct
from littoral.imaging.decode import Decoded, decode_photo
from littoral.imaging.frames import WORKING_WIDTH_PX, FrameLayout, every, lay_out
from littoral.imaging.photo_errors import NoReferencePhotoError, PhotoError
from littoral.imaging.regions import ViewShape
from littoral.imaging.results import Prepared
from littoral.imaging.target import Target, clarity_of, pool_target

FIRST_PHOTOS = 16
"""From so many photos the colour that all are brought to is pooled."""

KEPT_READY = 3
"""Prepared photos that are kept for the next who asks: as many as say what was clean (`series.CLEAN_PHOTOS`)."""


@dataclass(frozen=True, slots=True, eq=False)
class Early:
    """One of the photos that a reference was made of, as far as it had to be worked on for that.

    `image` is the photo warped to the frame. `found` is None for the first, which is only scaled to it.
    """

    decoded: Decoded
    image: NDArray[np.uint8]
    found: Alignment | None
    anchors: Anchors


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """What all photos of a view are brought to: the first photo's framing, the colour pooled over the first photos."""

    layout: FrameLayout
    features: AlignReference
    target: Target
    camera_locked: bool
    early: dict[int, Early | Prepared] = field(default_factory=dict)
    """The photos that the reference was made of, by the hash of their bytes: each is decoded and aligned only once."""


def prepare_photo(data: bytes, view: ViewShape, reference: Reference | None = None) -> Prepared:
    """Decode a photo's bytes and bring it to its view; without a reference it is only decoded and scaled.

    Raises the classes of `photo_errors`.
    """
    known = None if reference is None else reference.early.get(hash(data))
    if isinstance(known, Prepared):
        return known
    decoded = known.decoded if known else decode_photo(data, width_px=min(WORKING_WIDTH_PX, view.frame_px[0]))
    flags = [*decoded.notes, *exposure_flags(decoded.image)]
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
    known_fit = known.found if known else None
    found = known_fit or align(decoded.image, reference.features)
    photo_px = (decoded.image.shape[1], decoded.image.shape[0])
    if known and known_fit:
        image, anchors = known.image, known.anchors
    else:
        image = warp(decoded.image, found.matrix, reference.layout.size_px)
        anchors = anchors_of(image, reference.layout, to_frame=found.matrix, photo_px=photo_px)
    correction = correct(
        anchors,
        reference.target,
        camera_locked=reference.camera_locked,
    )
    prepared = Prepared(
        apply(image, correction.model, found.matrix, photo_px),
        correction.description,
        correction.residual,
        found.residual_px,
        (*flags, *found.flags, *correction.flags),
        clarity_of(anchors, reference.target),
    )
    if known is not None:
        _keep_ready(reference.early, hash(data), prepared)
    return prepared


def _keep_ready(early: dict[int, Early | Prepared], key: int, prepared: Prepared) -> None:
    """Keep a prepared photo in place of the decoded one: only the first few are asked for twice (for what is clean)."""
    if sum(isinstance(one, Prepared) for one in list(early.values())) < KEPT_READY:
        early[key] = prepared
    else:
        early.pop(key, None)


def make_reference(photos: Iterable[bytes], view: ViewShape) -> Reference:
    """The reference of a view from its first photos' bytes, in order of time; unreadable or dark ones are passed over.

    The first usable photo fixes the framing (polygons are drawn on it); the colour is pooled over all of them, and
    brought to the card where one is in view. No more is taken from `photos` than FIRST_PHOTOS usable ones. Raises
    NoReferencePhotoError.
    """
    layout: FrameLayout | None = None
    features: AlignReference | None = None
    seen: list[Anchors] = []
    found: Alignment | None
    tried = usable = 0
    early: dict[int, Early | Prepared] = {}
    for data in photos:
        tried += 1
        try:
            decoded = decode_photo(data, width_px=min(WORKING_WIDTH_PX, view.frame_px[0]))
        except PhotoError:
            continue
        if exposure_flags(decoded.image):
            continue
        if layout is None or features is None:
            layout = lay_out(view, (decoded.header.width, decoded.header.height))
            width, height = layout.size_px
            scale = np.diag([width / decoded.image.shape[1], height / decoded.image.shape[0], 1.0])
            found, matrix = None, scale
            image = warp(decoded.image, matrix, layout.size_px)
            corners = [pane.corners_px * layout.per_frame_px for pane in view.panes if pane.corners_px is not None]
            features = align_reference(
                image, trusted=~layout.plants, corners_px=np.concatenate(corners) if corners else None
            )
        else:
            found = align(decoded.image, features)
            if found.flags:
                continue
            matrix = found.matrix
            image = warp(decoded.image, matrix, layout.size_px)
        photo_px = (decoded.image.shape[1], decoded.image.shape[0])
        seen.append(anchors_of(image, layout, to_frame=matrix, photo_px=photo_px))
        early[hash(data)] = Early(decoded, image, found, seen[-1])
        usable += 1
        if usable == FIRST_PHOTOS:
            break
    if layout is None or features is None or not seen:
        raise NoReferencePhotoError(tried)
    target = pool_target(seen, tall=layout.size_px[1] / layout.size_px[0])
    return Reference(layout, features, target, view.camera_locked, early)


def exposure_flags(image: NDArray[np.uint8]) -> list[str]:
    """What is plainly wrong with the exposure of an image (height, width, 3), as sentences; empty where nothing is."""
    step = max(1, min(image.shape[:2]) // 256)  # every so many pixels are enough, and ten times as quick
    small = cv2.resize(every(step, image), (64, 64), interpolation=cv2.INTER_AREA)
    if small.max() < 20:
        return ["the photo is nearly black"]
    if np.mean(small.min(axis=2) > 250) > 0.6:
        return ["the photo is overexposed"]
    return []
