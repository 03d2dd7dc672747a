"""Charts drawn here and put into the page as they are: for pages that keep nothing a script could ask for later."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from littoral.acts.page_charts import WIDTHS_PX
from littoral.errors import MissingExtraError
from littoral.publish.chart import Chart
from littoral.publish.draw import inline_svg, to_svg


@dataclass(frozen=True, slots=True)
class Drawn:
    """A chart ready for the page: one drawing for each width, of which the style sheet shows the one that fits.

    `drawings` are empty where the chart renderer is not installed.
    """

    title: str
    caption: str
    drawings: tuple[tuple[int, Markup], ...]


def drawn(draw: Callable[[float], Chart | None], *, widths_px: tuple[int, ...] = WIDTHS_PX[:2]) -> Drawn | None:
    """Draw a chart for each width, without the title that the page says above it; None where there is no chart."""
    charts = [(width_px, draw(width_px)) for width_px in widths_px]
    there = [(width_px, chart) for width_px, chart in charts if chart is not None]
    if not there:
        return None
    first = there[0][1]
    try:
        drawings = tuple((width_px, _inline(chart, width_px)) for width_px, chart in there)
    except MissingExtraError:
        drawings = ()
    return Drawn(first.title, first.caption, drawings)


def _inline(chart: Chart, width_px: int) -> Markup:
    spec = {key: value for key, value in chart.spec.items() if key != "title"}
    # the renderer's own output, in which every text of ours is escaped
    return Markup(inline_svg(to_svg(spec), prefix=f"{chart.key}-{width_px}", alt=chart.alt))
