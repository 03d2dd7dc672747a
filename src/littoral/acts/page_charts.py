"""The charts of a trial's page: the published ones, each laid out for the widths of screens."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from littoral.publish.chart import Chart

WIDTHS_PX = (340, 720, 1180)
"""A telephone, a tablet, and a desk; the page takes the widest that fits."""


def charts_by_width(draw: Callable[[float], Mapping[str, Chart]]) -> tuple[Mapping[int, Chart], ...]:
    """Return each chart keyed by its width in px; `draw` gives all charts of a trial by key for one width."""
    drawn = {width_px: draw(width_px) for width_px in WIDTHS_PX}
    keys = drawn[WIDTHS_PX[0]]
    return tuple({width_px: charts[key] for width_px, charts in drawn.items()} for key in keys)
