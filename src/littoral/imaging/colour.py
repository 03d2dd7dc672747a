"""sRGB, linear light, CIELAB (D65, 2 degree observer) and the CIEDE2000 difference."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

SRGB_TO_XYZ = np.array([[0.412453, 0.357580, 0.180423], [0.212671, 0.715160, 0.072169], [0.019334, 0.119193, 0.950227]])
"""Linear sRGB to XYZ, white at 1: ITU-R BT.709 primaries and D65 white, six digits, as OpenCV has it too."""
D65_WHITE = np.array([0.95047, 1.0, 1.08883])
"""XYZ of the D65 white for the 2 degree observer (ASTM E308-01)."""


def srgb_to_linear(encoded: ArrayLike) -> FloatArray:
    """Linear light, 0 to 1, of sRGB values, 0 to 1, any shape (IEC 61966-2-1:1999)."""
    c = np.asarray(encoded, dtype=np.float64)
    return np.where(c <= 0.04045, c / 12.92, ((np.maximum(c, 0.0) + 0.055) / 1.055) ** 2.4)


def linear_to_srgb(linear: ArrayLike) -> FloatArray:
    """sRGB values, 0 to 1, of linear light, any shape; light outside 0 to 1 is clipped (IEC 61966-2-1:1999)."""
    c = np.clip(np.asarray(linear, dtype=np.float64), 0.0, 1.0)
    return np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** (1 / 2.4) - 0.055)


LINEAR_OF_BYTE: NDArray[np.float32] = srgb_to_linear(np.arange(256) / 255.0).astype(np.float32)
"""Linear light of each 8-bit sRGB value, shape (256,)."""


def linear_to_lab(linear: ArrayLike) -> FloatArray:
    """CIELAB (L* 0 to 100, a*, b*) of linear sRGB light, shape (..., 3) (CIE 015:2018, section 8.2.1)."""
    ratio = np.asarray(linear, dtype=np.float64) @ SRGB_TO_XYZ.T / D65_WHITE
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def image_to_lab(image: NDArray[np.uint8]) -> NDArray[np.float32]:
    """CIELAB of an sRGB image, both (height, width, 3): quick, for whole photos; within 0.05 of `linear_to_lab`."""
    linear = cv2.LUT(np.ascontiguousarray(image), LINEAR_OF_BYTE)
    return np.asarray(cv2.cvtColor(linear, cv2.COLOR_LRGB2Lab), dtype=np.float32)


def ciede2000(lab_1: ArrayLike, lab_2: ArrayLike) -> FloatArray:
    """CIEDE2000 difference of CIELAB colours, shapes (..., 3) that broadcast; kL = kC = kH = 1.

    Source: Sharma, Wu, Dalal 2005, Color Research and Application 30:21-30, equations 2 to 22.
    """
    one, two = np.asarray(lab_1, dtype=np.float64), np.asarray(lab_2, dtype=np.float64)
    l1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    l2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360, np.degrees(np.arctan2(b2, a2)) % 360
    grey = c1 * c2 == 0

    turn = h2 - h1
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    turn = np.where(grey, 0.0, turn)
    d_l, d_c = l2 - l1, c2 - c1
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2)

    mean_l, mean_c, both = (l1 + l2) / 2, (c1 + c2) / 2, h1 + h2
    apart = np.abs(h1 - h2) > 180
    mean_h = np.where(apart, np.where(both < 360, both + 360, both - 360), both) / 2
    mean_h = np.where(grey, both, mean_h)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c = 1 + 0.045 * mean_c
    s_h = 1 + 0.015 * mean_c * t
    c7 = mean_c**7
    r_t = -np.sin(np.radians(60 * np.exp(-(((mean_h - 275) / 25) ** 2)))) * 2 * np.sqrt(c7 / (c7 + 25.0**7))
    l_term, c_term, h_term = d_l / s_l, d_c / s_c, d_h / s_h
    squared = l_term**2 + c_term**2 + h_term**2 + r_t * c_term * h_term
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)), dtype=np.float64)
