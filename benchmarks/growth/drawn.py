"""Growth as one chart: a panel for each stage, time against entries, both by powers of ten."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from littoral.publish.look import ARM_LOOKS, FONT, LIGHT

SHOWN = {
    "import": "Import everything",
    "answer": "Answer the questions",
    "today's list": "Today's list",
    "page Today, p95": "The page Today",
    "page of the trial, p95": "The trial's page",
    "start-up: littoral today": "Start-up of a command",
}
TANKS_NAMED = "tanks"


def growth_chart(points: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return a Vega-Lite specification: lines join sizes of as many tanks; seconds of one core."""
    tanks = sorted({one["tanks"] for one in points})
    named = [f"{one} {TANKS_NAMED}" for one in tanks]
    values = [
        {"stage": title, "entries": one["entries"], "s": one[stage], "tanks": f"{one['tanks']} {TANKS_NAMED}"}
        for one in points
        for stage, title in SHOWN.items()
        if "entries" in one and stage in one
    ]
    colour = {
        "field": "tanks", "type": "nominal", "title": None, "sort": named,
        "scale": {"domain": named, "range": [look.colour for look in ARM_LOOKS[: len(named)]]},
        "legend": {"orient": "top"},
    }  # fmt: skip
    shape = {
        "field": "tanks", "type": "nominal", "title": None, "sort": named,
        "scale": {"domain": named, "range": [look.shape for look in ARM_LOOKS[: len(named)]]},
    }  # fmt: skip
    x = {
        "field": "entries", "type": "quantitative", "scale": {"type": "log"},
        "axis": {"title": "entries", "format": ",d", "values": [100, 1000, 10_000, 100_000]},
    }  # fmt: skip
    y = {
        "field": "s", "type": "quantitative", "scale": {"type": "log"},
        "axis": {"title": "seconds of one core", "format": "~g", "values": [0.01, 0.1, 1, 10, 100]},
    }  # fmt: skip
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "title": {"text": "How time grows with the logbook", "anchor": "start"},
        "description": "Seconds of one core against the number of entries, for each thing a person does.",
        "data": {"values": values},
        "facet": {"field": "stage", "type": "nominal", "title": None, "sort": list(SHOWN.values())},
        "columns": 3,
        "spec": {
            "width": 190,
            "height": 140,
            "layer": [
                {"mark": {"type": "line", "strokeWidth": 1.6}, "encoding": {"x": x, "y": y, "color": colour}},
                {
                    "mark": {"type": "point", "filled": True, "size": 46, "opacity": 1},
                    "encoding": {"x": x, "y": y, "color": colour, "shape": shape},
                },
            ],
        },
        "background": LIGHT.paper,
        "config": {
            "font": FONT,
            "axis": {
                "labelColor": LIGHT.soft,
                "titleColor": LIGHT.soft,
                "gridColor": LIGHT.grid,
                "domain": False,
                "ticks": False,
                "titleFontWeight": "normal",
            },
            "title": {"color": LIGHT.ink},
            "header": {"labelColor": LIGHT.ink, "labelFontWeight": "bold"},
            "view": {"stroke": None},
        },
    }
