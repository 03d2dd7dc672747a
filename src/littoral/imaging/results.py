"""What measuring a photo gives."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

OTHER_LIGHT = "colour uncertain: stable places differ by more than a camera explains; did the light change?"
"""Flag of a photo whose colours could not be brought to the reference's."""

PARTLY_HIDDEN = "partly hidden by plants"
"""Flag of a region of which plants hide so much more than at first that its numbers are of another part of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A photo brought to the view: sRGB uint8 (height, width, 3) at working size, corrected and aligned.

    `colour_residual` is the RMS ΔE00 left on the references used, `align_residual_px` the residual on the frame at
    working size; None where nothing could be checked. `flags` are plain sentences about what is wrong with the photo.
    `correction` says which references were used. `clarity` is the fine contrast of stable places over that of the first
    photos: haze in the water and a blurred photo both lower it; None where nothing in view has any.
    """

    image: NDArray[np.uint8]
    correction: str
    colour_residual: float | None
    align_residual_px: float | None
    flags: tuple[str, ...]
    clarity: float | None = None


@dataclass(frozen=True, slots=True)
class RegionMeasure:
    """One region of one pane of one photo. Fields that make no sense for its kind are None.

    `cover` and `algae` are shares of the polygon, 0 to 1; `height_cm` and `width_cm` need a scale; `height_px` is in
    pixels of the view's frame. `lightness`, `a`, `b` are CIELAB (D65) of the plant's (or the region's) mid-tones;
    `colour_error` is the standard error of each of them within the series, the camera included; `scale_error` what the
    whole series' a* and b* may be off by besides, `lightness_scale_error` its L* (None where no known card sets the
    scale: then only changes mean anything). `chroma` is CIELAB C*ab, `change` the ΔE00 from the region's first days,
    `yellowed` the share of a green stand's plant that is yellow beyond that of its first days, and `holes` the share of
    its outline that shows ground: both coarse. `film` and `spots` part `algae` into wide and small patches. The three
    `..._common_error` are standard errors that all photos of a stand have in common, in the unit of what they are of:
    they never average out, and cancel in changes. All shares are 0 to 1.
    """

    pane: str
    region: str
    kind: str
    cover: float | None = None
    height_px: float | None = None
    height_cm: float | None = None
    width_cm: float | None = None
    lightness: float | None = None
    a: float | None = None
    b: float | None = None
    colour_error: float | None = None
    algae: float | None = None
    scale_error: float | None = None
    chroma: float | None = None
    change: float | None = None
    yellowed: float | None = None
    holes: float | None = None
    film: float | None = None
    spots: float | None = None
    height_cm_common_error: float | None = None
    width_cm_common_error: float | None = None
    cover_common_error: float | None = None
    lightness_scale_error: float | None = None
    flags: tuple[str, ...] = ()
