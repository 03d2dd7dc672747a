"""The files of a chart: SVG, PNG and PDF on light paper, SVG and PNG on dark, all from one drawing."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.whole_files import write_whole
from littoral.publish.chart import Chart
from littoral.publish.draw import png_of_svg, svg_to_pdf, to_svg
from littoral.publish.look import for_dark_paper


def write_chart(chart: Chart, folder: Path) -> str:
    """Write a chart's files to `folder`, named by its key, and return its SVG text for light paper.

    Raises DrawError where it cannot be drawn.
    """
    svg = to_svg(chart.spec)
    dark = for_dark_paper(svg)
    files = {
        ".svg": svg.encode(),
        ".png": png_of_svg(svg, scale=2.0),
        ".pdf": svg_to_pdf(svg),
        "-dark.svg": dark.encode(),
        "-dark.png": png_of_svg(dark, scale=2.0),
    }
    for end, content in files.items():
        write_whole(folder / f"{chart.key}{end}", content)
    return svg
