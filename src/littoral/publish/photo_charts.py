"""Charts of what was measured on photos: canopy height, cover, redness and algae, one panel per stand or region."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

from littoral.findings.measured import Measured
from littoral.imaging.results import RegionMeasure
from littoral.publish.arm_line import ArmLine
from littoral.publish.chart import Chart
from littoral.publish.flags import single_flags, usual_kinds
from littoral.publish.look import finished
from littoral.publish.panel import Panel, panels_spec
from littoral.publish.words import line_name, tanks_counted
from littoral.quantities.counting import counted
from littoral.speech.manner import cldr_language
from littoral.speech.say import say
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim
from littoral.trial.model import Trial

Taken = tuple[float, float]
"""A value and its standard error (0 where none is known), in the chart's unit."""


def height_chart(
    trial: Trial, measured: Measured, entries: Sequence[Entry] = (), *, width_px: float = 760
) -> Chart | None:
    """Canopy height of each stand in cm, from zero, trims marked.

    Where a view has no scale it is in px, and shown only if it was asked about: seen from above it means nothing.
    """
    scaled = any(region.height_cm is not None for photo in measured.photos for region in photo.regions)
    if not scaled and not any(question.measure == "height growth" for question in trial.questions):
        return None
    unit = "cm" if scaled else "px"

    def take(region: RegionMeasure) -> Taken | None:
        height = region.height_cm if scaled else region.height_px
        return None if height is None else (height, 0.0)

    return _chart(
        trial,
        measured,
        entries,
        key="canopy-height",
        title=say("Canopy height"),
        unit=unit,
        take=take,
        kinds=("stand",),
        from_zero=True,
        width_px=width_px,
    )


def cover_chart(
    trial: Trial, measured: Measured, entries: Sequence[Entry] = (), *, width_px: float = 760
) -> Chart | None:
    """Cover of each stand: the percentage of its region that is plant, from zero, trims marked."""
    return _chart(
        trial,
        measured,
        entries,
        key="cover",
        title=say("Cover"),
        unit=say("% of its region"),
        take=lambda region: None if region.cover is None else (100 * region.cover, 0.0),
        kinds=("stand",),
        from_zero=True,
        width_px=width_px,
    )


def compactness_chart(
    trial: Trial, measured: Measured, entries: Sequence[Entry] = (), *, width_px: float = 760
) -> Chart | None:
    """Cover per canopy height of the stands asked about, in points per cm, from zero, trims marked."""
    asked = _asked(trial, "compactness")
    if not asked:
        return None
    return _chart(
        trial,
        measured,
        entries,
        key="compactness",
        title=say("Compactness"),
        unit=say("points of cover per cm"),
        take=lambda one: None if one.cover is None or not one.height_cm else (100 * one.cover / one.height_cm, 0.0),
        kinds=("stand",),
        from_zero=True,
        only=asked,
        width_px=width_px,
    )


def redness_chart(
    trial: Trial, measured: Measured, entries: Sequence[Entry] = (), *, width_px: float = 760
) -> Chart | None:
    """Redness (CIELAB a*) of the stands asked about, with the band of 95 % that the camera leaves."""
    asked = _asked(trial, "redness")
    if not asked:
        return None
    return _chart(
        trial,
        measured,
        entries,
        key="redness",
        title=say("Redness"),
        unit="CIELAB a*",
        take=lambda region: None if region.a is None else (region.a, region.colour_error or 0.0),
        kinds=("stand",),
        from_zero=False,
        only=asked,
        width_px=width_px,
    )


def algae_chart(trial: Trial, measured: Measured, *, width_px: float = 760) -> Chart | None:
    """Algae on stone, wood and glass: the percentage of each region that turned green since the first days."""
    return _chart(
        trial,
        measured,
        (),
        key="algae",
        title=say("Algae on stone, wood and glass"),
        unit=say("% of the region"),
        take=lambda region: None if region.algae is None else (100 * region.algae, 0.0),
        kinds=("stone", "wood", "glass"),
        from_zero=True,
        width_px=width_px,
    )


def _asked(trial: Trial, measure: str) -> set[str]:
    """Return the stands that the questions of a measure ask about; none where nothing asks for it."""
    return {key for question in trial.questions if question.measure == measure for key in question.of or trial.stands}


def _chart(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    *,
    key: str,
    title: str,
    unit: str,
    take: Callable[[RegionMeasure], Taken | None],
    kinds: tuple[str, ...],
    from_zero: bool,
    width_px: float,
    only: Iterable[str] | None = None,
) -> Chart | None:
    wanted = None if only is None else set(only)
    panels = []
    said = []
    for region in _regions(measured, kinds):
        if wanted is not None and region not in wanted:
            continue
        trims = _trims(trial, entries, region)
        lines = _lines(trial, measured, region, take, trims)
        if not lines:
            continue
        panels.append(
            Panel(
                title=region_name(trial, region),
                y_title=unit,
                y_domain=_domain(lines, from_zero=from_zero),
                lines=lines,
                head_marks=_by_arm(trial, trims),
            )
        )
        said.append(_say(trial, region, lines, unit))
    if not panels:
        return None
    sample = f"{counted(len({photo.entry_id for photo in measured.photos}), 'photo')}, {tanks_counted(trial)}"
    subtitle = say("{unit}; {sample}. A line breaks where photos are missing.", unit=unit, sample=sample)
    trimmed = any(panel.head_marks for panel in panels)
    flagged = any(line.flagged is not None for panel in panels for line in panel.lines)
    caption = (
        say(
            "{title} in {unit}, by day since {start:%Y-%m-%d} (day 0); {sample}. ",
            title=title,
            unit=unit,
            start=trial.start,
            sample=sample,
        )
        + (
            say("Each panel has its own scale, from zero. ")
            if from_zero
            else say("Each panel has its own scale, not from zero. ")
        )
        + (say("The band is 1.96 standard errors of a photo's colour, camera included. ") if not from_zero else "")
        + (say("Triangles at the top are trims, where the line breaks too. ") if trimmed else "")
        + (say("Hollow points are from photos with something wrong, kept and flagged. ") if flagged else "")
        + (
            say("The shaded days are the baseline, when all tanks had the same regime.")
            if trial.baseline_days > 0
            else ""
        )
    ).strip()
    alt = say(
        "Line chart of {title} in {unit} over {length_days:g} days. ",
        title=title.lower() if cldr_language() == "en" else title,
        unit=unit,
        length_days=trial.length_days,
    ) + " ".join(said)
    spec = finished(
        panels_spec(trial, panels, width_px=width_px),
        title=title,
        subtitle=subtitle,
        alt=alt,
        width_px=width_px,
        trial=trial,
    )
    return Chart(key, title, caption, alt, spec)


def _regions(measured: Measured, kinds: tuple[str, ...]) -> list[str]:
    """Return the regions' keys in the order they were first measured."""
    return list(
        dict.fromkeys(
            region.region for photo in measured.photos for region in photo.regions if region.kind in kinds
        )
    )  # fmt: skip


def _lines(
    trial: Trial,
    measured: Measured,
    region_key: str,
    take: Callable[[RegionMeasure], Taken | None],
    trims: Mapping[str, Sequence[float]],
) -> list[ArmLine]:
    usual = _usual(measured)
    seen: dict[tuple[str, str], list[tuple[float, float, float, bool]]] = {}
    for photo in measured.photos:
        for region in photo.regions:
            taken = take(region) if region.region == region_key else None
            if taken is not None:
                flagged = bool(single_flags((*photo.flags, *region.flags), usual[photo.view]))
                seen.setdefault((region.pane, photo.view), []).append((photo.day, *taken, flagged))
    rows: dict[str, list[tuple[float, float, float, bool]]] = {}
    for (tank, _), some in seen.items():  # where several views show a tank: the one that shows it most often
        if len(some) > len(rows.get(tank, [])):
            rows[tank] = some
    lines = []
    for arm in trial.arms:
        for tank in arm.tanks:
            if tank not in rows:
                continue
            day, value, error, flag = np.array(sorted(rows[tank]), dtype=float).T
            band = error if np.any(error > 0) else None
            lines.append(
                ArmLine(
                    arm=arm.key,
                    tank=tank,
                    day=day,
                    value=value,
                    low=None if band is None else value - 1.96 * band,
                    high=None if band is None else value + 1.96 * band,
                    breaks=trims.get(tank, ()),
                    flagged=flag > 0 if np.any(flag > 0) else None,
                )
            )
    return lines


def _usual(measured: Measured) -> dict[str, frozenset[str]]:
    views = {photo.view for photo in measured.photos}
    return {view: usual_kinds([photo for photo in measured.photos if photo.view == view]) for view in views}


def _domain(lines: Sequence[ArmLine], *, from_zero: bool) -> tuple[float, float]:
    lows = np.concatenate([line.value if line.low is None else line.low for line in lines])
    highs = np.concatenate([line.value if line.high is None else line.high for line in lines])
    low, high = float(lows.min()), float(highs.max())
    if from_zero:
        return 0.0, max(high, 1e-9) * 1.15
    room = max(0.12 * (high - low), 0.5)
    return low - room, high + room


def _trims(trial: Trial, entries: Sequence[Entry], region: str) -> Mapping[str, Sequence[float]]:
    """Return the days on which a stand (or the whole tank) was trimmed, keyed by tank."""
    days: dict[str, list[float]] = {}
    for entry in entries:
        if isinstance(entry.payload, Trim) and entry.payload.stand in (None, region) and entry.tank is not None:
            days.setdefault(entry.tank, []).append(day_of(entry.at, trial))
    return days


def _by_arm(trial: Trial, days: Mapping[str, Sequence[float]]) -> Mapping[str, Sequence[float]]:
    return {
        arm.key: some
        for arm in trial.arms
        if (some := sorted({day for tank in arm.tanks for day in days.get(tank, ())}))
    }


def region_name(trial: Trial, key: str) -> str:
    """Return what a person calls a region: the stand's name, or the key itself for stone, wood and glass."""
    return trial.stands[key].name if key in trial.stands else key


def _say(trial: Trial, region: str, lines: Sequence[ArmLine], unit: str) -> str:
    parts = []
    for line in lines:
        arm = line_name(trial, line.arm)
        parts.append(
            say("{arm} from {value:.3g} to {value_2:.3g}", arm=arm, value=line.value[0], value_2=line.value[-1])
        )
    return f"{region_name(trial, region)}: {', '.join(parts)} {unit}."
