"""A chart as a still: as large as it fits the size asked for, on light or dark paper."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping

from PIL import Image

from littoral.publish.chart import Chart
from littoral.publish.draw import DrawError, png_of_svg, to_svg
from littoral.publish.look import DARK, LIGHT, on_dark
from littoral.publish.still.options import SIZES, StillOptionError, StillOptions

WIDTHS_PX = (500.0, 760.0, 1100.0)
"""Widths that a chart is laid out for; the one is taken whose letters become largest."""
EDGE_PX = 24


def chart_still(draw: Callable[[float], Mapping[str, Chart]], options: StillOptions) -> tuple[Image.Image, Chart]:
    """Return a chart's picture (RGB) in the size asked for, and the chart; `draw` gives all charts for a width in px.

    StillOptionError names a chart that the trial has not.
    """
    there = draw(WIDTHS_PX[0])
    if options.chart not in there:
        raise StillOptionError(f"The trial has no chart {options.chart!r}; it has {', '.join(there) or 'none yet'}.")
    width, height = SIZES[options.size]
    room = width - 2 * EDGE_PX, height - 2 * EDGE_PX
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
    paper = LIGHT.paper
    if options.paper == "dark":
        paper = DARK.paper
        for light, dark in on_dark().items():
            svg = svg.replace(f'"{light}"', f'"{dark}"')
    with Image.open(io.BytesIO(png_of_svg(svg, scale=fits * options.scale))) as drawn:
        picture = drawn.convert("RGBA")
    canvas = Image.new("RGB", options.pixels, paper)
    at = ((canvas.width - picture.width) // 2, (canvas.height - picture.height) // 2)
    canvas.paste(picture, at, picture)
    return canvas, chart


def _size(svg: str) -> tuple[float, float]:
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    if box is None:
        raise DrawError("the renderer wrote no viewBox")
    return float(box[1]), float(box[2])
