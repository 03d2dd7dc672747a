"""Pixels of wide-gamut screens, where a photo says so by a code instead of an ICC profile, to sRGB."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import LINEAR_OF_BYTE

DISPLAY_P3 = 12
"""Code of the primaries of SMPTE EG 432-1 in ITU-T H.273, table 2; with the curve of sRGB this is Display P3."""
WHITE_D65 = (0.3127, 0.3290)
P3_PRIMARIES = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
SRGB_PRIMARIES = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))  # IEC 61966-2-1


def p3_to_srgb(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return Display P3, uint8 (height, width, 3), as sRGB; what lies outside sRGB is clipped."""
    light = LINEAR_OF_BYTE[image] @ _TO_SRGB.T.astype(np.float32)
    at = np.clip(light * (len(_BYTE_OF_LINEAR) - 1), 0, len(_BYTE_OF_LINEAR) - 1)
    return _BYTE_OF_LINEAR[np.round(at).astype(np.int32)]


def to_xyz(primaries: tuple[tuple[float, float], ...], white: tuple[float, float]) -> NDArray[np.float64]:
    """Return the matrix (3, 3) from linear light in `primaries` to XYZ, white at Y = 1 (SMPTE RP 177-1993)."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in primaries]).T
    x, y = white
    return columns * np.linalg.solve(columns, np.array([x / y, 1.0, (1 - x - y) / y]))


def _encoded(steps: int) -> NDArray[np.uint8]:
    light = np.linspace(0.0, 1.0, steps)
    shown = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)
    return np.round(255 * shown).astype(np.uint8)


_TO_SRGB = np.linalg.solve(to_xyz(SRGB_PRIMARIES, WHITE_D65), to_xyz(P3_PRIMARIES, WHITE_D65))
_BYTE_OF_LINEAR = _encoded(1 << 16)
