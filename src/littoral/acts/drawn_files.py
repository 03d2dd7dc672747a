"""A single chart written where it was asked for, as SVG and PNG."""

from __future__ import annotations

from pathlib import Path

from littoral.errors import extras_needed
from littoral.logbook.whole_files import write_whole
from littoral.publish.chart import Chart
from littoral.publish.draw import to_png, to_svg


@extras_needed()
def write_drawn(chart: Chart | None, *, svg: Path | None, png: Path | None) -> tuple[Path, ...]:
    """Write a chart as asked and return the files, none without a chart. UnwrittenFileError, MissingExtraError."""
    if chart is None:
        return ()
    if svg is not None:
        write_whole(svg, to_svg(chart.spec).encode())
    if png is not None:
        write_whole(png, to_png(chart.spec))
    return tuple(path for path in (svg, png) if path is not None)
