"""Names beside points, placed where they cover neither one another nor other points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

GLYPH_PX = 6.6
LINE_PX = 14
POINT_PX = 6.0
RINGS_PX = (9.0, 20.0, 34.0)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in a plot's pixels, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def shared_px2(self, other: Box) -> float:
        """Return the area that both cover, in square pixels."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, wide) * max(0.0, high)

    @property
    def area_px2(self) -> float:
        """The area in square pixels."""
        return (self.right - self.left) * (self.bottom - self.top)


def place_labels(
    points: Sequence[tuple[float, float]],
    texts: Sequence[Sequence[str]],
    *,
    width_px: float,
    height_px: float,
    keep_off: Sequence[Box] = (),
) -> list[Box]:
    """Return a box for the lines of each point's text, near its point (x, y in pixels), in the points' order.

    Eight places around each point are tried, near it and farther off; the one that covers least of points, earlier
    names, what else to `keep_off`, and what lies outside the plot is taken, the earlier of equals. Widths are estimated
    from an average glyph.
    """
    dots = [Box(x - POINT_PX, y - POINT_PX, x + POINT_PX, y + POINT_PX) for x, y in points]
    inside = Box(0, 0, width_px, height_px)
    placed: list[Box] = []
    for (x, y), lines in zip(points, texts, strict=True):
        wide, high = GLYPH_PX * max(len(line) for line in lines), LINE_PX * len(lines)

        def covered(box: Box) -> float:
            taken = sum(box.shared_px2(one) for one in [*dots, *placed, *keep_off])
            return round(taken + box.area_px2 - box.shared_px2(inside), 6)

        places = [box for away in RINGS_PX for box in _around(x, y, wide, high, away)]
        placed.append(min(places, key=covered))
    return placed


def _around(x: float, y: float, wide: float, high: float, away: float) -> list[Box]:
    corners = [
        (x + away, y - away / 2 - high),
        (x - away - wide, y - away / 2 - high),
        (x + away, y + away / 2),
        (x - away - wide, y + away / 2),
        (x - wide / 2, y - away - high),
        (x - wide / 2, y + away),
        (x + 2 * away, y - high / 2),
        (x - 2 * away - wide, y - high / 2),
    ]
    return [Box(left, top, left + wide, top + high) for left, top in corners]
