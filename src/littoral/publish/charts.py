"""All charts of a trial. Each is one specification, drawn alike on the page, in the sheet, as SVG and as PNG."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from littoral.findings.feeding import TankFeeding
from littoral.findings.levels import Levels
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.publish.chart import Chart
from littoral.publish.finding_charts import effect_chart
from littoral.publish.photo_charts import (
    algae_chart,
    compactness_chart,
    cover_chart,
    height_chart,
    redness_chart,
)
from littoral.publish.waiting_chart import waiting_charts
from littoral.publish.water_charts import feeding_chart, levels_chart
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

WIDE_PX = 760
SLIM_PX = 360
"""Widths for a page and for a phone: the same chart, laid out in fewer columns."""


SERIES_CHART = {
    "height growth": "canopy-height",
    "cover growth": "cover",
    "compactness": "compactness",
    "redness": "redness",
    "algae": "algae",
    "regrowth": "canopy-height",
    "algae onset": "algae",
    "cost": "fed-per-week",
}
"""For each measure the chart that shows its series, with gaps and trims; of the others the entries are the series."""


def charts_of(
    trial: Trial,
    *,
    measured: Measured,
    findings: Sequence[Finding],
    levels: Mapping[str, Levels] | None = None,
    feeding: Mapping[str, TankFeeding] | None = None,
    entries: Sequence[Entry] = (),
    width_px: float = WIDE_PX,
) -> dict[str, Chart]:
    """Return the charts of a trial by key, in the order they are read; a chart that would show nothing is left out.

    `entries` bring trims and doses into the charts. `width_px` is the whole chart's width in pixels.
    """
    made = (
        effect_chart(trial, findings, width_px=width_px),
        *waiting_charts(trial, findings, width_px=width_px),
        height_chart(trial, measured, entries, width_px=width_px),
        cover_chart(trial, measured, entries, width_px=width_px),
        compactness_chart(trial, measured, entries, width_px=width_px),
        redness_chart(trial, measured, entries, width_px=width_px),
        algae_chart(trial, measured, width_px=width_px),
        feeding_chart(trial, feeding or {}, width_px=width_px),
        levels_chart(trial, levels or {}, entries, width_px=width_px),
    )
    return {chart.key: chart for chart in made if chart is not None}
