"""The charts of a trial's page: the published ones, each drawn for the widths of screens."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import astuple
from typing import TYPE_CHECKING

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.publish.finding_charts import effect_chart
from littoral.publish.look import ARM_LOOKS, DARK, LIGHT
from littoral.publish.photo_charts import algae_chart, cover_chart, height_chart, redness_chart
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

if TYPE_CHECKING:
    from littoral.publish.chart import Chart

WIDTHS_PX = (340, 720, 1180)
"""A telephone, half a screen or a tablet, and a desk; the page takes the widest that fits."""


def charts_of_page(
    trial: Trial, entries: Sequence[Entry], *, measured: Measured, findings: Sequence[Finding]
) -> tuple[Mapping[int, Chart], ...]:
    """Return every chart of a trial that has something to show, each keyed by its width in px."""
    by_width = [
        {chart.key: chart for chart in _charts(trial, entries, measured, findings, width_px)} for width_px in WIDTHS_PX
    ]
    return tuple({width: charts[key] for width, charts in zip(WIDTHS_PX, by_width, strict=True)} for key in by_width[0])


def colours_on_dark() -> dict[str, str]:
    """Return, for each colour that a chart is drawn with, the one it has on dark paper."""
    pairs = dict(zip(astuple(LIGHT), astuple(DARK), strict=True))
    return pairs | {look.colour: look.on_dark for look in ARM_LOOKS}


def _charts(
    trial: Trial, entries: Sequence[Entry], measured: Measured, findings: Sequence[Finding], width_px: int
) -> list[Chart]:
    if not any(photo.regions for photo in measured.photos):
        return []
    drawn = (
        height_chart(trial, measured, entries, width_px=width_px),
        cover_chart(trial, measured, entries, width_px=width_px),
        redness_chart(trial, measured, entries, width_px=width_px),
        algae_chart(trial, measured, width_px=width_px),
        effect_chart(trial, findings, width_px=width_px),
    )
    return [chart for chart in drawn if chart is not None]
