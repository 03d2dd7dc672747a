"""The chart under a film's pictures: one line a tank, drawn along with the days, broken where photos are missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from littoral.findings.measured import Measured
from littoral.imaging.results import RegionMeasure
from littoral.publish.arm_line import ArmLine, with_gaps
from littoral.publish.film.drawing import SMOOTH, Pen, polyline
from littoral.publish.film.layout import Box
from littoral.publish.film.options import NO_CHART, FilmOptionError
from littoral.publish.look import DARK, arm_look
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim
from littoral.trial.model import Trial

AXIS = 74
"""Left of the lines, for the axis' numbers."""
ENDS = 76
"""Right of the lines, for the last values once the line has come so far."""
STEPS = (1, 1.2, 1.4, 1.6, 1.8, 2, 2.4, 3, 4, 5, 6, 8, 10, 12)
HEAD = 46
"""Above the lines, for what the chart shows."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmChart:
    """What the chart shows: its words, and each tank's line. `top` is the largest value that the axis reaches."""

    words: str
    lines: tuple[ArmLine, ...]
    top: float


def chart_of(
    trial: Trial, measured: Measured, entries: Sequence[Entry], tanks: Sequence[str], wanted: str = ""
) -> FilmChart | None:
    """Return the chart of a stand's canopy height (else its cover), or of algae on a stone, wood or glass.

    `wanted` is the key of a stand or region; "" takes the first that the primary question is about, and that was
    measured; None where nothing was, or where none is `wanted`. FilmOptionError names a region that there is not.
    """
    if wanted == NO_CHART:
        return None
    known = dict.fromkeys(region.region for photo in measured.photos for region in photo.regions)
    if wanted:
        if wanted not in (*known, *_drawn(trial)):
            raise FilmOptionError(f"No stand or region is called {wanted!r}; there are {', '.join(_drawn(trial))}.")
        return _of(trial, measured, entries, tanks, wanted)
    asked = sorted(trial.questions, key=lambda question: not question.primary)
    keys = [key for question in asked for key in question.of] + [key for key in trial.stands if key in known]
    made = (_of(trial, measured, entries, tanks, key) for key in dict.fromkeys([*keys, *known]))
    return next((one for one in made if one is not None), None)


def _drawn(trial: Trial) -> tuple[str, ...]:
    """Return the keys of all regions drawn on views, cards left out, in order."""
    regions = (region for view in trial.views.values() for pane in view.panes for region in pane.regions)
    return tuple(dict.fromkeys(region.key for region in regions if region.kind != "card"))


def _value(region: RegionMeasure, kind: str) -> float | None:
    if kind == "height":
        return region.height_cm
    share = region.cover if kind == "cover" else region.algae
    return None if share is None else 100 * share


KINDS = (
    ("height", "canopy height of {name}, cm"),
    ("cover", "cover of {name}, % of its region"),
    ("algae", "algae on {name}, % of it"),
)


def _of(trial: Trial, measured: Measured, entries: Sequence[Entry], tanks: Sequence[str], key: str) -> FilmChart | None:
    name = trial.stands[key].name if key in trial.stands else f"the {key}"
    for kind, words in KINDS:
        lines = []
        for tank in tanks:
            days = sorted(
                (photo.day, value)
                for photo in measured.photos
                if not photo.excluded
                for region in photo.regions
                if region.pane == tank and region.region == key and (value := _value(region, kind)) is not None
            )
            if days:
                day, value = np.array(days, dtype=float).T
                breaks = [
                    day_of(entry.at, trial)
                    for entry in entries
                    if entry.tank == tank and isinstance(entry.payload, Trim) and entry.payload.stand in (None, key)
                ]
                lines.append(ArmLine(trial.arm_of(tank).key, tank, day, value, breaks=breaks))
        if lines:
            top = max(float(line.value.max()) for line in lines)
            return FilmChart(words.format(name=name), tuple(lines), _round_up(top))
    return None


def _round_up(value: float) -> float:
    """Return the next number with at most two digits, an even one, above zero."""
    power = 10.0 ** np.floor(np.log10(max(value, 1e-6)))
    return float(next(step * power for step in STEPS if step * power >= 1.02 * value))


class ChartDrawer:
    """Draws the chart once, whole, and gives as much of it as has been."""

    def __init__(self, chart: FilmChart, trial: Trial, box: Box, scale: float) -> None:
        self.chart = chart
        self._trial = trial
        self.plot = Box(box.left + AXIS, box.top + HEAD, box.width - AXIS - ENDS, box.height - HEAD - 8)
        self._scale = scale
        self._box = box
        self._lines = self._drawn_lines()

    def x(self, day: float) -> float:
        """Return where a day lies, in units."""
        return self.plot.left + self.plot.width * min(1.0, max(0.0, day / self._trial.length_days))

    def y(self, value: float) -> float:
        """Return where a value lies, in units."""
        return self.plot.bottom - self.plot.height * min(1.0, max(0.0, value / self.chart.top))

    def ground(self, pen: Pen) -> None:
        """Draw what does not change: words, axis from zero, the baseline's shade."""
        plot = self.plot
        if self._trial.baseline_days > 0:
            pen.box(self.x(0), plot.top, self.x(self._trial.baseline_days), plot.bottom, fill=DARK.shade)
        for part in (0.0, 0.5, 1.0):
            y = self.y(part * self.chart.top)
            pen.box(plot.left, y - 0.75, plot.right, y + 0.75, fill=DARK.line if part == 0 else DARK.grid)
            if part != 0.5:
                pen.write((plot.left - 14, y), f"{part * self.chart.top:g}", size=24, fill=DARK.soft, anchor="rm")
        words = pen.cut(self.chart.words, size=24, width=self._box.width * 0.7)
        pen.write((self._box.left, self._box.top + 24), words, size=24, fill=DARK.soft)

    def until(self, pen: Pen, day: float) -> None:
        """Draw the lines up to a day, each ending in its arm's shape with its last value."""
        left, top = round(self.plot.left * self._scale), round((self.plot.top - 6) * self._scale)
        for line, mask in zip(self.chart.lines, self._lines, strict=True):
            there = line.day[line.day <= day]
            end = round(self.x(float(there[-1])) * self._scale) if there.size else left
            shown = mask.crop((0, 0, min(mask.width, end - left), mask.height))
            if shown.width:
                colour = arm_look(self._trial, line.arm).on_dark
                pen.picture.paste(Image.new("RGB", shown.size, colour), (left, top), shown)
        self._ends(pen, day)

    def _ends(self, pen: Pen, day: float) -> None:
        ends: list[tuple[float, float, float, str]] = []
        for line in self.chart.lines:
            there = np.flatnonzero(line.day <= day)
            if there.size:
                at = int(there[-1])
                ends.append((self.y(float(line.value[at])), float(line.day[at]), float(line.value[at]), line.arm))
        ends.sort()
        taken: list[float] = []
        beside = max((self.x(at) for _, at, _, _ in ends), default=0.0) + 18
        for y, day_at, value, arm in ends:
            look = arm_look(self._trial, arm)
            pen.shape((self.x(day_at), y), look.shape, colour=look.on_dark, size=17)
            where = max(y, taken[-1] + 25) if taken else y
            taken.append(where)
            said = f"{value:.1f}" if self.chart.top < 100 else f"{value:.0f}"
            room = beside + pen.width(said, size=24) <= self._box.right
            place = (beside, where) if room else (beside - 36, where - 18)
            pen.write(place, said, size=24, fill=look.on_dark, anchor="lm" if room else "rm")

    def _drawn_lines(self) -> list[Image.Image]:
        """Return each line's mask at the plot's size, drawn large and shrunk so that its edges are smooth."""
        width = round(self.plot.width * self._scale)
        height = round((self.plot.height + 12) * self._scale)
        masks = []
        for line in self.chart.lines:
            big = Image.new("L", (width * SMOOTH, height * SMOOTH))
            draw = ImageDraw.Draw(big)
            for run in _runs(line):
                points = [
                    (
                        (self.x(day) - self.plot.left) * self._scale * SMOOTH,
                        (self.y(value) - self.plot.top + 6) * self._scale * SMOOTH,
                    )
                    for day, value in run
                ]
                polyline(draw, points, width=3.2 * self._scale * SMOOTH)
            masks.append(big.resize((width, height), Image.Resampling.BOX))
        return masks


def _runs(line: ArmLine) -> list[list[tuple[float, float]]]:
    """Return the stretches of a line between its gaps."""
    runs: list[list[tuple[float, float]]] = [[]]
    for row in with_gaps(line):
        if row["value"] is None or row["day"] is None:
            runs.append([])
        else:
            runs[-1].append((row["day"], row["value"]))
    return [run for run in runs if run]
