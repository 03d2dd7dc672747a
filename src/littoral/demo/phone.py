"""What a hand-held phone does to a picture: framing, light, white balance, tone curve, noise, JPEG and EXIF.

The ranges are those of METHODS.md: exposure ±0.7 EV, white balance ±15 %, framing ±2 %, JPEG quality 85.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import LINEAR_OF_BYTE, linear_to_srgb

Image = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class PhoneCharacter:
    """How one phone spoils pictures. `ev` and `balance` are half-ranges, `framing` a share of the frame's width.

    `tone` is the curve put on top of sRGB's own; `noise` is the standard deviation at mid-grey in linear light.
    """

    name: str
    tone: Literal["linear", "contrasty", "soft"]
    ev: float = 0.7
    balance: float = 0.15
    framing: float = 0.02
    noise: float = 0.010
    vignette: float = 0.16
    jpeg_quality: int = 85


PHONES = {
    "plain": PhoneCharacter("plain", "linear"),
    "contrasty": PhoneCharacter("contrasty", "contrasty"),
    "soft": PhoneCharacter("soft", "soft", noise=0.014),
}


@dataclass(frozen=True, slots=True)
class Shot:
    """What one shot did: stops, gains of red and blue against green, tone strength, glare, and the homography.

    `homography` (9 numbers, row by row) maps pixels of the nominal frame to pixels of the photo as displayed.
    """

    ev: float
    gain_red: float
    gain_blue: float
    tone_strength: float
    glare: float
    homography: tuple[float, ...]


def take(phone: PhoneCharacter, rng: np.random.Generator, *, size: tuple[int, int], nominal_framing: bool) -> Shot:
    """Draw one shot's spoiling for a frame of `size` (width, height); the first photo of a view is framed as drawn."""
    import cv2

    width, height = size
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    if nominal_framing:
        moved = corners
    else:
        angle = rng.normal(0.0, 0.008)
        scale = 1.0 + rng.normal(0.0, phone.framing * 0.4)
        centre = np.array([width, height]) / 2
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        shift = rng.uniform(-0.8, 0.8, 2) * phone.framing * width * np.array([1.0, 0.8])
        keystone = rng.normal(0.0, phone.framing * 0.12 * width, (4, 2))
        moved = (corners - centre) @ turn.T * scale + centre + shift + keystone
    matrix = cv2.getPerspectiveTransform(corners.astype(np.float32), moved.astype(np.float32))
    return Shot(
        ev=float(np.clip(rng.normal(0.0, phone.ev * 0.5), -phone.ev, phone.ev)),
        gain_red=float(1.0 + rng.uniform(-phone.balance, phone.balance)),
        gain_blue=float(1.0 + rng.uniform(-phone.balance, phone.balance)),
        tone_strength=float(rng.uniform(0.7, 1.0)),
        glare=float(rng.uniform(0.0, 1.0)),
        homography=tuple(float(value) for value in matrix.ravel()),
    )


def spoil(clean: Image, phone: PhoneCharacter, shot: Shot, rng: np.random.Generator) -> Image:
    """Return what the phone makes of a clean sRGB picture, both uint8 (height, width, 3) in RGB order."""
    import cv2

    height, width = clean.shape[:2]
    matrix = np.asarray(shot.homography).reshape(3, 3)
    if not np.allclose(matrix, np.eye(3), atol=1e-9):
        clean = np.asarray(
            cv2.warpPerspective(clean, matrix, (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE),
            dtype=np.uint8,
        )
    light = np.asarray(cv2.LUT(np.ascontiguousarray(clean), LINEAR_OF_BYTE), dtype=np.float32)
    exposure = np.float32(2.0**shot.ev)
    balance = np.array([shot.gain_red, 1.0, shot.gain_blue], dtype=np.float32) * exposure
    light *= _vignette(height, width, phone.vignette)[..., None]
    light *= balance
    light += (np.float32(shot.glare) * exposure * _glare(height, width, rng))[..., None]
    # Shot noise grows with the root of the light; a phone's denoiser leaves it slightly blotchy.
    noise = rng.standard_normal((height, width, 3), dtype=np.float32)
    noise = np.asarray(cv2.GaussianBlur(noise, (3, 3), 0.6), dtype=np.float32)
    noise *= cv2.sqrt(light * np.float32(5.0) + np.float32(0.008))
    light += noise * np.float32(2.0 * phone.noise)
    light *= np.float32(_CODES - 1)
    steps = np.clip(light, 0, _CODES - 1, out=light).astype(np.uint16)
    return np.asarray(np.take(_encoding(phone.tone, shot.tone_strength), steps), dtype=np.uint8)


def write_jpeg(image: Image, *, taken: datetime, orientation: int, quality: int, words: str = "rendered demo") -> bytes:
    """Return a JPEG with EXIF time, offset and orientation (1, 3, 6 or 8), stored turned as that orientation says.

    `taken` is an aware local time. There is no GPS block and no real device's name.
    """
    from PIL import Image as Pictures

    turns = {1: 0, 3: 2, 6: 1, 8: 3}[orientation]
    stored = Pictures.fromarray(np.ascontiguousarray(np.rot90(image, turns)))
    exif = Pictures.Exif()
    exif[0x010E] = words  # ImageDescription
    exif[0x010F] = "demo camera"  # Make
    exif[0x0110] = "demo camera"  # Model
    exif[0x0112] = orientation
    stamp = taken.strftime("%Y:%m:%d %H:%M:%S")
    offset = taken.strftime("%z")
    details = exif.get_ifd(0x8769)
    details[0x9003] = stamp  # DateTimeOriginal
    details[0x9004] = stamp  # DateTimeDigitized
    details[0x9011] = f"{offset[:3]}:{offset[3:]}"  # OffsetTimeOriginal
    exif[0x8769] = details
    out = io.BytesIO()
    stored.save(out, "JPEG", quality=quality, exif=exif)
    return out.getvalue()


_CODES = 4096


def _encoding(tone: str, strength: float) -> NDArray[np.uint8]:
    """A table from 12-bit linear light to 8-bit sRGB through the phone's tone curve."""
    shown = linear_to_srgb(np.linspace(0.0, 1.0, _CODES))
    if tone == "contrasty":
        shown = shown + 0.11 * strength * np.sin(2 * np.pi * (shown - 0.5)) / 2 * 0.9 + 0.02 * strength * shown
    elif tone == "soft":
        shown = shown + 0.10 * strength * np.sin(np.pi * shown)
    return np.round(np.clip(shown, 0.0, 1.0) * 255).astype(np.uint8)


def _vignette(height: int, width: int, depth: float) -> NDArray[np.float32]:
    x = np.linspace(-1, 1, width, dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, height, dtype=np.float32)[:, None] * (height / width)
    return (1.0 - depth * (x * x + y * y)).astype(np.float32)


def _glare(height: int, width: int, rng: np.random.Generator) -> NDArray[np.float32]:
    """A soft veil where the room's window mirrors in the front glass."""
    x = np.linspace(0, 1, width, dtype=np.float32)[None, :]
    y = np.linspace(0, 1, height, dtype=np.float32)[:, None]
    cx, cy = rng.uniform(0.2, 0.8), rng.uniform(0.3, 0.7)
    spot = np.exp(-(((x - cx) / 0.22) ** 2)) * np.exp(-(((y - cy) / 0.30) ** 2))
    return np.asarray(0.012 + 0.028 * spot, dtype=np.float32)
