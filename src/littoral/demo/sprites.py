"""Sprites: small transparent pictures, drawn with clean edges and laid over the big one while a map keeps whose
pixel each is."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.layout import Frame

Image = NDArray[np.uint8]
Floats = NDArray[np.float64]

_SHIFT = 4  # OpenCV draws at 1/16 pixel


class Sprite:
    """A premultiplied RGBA picture, uint8, over the box of cm that it covers. Drawing with smooth edges onto empty
    premultiplied pixels gives the exact coverage as alpha."""

    def __init__(self, frame: Frame, left_cm: float, bottom_cm: float, right_cm: float, top_cm: float) -> None:
        self.frame = frame
        corner = frame.px(np.array([left_cm, top_cm]))
        far = frame.px(np.array([right_cm, bottom_cm]))
        width, height = frame.size
        self.x0, self.y0 = max(0, int(corner[0])), max(0, int(corner[1]))
        self.x1, self.y1 = min(width, int(far[0]) + 1), min(height, int(far[1]) + 1)
        self.rgba: Image = np.zeros((max(1, self.y1 - self.y0), max(1, self.x1 - self.x0), 4), dtype=np.uint8)

    def at(self, points_cm: Floats) -> NDArray[np.int32]:
        """Return OpenCV's fixed-point pixels of points (..., 2) in cm."""
        px = self.frame.px(points_cm) - np.array([self.x0, self.y0])
        return np.asarray(np.round(px * (1 << _SHIFT)), dtype=np.int32)

    def fill(self, outlines_cm: Floats, colours: Floats) -> None:
        """Fill outlines (n, points, 2) in cm, later over earlier, with sRGB colours (n, 3) of 0 to 255."""
        fixed = self.at(outlines_cm)
        shown = np.clip(np.round(colours), 0, 255).astype(int).tolist()
        for outline, (red, green, blue) in zip(fixed, shown, strict=True):
            cv2.fillPoly(self.rgba, [outline], (red, green, blue, 255), lineType=cv2.LINE_AA, shift=_SHIFT)

    def lines(self, paths_cm: Floats, colour: Floats, width_cm: float) -> None:
        """Draw paths (n, points, 2) in cm, all of one sRGB colour (3,)."""
        red, green, blue = (int(value) for value in np.clip(np.round(colour), 0, 255))
        thick = max(1, round(width_cm * self.frame.px_per_cm))
        paths = list(self.at(paths_cm))
        cv2.polylines(
            self.rgba, paths, False, (red, green, blue, 255), thickness=thick, lineType=cv2.LINE_AA, shift=_SHIFT
        )

    def cast(self, picture: Image, *, strength: float, blur_cm: float, down_cm: float) -> None:
        """Darken `picture` in place where this sprite's soft shadow falls, `down_cm` below it."""
        alpha = self.rgba[..., 3]
        size = max(3, 2 * round(blur_cm * self.frame.px_per_cm) + 1)
        shift = max(0, min(alpha.shape[0] - 1, round(down_cm * self.frame.px_per_cm)))
        moved = np.zeros_like(alpha)
        moved[shift:] = alpha[: alpha.shape[0] - shift]
        soft = cv2.blur(cv2.blur(moved, (size, size)), (size, size)).astype(np.float32) / 255.0
        part = picture[self.y0 : self.y1, self.x0 : self.x1]
        part[...] = (part * (1.0 - strength * soft[..., None])).astype(np.uint8)

    def over(self, picture: Image, labels: NDArray[np.uint8], label: int) -> None:
        """Lay this sprite over `picture` in place; pixels more than half covered become `label`."""
        part = picture[self.y0 : self.y1, self.x0 : self.x1]
        keep = 255 - self.rgba[..., 3:].astype(np.uint16)
        under = (part.astype(np.uint16) * keep + 127) // 255
        part[...] = np.minimum(under + self.rgba[..., :3], 255).astype(np.uint8)
        labels[self.y0 : self.y1, self.x0 : self.x1][self.rgba[..., 3] > 127] = label


def srgb_of_lab(lab: Floats) -> Floats:
    """Return sRGB (..., 3) of 0 to 255 for CIELAB (D65) colours (..., 3), clipped to what a screen can show."""
    flat = np.asarray(lab, dtype=np.float32).reshape(1, -1, 3)
    rgb = np.asarray(cv2.cvtColor(flat, cv2.COLOR_Lab2RGB), dtype=np.float64)
    return np.clip(rgb.reshape(np.shape(lab)) * 255.0, 0.0, 255.0)


def shaded(rgb: Floats, factor: Floats) -> Floats:
    """Return sRGB colours (n, 3) darkened or lightened by `factor` (n,)."""
    return np.clip(rgb * factor[:, None], 0.0, 255.0)
