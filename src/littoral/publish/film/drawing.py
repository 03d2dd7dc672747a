"""Drawing with a film's units and one typeface: words, an arm's shape, smooth lines."""

from __future__ import annotations

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
