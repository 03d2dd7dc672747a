"""What is to be measured on a view: plain geometry, without tanks' names or dates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

RegionKind = Literal["stand", "stone", "wood", "glass", "card"]


@dataclass(frozen=True, slots=True, eq=False)
class RegionShape:
    """A polygon, shape (n, 2), in pixels of the view's frame; `look` is "auto", "chroma" or "green" (stands only).

    `reflects` is the share of light that a card reflects, 0 to 1, where it is known; `chart` the edition of a card that
    is a chart of 24 patches, whose polygon is then the outer corners of its corner patches.
    """

    key: str
    kind: RegionKind
    polygon_px: NDArray[np.float64]
    look: str = "auto"
    reflects: float | None = None
    chart: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class PaneShape:
    """One tank in the frame: corners, shape (4, 2) from top left clockwise, or None where it fills the frame."""

    key: str
    regions: tuple[RegionShape, ...]
    corners_px: NDArray[np.float64] | None = None
    width_cm: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class ViewShape:
    """All panes of one camera position, drawn on a frame of `frame_px` (width, height)."""

    frame_px: tuple[int, int]
    panes: tuple[PaneShape, ...]
    camera_locked: bool = False
