"""A view drawn anew in the browser: JSON of what `[views.….tanks]` of a trial file holds, read by the same rules."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from littoral.errors import Fault
from littoral.trial.entries import Drawn
from littoral.trial.model import Pane, Region, Trial, View
from littoral.trial.written.report import Report
from littoral.trial.written.table import Key, Table
from littoral.trial.written.views import read_panes

_KEYS = {"tanks": Key("{ left = { … } }", "a table for each tank in the frame", required=True)}


def read_drawing(text: str, trial: Trial, view: View) -> tuple[tuple[Pane, ...], tuple[Fault, ...]]:
    """Return the panes that a drawing says, and all that is wrong with it; with faults the panes are not to be used."""
    report = Report(where=f"drawing of {view.name}", lines={})
    try:
        values: Any = json.loads(text)
    except ValueError:
        return (), (Fault("is no JSON.", 'Send {"left": {"regions": […]}}.', report.where),)
    root = Table({"tanks": values}, (), keys=_KEYS, kind="a drawing", report=report)
    panes = read_panes(root, tuple(trial.tanks), view.frame_px, trial.stands)
    if not panes and not report.faults:
        report.add(("tanks",), "The drawing shows no tank.", "Draw at least one tank with one region.")
    return panes, report.faults


def write_drawing(panes: Iterable[Pane]) -> str:
    """Return panes as the text that `read_drawing` reads; the same panes give the same text."""
    said: dict[str, Any] = {}
    for pane in panes:
        one: dict[str, Any] = {"regions": [_region(region) for region in pane.regions]}
        if pane.corners_px is not None:
            one["corners"] = [list(point) for point in pane.corners_px]
        if pane.width_cm is not None:
            one["width"] = f"{pane.width_cm!r} cm"
        said[pane.tank] = one
    return json.dumps(said, ensure_ascii=False, sort_keys=True)


def _region(region: Region) -> dict[str, Any]:
    said: dict[str, Any] = {region.kind: region.key, "polygon": [list(point) for point in region.polygon_px]}
    if region.look != "auto":
        said["look"] = region.look
    if region.reflects is not None:
        said["reflects"] = f"{100 * region.reflects!r} %"
    if region.chart is not None:
        said["chart"] = region.chart
    return said


def as_drawn(trial: Trial, drawings: Iterable[Drawn]) -> Trial:
    """Return a trial with its views as drawn last; `drawings` come in the order in which they were made.

    A later drawing replaces all that were to hold from its day on. One that the trial's text has no view or stand for
    any more is left out: the text comes first.
    """
    views = dict(trial.views)
    for drawing in drawings:
        view = views.get(drawing.view)
        if view is None:
            continue
        panes, faults = read_drawing(drawing.panes, trial, view)
        if not faults:
            views[view.key] = _drawn_from(view, drawing.from_day, panes)
    return trial if views == dict(trial.views) else replace(trial, views=views)


def _drawn_from(view: View, from_day: float, panes: tuple[Pane, ...]) -> View:
    if from_day <= 0:  # the whole trial, and all that was photographed before it
        return replace(view, panes=panes, earlier=())
    kept = tuple(one for one in view.earlier if one[0] < from_day)
    before = next((one for until, one in view.earlier if until >= from_day), view.panes)
    return replace(view, panes=panes, earlier=(*kept, (from_day, before)))
