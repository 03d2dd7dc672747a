"""Drawing with a film's units and one typeface: words, an arm's shape, smooth lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from PIL import Image, ImageDraw

from littoral.publish.lettering import Lettering
from littoral.publish.look import DARK

SMOOTH = 4
"""Shapes are drawn so many times as large and then shrunk, for the drawing library draws hard edges."""


class Pen:
    """Writes and draws on one picture, in units of which `scale` pixels make one."""

    def __init__(self, picture: Image.Image, letters: Lettering, scale: float) -> None:
        self.picture = picture
        self.letters = letters
        self.scale = scale
        self._draw = ImageDraw.Draw(picture)

    def size(self, units: float) -> int:
        """Return a letter size in pixels, at least the smallest that the typeface has."""
        return max(5, round(units * self.scale))

    def write(
        self, at: tuple[float, float], text: str, *, size: float, fill: str = DARK.ink, anchor: str = "ls"
    ) -> None:
        """Write one line; `anchor` as in Pillow (first letter l, m, r; second a, m, s)."""
        # No typeface is sure to be there in bold, and stroked letters run together: size and colour say what counts.
        place = (at[0] * self.scale, at[1] * self.scale)
        font = self.letters.font(self.size(size))
        self._draw.text(place, self.letters.said(text), font=font, fill=fill, anchor=anchor)

    def width(self, text: str, *, size: float) -> float:
        """Return the width of a line in units."""
        return self.letters.font(self.size(size)).getlength(self.letters.said(text)) / self.scale

    def cut(self, text: str, *, size: float, width: float) -> str:
        """Return `text` cut to a width in units."""
        return self.letters.cut(text, size_px=self.size(size), width_px=width * self.scale)

    def lines(self, text: str, *, size: float, width: float, most: int) -> list[str]:
        """Return `text` broken into at most `most` lines of a width in units, the last one cut."""
        return self.letters.lines(text, size_px=self.size(size), width_px=width * self.scale, most=most)

    def box(self, left: float, top: float, right: float, bottom: float, *, fill: str) -> None:
        """Fill a box, at least one pixel wide and high."""
        x0, y0 = round(left * self.scale), round(top * self.scale)
        x1, y1 = max(x0, round(right * self.scale) - 1), max(y0, round(bottom * self.scale) - 1)
        self._draw.rectangle((x0, y0, x1, y1), fill=fill)

    def outline(self, left: float, top: float, right: float, bottom: float, *, fill: str, width: float) -> None:
        """Draw the edge of a box, `width` units wide, within it."""
        s = self.scale
        corners = (round(left * s), round(top * s), round(right * s) - 1, round(bottom * s) - 1)
        self._draw.rectangle(corners, outline=fill, width=max(1, round(width * s)))

    def shape(self, middle: tuple[float, float], shape: str, *, colour: str, size: float) -> None:
        """Draw an arm's shape, `size` units across, centred on `middle`."""
        side = max(5, round(size * self.scale))
        sprite = _sprite(shape, side)
        at = (round(middle[0] * self.scale - side / 2), round(middle[1] * self.scale - side / 2))
        self.picture.paste(Image.new("RGB", sprite.size, colour), at, sprite)

    def line(self, start: tuple[float, float], end: tuple[float, float], *, colour: str, width: float) -> None:
        """Draw a smooth line."""
        s = self.scale
        at = (round((min(start[0], end[0]) - width) * s), round((min(start[1], end[1]) - width) * s))
        far = (round((max(start[0], end[0]) + width) * s), round((max(start[1], end[1]) + width) * s))
        size = (max(1, far[0] - at[0]), max(1, far[1] - at[1]))
        mask = Image.new("L", (size[0] * SMOOTH, size[1] * SMOOTH))
        points = [((x * s - at[0]) * SMOOTH, (y * s - at[1]) * SMOOTH) for x, y in (start, end)]
        polyline(ImageDraw.Draw(mask), points, width=width * s * SMOOTH)
        small = mask.resize(size, Image.Resampling.BOX)
        self.picture.paste(Image.new("RGB", size, colour), at, small)

    def arrow(self, start: tuple[float, float], end: tuple[float, float], *, colour: str, edge: str) -> None:
        """Draw an arrow with an edge of another colour, so that it is seen on any picture."""
        s = self.scale
        left, right = min(start[0], end[0]) - 16, max(start[0], end[0]) + 16
        top, bottom = min(start[1], end[1]) - 16, max(start[1], end[1]) + 16
        at = (max(0, round(left * s)), max(0, round(top * s)))
        size = (max(1, round((right - left) * s)), max(1, round((bottom - top) * s)))
        big = SMOOTH * s

        def place(point: tuple[float, float]) -> tuple[float, float]:
            return point[0] * big - at[0] * SMOOTH, point[1] * big - at[1] * SMOOTH

        dx, dy = end[0] - start[0], end[1] - start[1]
        long = math.hypot(dx, dy) or 1.0
        ux, uy = dx / long, dy / long
        for wide, head, fill in ((6.0, 11.5, edge), (2.6, 8.5, colour)):
            mask = Image.new("L", (size[0] * SMOOTH, size[1] * SMOOTH))
            draw = ImageDraw.Draw(mask)
            back = (end[0] - ux * 1.9 * head, end[1] - uy * 1.9 * head)
            polyline(draw, [place(start), place(back)], width=wide * big)
            spread = 0.9 * head
            over = (end[0] + ux * (head - 8.5) * 0.6, end[1] + uy * (head - 8.5) * 0.6)
            corners = (
                over,
                (back[0] - uy * spread, back[1] + ux * spread),
                (back[0] + uy * spread, back[1] - ux * spread),
            )
            draw.polygon([place(corner) for corner in corners], fill=255)
            small = mask.resize(size, Image.Resampling.BOX)
            shade = Image.new("RGB", size, fill)
            self.picture.paste(shade, at, small)


@lru_cache(maxsize=64)
def _sprite(shape: str, side: int) -> Image.Image:
    """Return the mask of a shape in a square of `side` pixels, smooth at its edges."""
    big = side * SMOOTH
    mask = Image.new("L", (big, big))
    draw = ImageDraw.Draw(mask)
    end = big - 1
    if shape == "circle":
        draw.ellipse((0, 0, end, end), fill=255)
    elif shape == "square":
        inset = big * 0.06
        draw.rectangle((inset, inset, end - inset, end - inset), fill=255)
    elif shape == "triangle-up":
        draw.polygon(((end / 2, 0), (end, end * 0.93), (0, end * 0.93)), fill=255)
    elif shape == "triangle-down":
        draw.polygon(((0, end * 0.07), (end, end * 0.07), (end / 2, end)), fill=255)
    else:
        draw.polygon(((end / 2, 0), (end, end / 2), (end / 2, end), (0, end / 2)), fill=255)
    return mask.resize((side, side), Image.Resampling.LANCZOS)


def polyline(
    mask: ImageDraw.ImageDraw, points: Sequence[tuple[float, float]], *, width: float, fill: int = 255
) -> None:
    """Draw a line through points with round joints and ends on a mask (pixels of the mask)."""
    half = width / 2
    if len(points) > 1:
        mask.line(list(points), fill=fill, width=max(1, round(width)), joint="curve")
    for x, y in (points[0], points[-1]):
        mask.ellipse((x - half, y - half, x + half, y + half), fill=fill)
