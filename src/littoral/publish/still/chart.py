"""A chart as a still: the trial's title, the chart as large as it fits, and how to read it, on light or dark paper."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping

from PIL import Image

from littoral.publish.chart import Chart
from littoral.publish.draw import DrawError, png_of_svg, to_svg
from littoral.publish.film.drawing import Pen
from littoral.publish.lettering import Lettering
from littoral.publish.look import DARK, LIGHT, Paper, on_dark
from littoral.publish.still.options import SIZES, StillOptionError, StillOptions

WIDTHS_PX = (500.0, 760.0, 1100.0)
"""Widths that a chart is laid out for; the one is taken whose letters become largest."""
EDGE_PX = 24
TITLE_PX = 26.0
"""Size of the trial's title; the chart's own stands larger below it."""
HEAD_PX = 44.0
"""Above the chart, for the trial's title."""
NOTE_PX, NOTE_LINE_PX, MOST_NOTE_LINES = 20.0, 27.0, 5
"""Below the chart, how to read it: size, height and number of its lines."""


def chart_still(
    draw: Callable[[float], Mapping[str, Chart]], options: StillOptions, *, title: str = ""
) -> tuple[Image.Image, Chart]:
    """Return a chart's picture (RGB) in the size asked for, and the chart; `draw` gives all charts for a width in px.

    `title` is the trial's ("" leaves it away); below the chart stands its caption, which says what its marks are.
    StillOptionError names a chart that the trial has not.
    """
    there = draw(WIDTHS_PX[0])
    if options.chart not in there:
        raise StillOptionError(f"The trial has no chart {options.chart!r}; it has {', '.join(there) or 'none yet'}.")
    width, height = SIZES[options.size]
    paper = DARK if options.paper == "dark" else LIGHT
    canvas = Image.new("RGB", options.pixels, paper.paper)
    head_px, foot_px = _words(canvas, options, paper, title=title, note=there[options.chart].caption)
    room = width - 2 * EDGE_PX, height - 2 * EDGE_PX - head_px - foot_px
    best: tuple[float, str, Chart] | None = None
    for laid_out in WIDTHS_PX:
        chart = draw(laid_out)[options.chart]
        svg = to_svg(chart.spec)
        across, down = _size(svg)
        fits = min(room[0] / across, room[1] / down)
        if best is None or fits > best[0]:
            best = fits, svg, chart
    assert best is not None, "there is at least one width"
    fits, svg, chart = best
    if options.paper == "dark":
        for light, dark in on_dark().items():
            svg = svg.replace(f'"{light}"', f'"{dark}"')
    with Image.open(io.BytesIO(png_of_svg(svg, scale=fits * options.scale))) as drawn:
        picture = drawn.convert("RGBA")
    top = round((EDGE_PX + head_px) * options.scale)
    free = canvas.height - top - round((EDGE_PX + foot_px) * options.scale)
    at = ((canvas.width - picture.width) // 2, top + (free - picture.height) // 2)
    canvas.paste(picture, at, picture)
    return canvas, chart


def _words(canvas: Image.Image, options: StillOptions, paper: Paper, *, title: str, note: str) -> tuple[float, float]:
    """Write the trial's title and how to read the chart; return the heights that they take, in px of the format."""
    width, height = SIZES[options.size]
    pen = Pen(canvas, Lettering([title, note]), float(options.scale))
    room = width - 4 * EDGE_PX
    if title:
        words = pen.cut(title, size=TITLE_PX, width=room)
        pen.write((2 * EDGE_PX, EDGE_PX + TITLE_PX), words, size=TITLE_PX, fill=paper.soft)
    lines = pen.lines(note, size=NOTE_PX, width=room, most=MOST_NOTE_LINES) if note else []
    foot_px = len(lines) * NOTE_LINE_PX + (10 if lines else 0)
    for place, line in enumerate(lines):
        y = height - EDGE_PX - (len(lines) - 1 - place) * NOTE_LINE_PX - 4
        pen.write((2 * EDGE_PX, y), line, size=NOTE_PX, fill=paper.soft)
    return (HEAD_PX if title else 0.0), foot_px


def _size(svg: str) -> tuple[float, float]:
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    if box is None:
        raise DrawError("the renderer wrote no viewBox")
    return float(box[1]), float(box[2])
