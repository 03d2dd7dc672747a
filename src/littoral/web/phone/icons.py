"""Our mark as PNG pictures for a phone's home screen, drawn by ourselves, so that the core needs no image library."""

from __future__ import annotations

import re
import struct
import zlib
from functools import cache

import numpy as np
from numpy.typing import NDArray

from littoral.web.assets import own_assets
from littoral.web.phone.outline import Point, edges, outlines
from littoral.web.phone.paths import Kind

PAPER = (0xFB, 0xFC, 0xF9)
VIEW = 32.0
LINES = 8
"""Scan lines in a pixel; along a line coverage is exact."""
SAFE = 0.8 / 2**0.5
"""Share of a maskable icon's side that lies, as a square, within its safe circle of 40 % radius (W3C manifest)."""
_PATH = re.compile(r'<path fill="#([0-9a-f]{6})" d="([^"]+)"')


@cache
def icon(side_px: int, kind: Kind) -> bytes:
    """Return our mark as a PNG of `side_px` squared: on nothing, or (maskable) on paper with room to be cut round."""
    text = own_assets()["mark.svg"].content.decode()
    share = SAFE if kind == "maskable" else 1.0
    scale = side_px * share / VIEW
    shift = side_px * (1 - share) / 2
    colour = np.zeros((side_px, side_px, 3))
    alpha = np.zeros((side_px, side_px))
    if kind == "maskable":
        colour[:] = PAPER
        alpha[:] = 1.0
    for fill, data in _PATH.findall(text):
        polygons = [[(x * scale + shift, y * scale + shift) for x, y in one] for one in outlines(data)]
        cover = coverage(polygons, side_px)
        # "over", with colours not multiplied by their alpha
        whole = cover + alpha * (1 - cover)
        mine = np.divide(cover, whole, out=np.zeros_like(cover), where=whole > 0)[..., None]
        colour = colour * (1 - mine) + np.array([int(fill[at : at + 2], 16) for at in (0, 2, 4)]) * mine
        alpha = whole
    pixels = np.dstack([colour, 255 * alpha]).round().clip(0, 255).astype(np.uint8)
    return png(pixels)


def coverage(polygons: list[list[Point]], side_px: int) -> NDArray[np.float64]:
    """Return how much of each pixel lies within polygons (nonzero winding), (side, side), 0 to 1."""
    lines = np.array([edge for polygon in polygons for edge in edges(polygon)])
    (x0, y0), (x1, y1) = lines[:, 0].T, lines[:, 1].T
    found = np.zeros((side_px, side_px + 1))
    for line in range(side_px * LINES):
        y = (line + 0.5) / LINES
        crossed = (y0 <= y) != (y1 <= y)
        x = x0[crossed] + (y - y0[crossed]) / (y1[crossed] - y0[crossed]) * (x1[crossed] - x0[crossed])
        turns = np.where(y0[crossed] < y1[crossed], 1, -1)
        winding = 0
        for place in np.argsort(x):
            before, winding = winding, winding + turns[place]
            if (before == 0) != (winding == 0):
                _fill_from(found[line // LINES], float(x[place]), 1.0 if before == 0 else -1.0)
    return np.cumsum(found, axis=1)[:, :side_px].clip(0, LINES) / LINES


def _fill_from(steps: NDArray[np.float64], x: float, sign: float) -> None:
    """Note that coverage grows by `sign` from x on, in a row of differences."""
    last = len(steps) - 1
    x = min(max(x, 0.0), float(last))
    whole = min(int(x), last)
    share = x - whole
    steps[whole] += sign * (1 - share)
    if whole < last:
        steps[whole + 1] += sign * share


def png(pixels: NDArray[np.uint8]) -> bytes:
    """Return RGBA pixels (height, width, 4) as PNG (ISO/IEC 15948, 8 bit, colour type 6, no filter)."""
    height, width, _ = pixels.shape
    rows = b"".join(b"\0" + row.tobytes() for row in pixels)
    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in parts
    )
