"""The working frame: at what size a view is measured, and where its polygons lie there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.regions import PaneShape, RegionShape, ViewShape

WORKING_WIDTH_PX = 1200
HARD = ("stone", "wood", "glass")
LEAST_VISIBLE = 0.25
"""Stone, wood or glass is measured beside the stands before it where at least this share of it lies there."""
OUTGROWN = 0.15
"""A stand may outgrow its polygon sideways by this share of its width."""

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """A polygon's bounding box in the working frame and its mask there: `image[cut.rows, cut.columns][cut.mask]`."""

    rows: slice
    columns: slice
    mask: Mask

    def of(self, image: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """The box cut out of an image (height, width, ...), a view without copying."""
        return image[self.rows, self.columns]

    def pixels(self, image: NDArray[np.uint8], mask: Mask) -> NDArray[np.uint8]:
        """The pixels (n, 3) of an image (height, width, 3) in a mask over the box."""
        box = self.of(image).view(np.dtype((np.void, 3)))[..., 0]  # a pixel is copied in one piece
        return box[mask].view(np.uint8).reshape(-1, 3)


@dataclass(frozen=True, slots=True, eq=False)
class RegionOnFrame:
    """A region with its pane and its cut; `px_per_cm` in the working frame, or None without a scale.

    `hidden`, over the cut's box, is where something stands before it: stone or wood before a stand, a stand before
    stone, wood or glass. `before` are the places of those stands among the layout's regions.
    """

    pane: str
    shape: RegionShape
    cut: Cut
    px_per_cm: float | None
    hidden: Mask | None = None
    before: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class FrameLayout:
    """A view at working size.

    `size_px` is (width, height); `per_frame_px` is working pixels per pixel of the view's frame. `inside` is what lies
    in a tank (everything where no corners are given), `plants` what lies in a stand's polygon, both (height, width).
    """

    size_px: tuple[int, int]
    per_frame_px: float
    regions: tuple[RegionOnFrame, ...]
    inside: Mask
    plants: Mask
    _stable: dict[tuple[int, int], Mask] = field(default_factory=dict)

    def stable(self, blocks: tuple[int, int]) -> Mask:
        """Which of (columns, rows) blocks of the frame, row by row, lie wholly in a tank and in no region."""
        if blocks not in self._stable:  # the same for every photo
            changing = self.plants.copy()
            for region in self.regions:
                changing[region.cut.rows, region.cut.columns] |= region.cut.mask
            self._stable[blocks] = (_share(changing, blocks) == 0) & (_share(self.inside, blocks) > 0.99)
        return self._stable[blocks]


def every(step: int, image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Every so many-th pixel each way of an image (height, width, channels), as an image of its own."""
    whole = np.ascontiguousarray(image).view(np.dtype((np.void, image.shape[2])))  # a pixel is copied in one piece
    return np.ascontiguousarray(whole[::step, ::step]).view(np.uint8)


def touching(parts: Mask, there: Mask) -> Mask:
    """The pieces of a mask that hang together (by an edge or a corner) and reach into another of the same shape."""
    count, labels = cv2.connectedComponents(parts.astype(np.uint8))
    kept = np.zeros(count, dtype=bool)
    kept[labels[there]] = True
    kept[0] = False
    return np.asarray(kept[labels], dtype=bool)


def lay_out(view: ViewShape, photo_px: tuple[int, int]) -> FrameLayout:
    """Lay a view out at the working size for photos of `photo_px` (width, height): never larger than the photo.

    Raises ValueError where the view's frame has no size.
    """
    frame_w, frame_h = view.frame_px
    if min(frame_w, frame_h) < 1:
        raise ValueError(f"the view's frame must have a size; got {frame_w} x {frame_h}")
    scale = min(WORKING_WIDTH_PX, frame_w, photo_px[0]) / frame_w
    size = (max(1, round(frame_w * scale)), max(1, round(frame_h * scale)))
    inside = np.zeros(size[::-1], dtype=bool)
    plants = np.zeros(size[::-1], dtype=bool)
    regions: list[RegionOnFrame] = []
    for pane in view.panes:
        inside |= np.True_ if pane.corners_px is None else _filled(pane.corners_px * scale, size)
        for region in pane.regions:
            cut = _cut(region.polygon_px * scale, size)
            regions.append(RegionOnFrame(pane.key, region, cut, _px_per_cm(pane, scale)))
            if region.kind == "stand":
                plants[cut.rows, cut.columns] |= cut.mask
    return FrameLayout(size, scale, tuple(_seen(region, regions) for region in regions), inside, plants)


def _seen(region: RegionOnFrame, others: Sequence[RegionOnFrame]) -> RegionOnFrame:
    """A region with what stands before it: what is nearer to the glass has its foot lower in the picture.

    Stone, wood and glass lose what a stand before them may cover, for plants would count as algae; a stand keeps its
    polygon, but no plant of it is looked for on stone before it, where algae would count as plant.
    """
    cut = region.cut
    if region.shape.kind == "stand":
        return replace(region, hidden=_before(region, others, kinds=("stone", "wood"), outgrown=0.0)[0])
    if region.shape.kind not in HARD:
        return region
    # Nothing stands before the front glass, but leaves behind it are seen through it: only the polygons are left out.
    for outgrown in (0.0,) if region.shape.kind == "glass" else (OUTGROWN, 0.0):
        hidden, stands = _before(region, others, kinds=("stand",), outgrown=outgrown)
        rest = cut.mask & ~hidden
        if rest.sum() >= LEAST_VISIBLE * cut.mask.sum():
            return replace(region, cut=replace(cut, mask=rest), hidden=hidden, before=stands)
    return region


def _before(
    region: RegionOnFrame, others: Sequence[RegionOnFrame], *, kinds: Sequence[str], outgrown: float
) -> tuple[Mask, tuple[int, ...]]:
    """What of a region's polygon lies behind others of its pane, widened by a share of their width; and which."""
    cut = region.cut
    hidden = np.zeros_like(cut.mask)
    stands: list[int] = []
    for at, other in enumerate(others):
        nearer = other.cut.rows.stop > cut.rows.stop
        if not nearer or other.pane != region.pane or other.shape.kind not in kinds:
            continue
        spare = round(outgrown * (other.cut.columns.stop - other.cut.columns.start))
        padded = np.pad(other.cut.mask.astype(np.uint8), ((0, 0), (spare, spare)))
        wide = cv2.dilate(padded, np.ones((1, 2 * spare + 1), np.uint8))
        left = other.cut.columns.start - spare - cut.columns.start
        shift = np.array([[1, 0, left], [0, 1, other.cut.rows.start - cut.rows.start]], dtype=np.float64)
        covers = cv2.warpAffine(wide, shift, cut.mask.shape[::-1], flags=cv2.INTER_NEAREST).astype(bool) & cut.mask
        if covers.any():
            hidden |= covers
            stands.append(at)
    return hidden, tuple(stands)


def _share(mask: Mask, blocks: tuple[int, int]) -> NDArray[np.float64]:
    """The share (n,) of each block that a mask covers."""
    small = cv2.resize(mask.astype(np.float32), blocks, interpolation=cv2.INTER_AREA)
    return np.asarray(small.ravel(), dtype=np.float64)


def _filled(polygon: NDArray[np.float64], size: tuple[int, int]) -> Mask:
    canvas = np.zeros(size[::-1], dtype=np.uint8)
    cv2.fillPoly(canvas, [np.round(polygon).astype(np.int32)], 1)
    return canvas.astype(bool)


def _cut(polygon: NDArray[np.float64], size: tuple[int, int]) -> Cut:
    low = np.clip(np.floor(polygon.min(axis=0)).astype(int), 0, np.array(size) - 1)
    high = np.clip(np.ceil(polygon.max(axis=0)).astype(int) + 1, low + 1, size)
    box = (int(high[0] - low[0]), int(high[1] - low[1]))
    return Cut(
        slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0])), _filled(polygon - low.astype(float), box)
    )


def _px_per_cm(pane: PaneShape, scale: float) -> float | None:
    if pane.width_cm is None or pane.corners_px is None:
        return None
    top_left, top_right, bottom_right, bottom_left = pane.corners_px * scale
    width_px = (np.linalg.norm(top_right - top_left) + np.linalg.norm(bottom_right - bottom_left)) / 2
    return float(width_px / pane.width_cm)
