"""Where each tank stands in a film's frame: pictures as large as they fit, one over all of the space that is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.publish.encode import SIZE

MARGIN = 44
GAP = 28
TOP = 158
BOTTOM = 962
"""Between them stand the tanks: below the title, above the progress line."""
BAND = 48
"""Kept free under each picture, in pixels, for saying that it is held or flagged."""
LABEL_WIDTH = 560
"""Least width of a column, so that the arm's label and regime have room under a narrow picture."""
LABEL = {1: 112, 2: 80}
"""Height of an arm's label, by the number of rows."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One tank's place, in pixels: the box for its picture, where its label begins, and its lines of regime."""

    left: int
    top: int
    width: int
    height: int
    label_top: int
    regime_lines: int


def film_layout(ratios: Sequence[float]) -> list[Cell]:
    """Return where tanks stand whose pictures have these ratios of width to height: up to three in a row, else in two.

    All boxes are alike, so that the same height means the same in every tank of a kind.
    """
    rows = 1 if len(ratios) <= 3 else 2
    columns = -(-len(ratios) // rows)
    room = (SIZE[0] - 2 * MARGIN - GAP * (columns - 1)) // columns
    around = BAND + LABEL[rows]
    height = min((BOTTOM - TOP) // rows - around, round(room / min(ratios)))
    width = min(room, max(LABEL_WIDTH, round(height * max(ratios))))
    left = (SIZE[0] - columns * width - GAP * (columns - 1)) // 2
    top = TOP + (BOTTOM - TOP - rows * (height + around)) // 2
    return [
        Cell(
            left=left + (i % columns) * (width + GAP),
            top=top + (i // columns) * (height + around),
            width=width,
            height=height,
            label_top=top + (i // columns) * (height + around) + height + BAND,
            regime_lines=2 if rows == 1 else 1,
        )
        for i in range(len(ratios))
    ]
