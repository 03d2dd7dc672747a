"""The progress line at a frame's foot: the trial, its baseline, trims above, water changes below, and where we are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from littoral.publish.film.chart import ChartDrawer
from littoral.publish.film.drawing import Pen
from littoral.publish.film.layout import MARGIN, Box
from littoral.publish.look import DARK, arm_look
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim, WaterChange
from littoral.trial.model import Trial
from littoral.trial.periods import periods_of

LINE = 58
"""How far under the box' top the line lies, in units."""
TRIMS = 44
"""Height above the line for the rows of trims, one for each tank."""
LEAST_APART = 5.0
"""Marks of water changes closer than this run into one: in a long trial they are left out."""


@dataclass(frozen=True, slots=True)
class Events:
    """Days (since the start) of what the progress line marks, keyed by tank."""

    trims: Mapping[str, Sequence[float]] = field(default_factory=dict)
    changes: Mapping[str, Sequence[float]] = field(default_factory=dict)


def events_of(trial: Trial, tanks: Sequence[str], entries: Sequence[Entry]) -> Events:
    """Return the trims and water changes of the tanks that are shown."""
    trims: dict[str, list[float]] = {tank: [] for tank in tanks}
    changes: dict[str, list[float]] = {tank: [] for tank in tanks}
    for entry in entries:
        if entry.tank in trims:
            if isinstance(entry.payload, Trim):
                trims[entry.tank].append(day_of(entry.at, trial))
            elif isinstance(entry.payload, WaterChange):
                changes[entry.tank].append(day_of(entry.at, trial))
    return Events(trims, changes)


def _x(trial: Trial, box: Box, day: float) -> float:
    return box.left + box.width * min(1.0, max(0.0, day / trial.length_days))


def draw_track(pen: Pen, trial: Trial, tanks: Sequence[str], events: Events, box: Box, *, remark: str = "") -> None:
    """Draw what does not change. `remark` is said where the foot has room for it."""
    line = box.top + LINE
    pen.box(box.left, line - 3, box.right, line + 3, fill=DARK.line)
    turns = [period.from_day for period in periods_of(trial)] or [trial.baseline_days]
    if trial.baseline_days > 0:
        pen.box(box.left, line - 3, _x(trial, box, trial.baseline_days), line + 3, fill=DARK.soft)
    for day in turns:
        if day > 0:
            at = _x(trial, box, day)
            pen.box(at - 1, line - 18, at + 1, line + 18, fill=DARK.ink)
    row_high = min(22.0, TRIMS / max(1, len(tanks)))
    for row, tank in enumerate(reversed(tanks)):
        foot = line - 8 - row * row_high  # tanks trimmed on one day stand one over the other
        colour = arm_look(trial, trial.arm_of(tank).key).on_dark
        for day in events.trims.get(tank, ()):
            at = _x(trial, box, day)
            pen.shape((at, foot - row_high / 2 + 2), "triangle-down", colour=colour, size=row_high * 0.9)
    changes = sorted(day for some in events.changes.values() for day in some)
    drawn = len(set(map(int, changes))) * LEAST_APART <= box.width
    for day in changes if drawn else ():
        at = _x(trial, box, day)
        pen.box(at - 1, line + 8, at + 1, line + 18, fill=DARK.soft)
    _words(pen, trial, events, box, remark=remark, changes_drawn=drawn)


def _words(pen: Pen, trial: Trial, events: Events, box: Box, *, remark: str, changes_drawn: bool) -> None:
    y, size = box.top + LINE + 44, 22
    begin = "regimes begin" if not periods_of(trial) else "first period"
    trims, changes = any(events.trims.values()), any(events.changes.values()) and changes_drawn
    parts = (["triangle: trim"] if trims else []) + (["tick below: water change"] if changes else [])
    legend = "; ".join(parts) or remark
    taken = box.left
    for at, said, anchor in (
        (box.left, "start", "ls"),
        (_x(trial, box, trial.baseline_days), begin if trial.baseline_days > 0 else "", "ms"),
        (box.right, legend, "rs"),
    ):
        width = pen.width(said, size=size) if said else 0.0
        left = at if anchor == "ls" else at - width / 2 if anchor == "ms" else at - width
        if anchor == "rs" and left < taken:
            said = pen.cut(said, size=size, width=max(0.0, box.right - taken))
            width = pen.width(said, size=size)
            left = box.right - width
        if not said or (anchor == "ms" and left < taken) or left < MARGIN - 1:
            continue
        pen.write((left, y), said, size=size, fill=DARK.soft)
        taken = left + width + 24


def draw_head(pen: Pen, trial: Trial, box: Box, day: float, chart: ChartDrawer | None) -> None:
    """Draw how far the film is, through the chart above where there is one."""
    x, line = _x(trial, box, day), box.top + LINE
    if chart is not None:
        pen.box(x - 0.75, chart.plot.top, x + 0.75, line, fill=DARK.line)
    pen.box(box.left, line - 3, x, line + 3, fill=DARK.ink)
    pen.shape((x, line), "circle", colour=DARK.ink, size=20)
