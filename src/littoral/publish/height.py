"""How high a chart will be drawn, known before it is: a page keeps that much room, so that nothing moves later."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

AROUND_PX = 76
"""Padding, a panel's title above, and the axis with its title below: what surrounds the panels, at most."""
AROUND_ROWS_PX = 68
"""The same for rows with a heading of two lines and an axis without title."""
AROUND_ONE_PX = 58
"""The same for one panel without a title of its own."""
HEADING_LINE_PX = 15


def drawn_height_px(spec: Mapping[str, Any]) -> int:
    """Return the height in px, at most, that a chart of `charts_of` is drawn with where its title is left out."""
    if "vconcat" in spec:
        rows: Sequence[Mapping[str, Any]] = spec["vconcat"]
        heading = rows[0]["title"]
        more_lines = len(heading["text"]) + len(heading["subtitle"]) - 2
        between: float = spec["spacing"] * (len(rows) - 1)
        height: float = sum(row["height"] for row in rows) + between + AROUND_ROWS_PX + HEADING_LINE_PX * more_lines
        return math.ceil(height)
    if "concat" not in spec:  # one panel without a heading of its own
        one: float = spec["height"]
        return math.ceil(one + AROUND_ONE_PX)
    panels: Sequence[Mapping[str, Any]] = spec["concat"]
    count = math.ceil(len(panels) / spec["columns"])
    height = count * max(panel["height"] for panel in panels) + (count - 1) * spec["spacing"]["row"] + AROUND_PX
    return math.ceil(height)
