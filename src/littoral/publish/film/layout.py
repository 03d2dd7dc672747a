"""Where everything stands in a film's frame: header, tanks as large as they fit, caption, chart, progress line.

All lengths are in units of a frame whose shorter side has 1080; `FilmLayout.px` turns them into pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.publish.film.options import FULL_PX, SIZES

MARGIN = 44
"""Beside texts, chart and progress line."""
EDGE = 14
"""Beside and between pictures that the frame's width limits."""
GAP = 28
BAND = 48
"""Height of the words that say that a picture is held or flagged."""
NARROW = 340
"""Pictures narrower than this have no room for words inside."""
LABEL_LEAST = 240
LABEL_MOST = 430
"""Width of a label beside its picture."""
TRACK = 118
"""Height of the progress line with its marks and words."""
HEADER = {"landscape": 158, "portrait": 248, "square": 166}
CHART = {"landscape": 164, "portrait": 262, "square": 146}
CAPTION = {"landscape": 54, "portrait": 92, "square": 84}
BESIDE_HEAD = 76
"""Height of the names in a label beside its picture; then follow lines of its regime."""
LINE = 30
MOST_LINES = 5
LABEL_LINES = {1: 84, 2: 112}
"""Height of a label below its picture, by its lines of regime."""


@dataclass(frozen=True, slots=True)
class Box:
    """A box in units: left and top edge, width and height."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right edge."""
        return self.left + self.width

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height


@dataclass(frozen=True, slots=True)
class Cell:
    """One tank's places: its picture, the enlarged part beside it (None without), its label, and the mark of a gap."""

    picture: Box
    zoom: Box | None
    label: Box
    mark: Box
    regime_lines: int


@dataclass(frozen=True, slots=True)
class FilmLayout:
    """Where everything stands; `chart` is None where no chart is drawn. `scale` is pixels for each unit."""

    format: str
    scale: float
    width: float
    height: float
    cells: tuple[Cell, ...]
    header: Box
    caption: Box
    chart: Box | None
    track: Box

    def px(self, units: float) -> int:
        """Return units as whole pixels."""
        return round(units * self.scale)


def film_layout(
    ratios: Sequence[float],
    *,
    format: str = "landscape",
    height_px: int = FULL_PX,
    chart: bool = True,
    zoom: float | None = None,
) -> FilmLayout:
    """Return the layout for tanks whose pictures have these ratios of width to height, in one to four cells.

    All boxes are alike, so that the same height means the same in every tank. `zoom` is the ratio of an enlarged part
    that stands beside each picture, as high as it.
    """
    width, height = SIZES[format]
    track = Box(MARGIN, height - TRACK, width - 2 * MARGIN, TRACK)
    top_of_chart = track.top - (CHART[format] if chart else 0)
    caption = Box(MARGIN, top_of_chart - CAPTION[format], width - 2 * MARGIN, CAPTION[format])
    area = Box(EDGE, HEADER[format], width - 2 * EDGE, caption.top - HEADER[format] - 6)
    return FilmLayout(
        format=format,
        scale=height_px / FULL_PX,
        width=width,
        height=height,
        cells=_cells(area, ratios, zoom, frame_width=width),
        header=Box(MARGIN, 0, width - 2 * MARGIN, HEADER[format]),
        caption=caption,
        chart=Box(MARGIN, top_of_chart, width - 2 * MARGIN, CHART[format]) if chart else None,
        track=track,
    )


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to set the cells out, and how large a picture becomes in it."""

    rows: int
    columns: int
    beside: bool
    height: float
    width: float
    lines: int


def _cells(area: Box, ratios: Sequence[float], zoom: float | None, *, frame_width: float) -> tuple[Cell, ...]:
    count = len(ratios)
    widest = max(ratios)
    extra = 0.0 if zoom is None else zoom
    between = 0.0 if zoom is None else EDGE
    ways = []
    for rows in range(1, count + 1):
        columns = -(-count // rows)
        if -(-count // columns) != rows:
            continue
        room = (area.width - EDGE * (columns - 1)) / columns
        tall = (area.height - EDGE * (rows - 1)) / rows
        for beside in (False, True):
            lines = 2 if rows == 1 or tall > 420 else 1
            across = room - (LABEL_LEAST + GAP + MARGIN if beside else 0) - between
            down = tall - (0 if beside else LABEL_LINES[lines] + 8)
            high = min(down, across / (widest + extra))
            if beside:
                lines = min(MOST_LINES, max(1, int((high - BESIDE_HEAD) / LINE)))
            if high > 0:
                ways.append(_Way(rows, columns, beside, high, high * widest, lines))
    way = max(ways, key=lambda one: (round(one.height), not one.beside, -one.rows))
    return tuple(_cell(area, way, place, extra * way.height, between, frame_width) for place in range(count))


def _cell(area: Box, way: _Way, place: int, zoom_width: float, between: float, frame_width: float) -> Cell:
    row, column = divmod(place, way.columns)
    block = way.width + between + zoom_width
    room = (area.width - EDGE * (way.columns - 1)) / way.columns
    label_width = min(LABEL_MOST, room - block - GAP - (MARGIN - EDGE)) if way.beside else max(block, min(room, 560))
    whole = block + GAP + label_width if way.beside else max(block, label_width)
    high = way.height if way.beside else way.height + LABEL_LINES[way.lines] + 8
    right_end = frame_width - (MARGIN if way.beside else EDGE)  # a label keeps the margin of texts
    across = right_end - area.left
    gap_across = EDGE if whole * way.columns + GAP * (way.columns - 1) > across else GAP
    spare = (area.height - way.rows * high) / (way.rows + 1)
    gap_down = max(EDGE if way.rows > 1 else 0.0, min(GAP, spare))
    spare_across = across - way.columns * whole - gap_across * (way.columns - 1)
    left = area.left + spare_across / 2 + column * (whole + gap_across)
    top = area.top + (area.height - way.rows * high - gap_down * (way.rows - 1)) / 2 + row * (high + gap_down)
    picture = Box(left, top, way.width, way.height)
    zoom = Box(picture.right + between, top, zoom_width, way.height) if zoom_width else None
    if way.beside:
        right = picture.right if zoom is None else zoom.right
        tall = min(way.height, BESIDE_HEAD + LINE * way.lines)
        label = Box(right + GAP, top + (way.height - tall) / 2, label_width, tall)
    else:
        inset = max(0.0, MARGIN - left)  # texts keep the margin of the title, and so do pictures narrower than they
        picture = Box(left + min(inset, whole - block), top, way.width, way.height)
        zoom = Box(picture.right + between, top, zoom_width, way.height) if zoom_width else None
        over = max(0.0, left + max(block, label_width) + MARGIN - frame_width)
        label = Box(left + inset, picture.bottom + 8, max(block, label_width) - inset - over, LABEL_LINES[way.lines])
    inside = way.width >= NARROW
    mark = Box(picture.left, picture.bottom - BAND, way.width, BAND)
    if not inside:
        mark = Box(label.left, label.top, label.width, BAND)
        label = Box(label.left, label.top + BAND, label.width, label.height - BAND)
    return Cell(picture, zoom, label, mark, way.lines)
