"""Where each tank stands in a film's frame: pictures as large as they fit, one over all of the space that is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.publish.encode import SIZE

MARGIN = 44
"""Beside texts and the progress line."""
EDGE = 14
"""Beside and between wide pictures, which the frame's width limits."""
GAP = 28
TOP = 164
BOTTOM = 956
"""Between them stand the tanks: below the title, above the progress line."""
BAND = 48
"""Kept free above each label, in pixels, for saying that the picture is held or flagged."""
LABEL_WIDTH = 560
"""Least width of a label below a narrow picture."""
LABEL_BESIDE = 420
"""Most width of a label beside a tall picture."""
TALL = 0.5
"""Pictures narrower than this share of their height take the full height, with their labels beside them."""
WIDE = 1.6
"""Pictures at least so wide in one row leave height over, which larger letters take."""
LINES_PX = {38: 112, 50: 156}
"""Height of a label with two lines of regime, by the size of its arm's name."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One tank's place, in pixels: the box for its picture, the box for its label, and what the label's letters are.

    BAND pixels above `label_top` are kept free over the label's width.
    """

    left: int
    top: int
    width: int
    height: int
    label_left: int
    label_top: int
    label_width: int
    name_px: int
    regime_lines: int


def film_layout(ratios: Sequence[float]) -> list[Cell]:
    """Return where tanks stand whose pictures have these ratios of width to height: up to three in a row, else in two.

    All boxes are alike, so that the same height means the same in every tank of a kind.
    """
    rows = 1 if len(ratios) <= 3 else 2
    columns = -(-len(ratios) // rows)
    if max(ratios) < TALL:
        return _beside(ratios, rows, columns)
    wide = rows == 1 and min(ratios) >= WIDE
    edge, gap = (EDGE, EDGE) if wide and columns > 1 else (MARGIN, GAP)
    name_px = 50 if wide and columns < 3 else 38
    around = BAND + (LINES_PX[name_px] if rows == 1 else 80)
    room = (SIZE[0] - 2 * edge - gap * (columns - 1)) // columns
    height = min((BOTTOM - TOP) // rows - around, round(room / min(ratios)))
    width = min(room, max(LABEL_WIDTH, round(height * max(ratios))))
    left = (SIZE[0] - columns * width - gap * (columns - 1)) // 2
    top = TOP + (BOTTOM - TOP - rows * (height + around)) // 2
    cells = []
    for i in range(len(ratios)):
        at, upper = left + (i % columns) * (width + gap), top + (i // columns) * (height + around)
        inset = max(0, MARGIN - at)  # texts keep the margin of the title
        cells.append(
            Cell(
                left=at,
                top=upper,
                width=width,
                height=height,
                label_left=at + inset,
                label_top=upper + height + BAND,
                label_width=width - inset - max(0, at + width + MARGIN - SIZE[0]),
                name_px=name_px,
                regime_lines=2 if rows == 1 else 1,
            )
        )
    return cells


def _beside(ratios: Sequence[float], rows: int, columns: int) -> list[Cell]:
    """Return places for tall pictures: all of the height, each with its label to its right, the row centred."""
    height = (BOTTOM - TOP - GAP * (rows - 1)) // rows
    width = max(1, round(height * max(ratios)))
    room = (SIZE[0] - 2 * MARGIN - GAP * (columns - 1)) // columns
    label = min(LABEL_BESIDE, room - width - GAP)
    whole = width + GAP + label
    left = (SIZE[0] - columns * whole - GAP * (columns - 1)) // 2
    return [
        Cell(
            left=at,
            top=upper,
            width=width,
            height=height,
            label_left=at + width + GAP,
            label_top=upper + height // 2 - 56,
            label_width=label,
            name_px=38,
            regime_lines=3,
        )
        for i in range(len(ratios))
        for at, upper in [(left + (i % columns) * (whole + GAP), TOP + (i // columns) * (height + GAP))]
    ]
