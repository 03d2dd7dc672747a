"""Is a photo mirrored? It is brought to an earlier photo of its view as it is, and turned left to right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.align import align, align_reference

CLEARLY = 0.5
"""Turned over, it must lie on the earlier photo with at most this share of what is left as it is."""


@dataclass(frozen=True, slots=True)
class MirrorFit:
    """What is left between a photo and an earlier one, in pixels of `width_px`: as it is, and turned left to right.

    None where it cannot be brought onto the other at all.
    """

    as_it_is_px: float | None
    turned_px: float | None
    width_px: int

    @property
    def mirrored(self) -> bool:
        """Whether it fits turned over, and as it is does not, or clearly worse."""
        if self.turned_px is None:
            return False
        return self.as_it_is_px is None or self.turned_px < CLEARLY * self.as_it_is_px

    def said(self) -> str:
        """Return the doubt with its reason, as a plain sentence without a full stop."""
        return f"mirrored: left and right look swapped. Turned over {self._fits()}"

    def _fits(self) -> str:
        assert self.turned_px is not None
        fits = f"it lies on an earlier photo to {self.turned_px:.1f} px (of {self.width_px} across)"
        if self.as_it_is_px is None:
            return f"{fits}; as it is, not at all"
        return f"{fits}; as it is, only to {self.as_it_is_px:.1f} px"


def mirror_fit(photo: NDArray[np.uint8], earlier: NDArray[np.uint8]) -> MirrorFit:
    """Compare how a photo fits an earlier one as it is and turned over; both sRGB uint8 (height, width, 3), upright."""
    height, width = earlier.shape[:2]
    reference = align_reference(earlier, trusted=np.ones((height, width), dtype=bool))
    turned = np.ascontiguousarray(photo[:, ::-1])
    as_it_is, over = (align(one, reference, turned=False).residual_px for one in (photo, turned))
    return MirrorFit(as_it_is, over, width)
