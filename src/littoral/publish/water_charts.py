"""Charts of the water: what each arm was fed, and the levels that it led to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.doses import doses_given
from littoral.findings.feeding import DAYS_PER_WEEK, TankFeeding
from littoral.findings.levels import Levels
from littoral.publish.arm_line import ArmLine
from littoral.publish.chart import Chart
from littoral.publish.fed_tables import main_nutrients
from littoral.publish.look import finished
from littoral.publish.panel import Panel, panels_spec
from littoral.publish.water_table import nutrients_followed
from littoral.publish.words import doses_from, nutrient_words, tanks_counted
from littoral.speech.say import say
from littoral.trial.entries import Entry
from littoral.trial.model import Trial


def levels_chart(
    trial: Trial, levels: Mapping[str, Levels], entries: Sequence[Entry] = (), *, width_px: float = 760
) -> Chart | None:
    """Levels in mg/L, one panel per nutrient, from zero: likely and upper lines, readings as ranges, doses as strokes.

    None where no tank's water is known.
    """
    nutrients = nutrients_followed(trial, levels)
    panels = [_levels_panel(trial, levels, entries, nutrient) for nutrient in nutrients]
    if not panels:
        return None
    readings = sum(len(panel.ranges) for panel in panels)
    counted = tanks_counted(trial)
    subtitle = say(
        "mg/L, computed from what went in and out; {readings} readings, {value}. Thick line: "
        "with the stated uptake; thin: without any, the most it can be. Bars: readings, as "
        "their range.",
        readings=readings,
        value=counted,
    )
    caption = say(
        "Levels in mg/L of the ion named, by day since {start:%Y-%m-%d} (day 0); {value}. "
        "The thick line reckons the stated first-order uptake, the thin one none at all; "
        "where no uptake was stated there is one line, without any. {readings} readings are "
        "drawn as the range that the test leaves open. Strokes at the foot are doses that "
        "hold the nutrient. Each panel has its own scale, from zero.",
        start=trial.start,
        value=counted,
        readings=readings,
    )
    said = [_say_levels(trial, levels, nutrient) for nutrient in nutrients]
    alt = say("Line chart of levels in mg/L over {length_days:g} days. ", length_days=trial.length_days) + " ".join(
        said
    )
    title = say("Levels in the water")
    spec = finished(
        panels_spec(trial, panels, width_px=width_px, height_px=200),
        title=title,
        subtitle=subtitle,
        alt=alt,
        width_px=width_px,
        trial=trial,
    )
    return Chart("levels", title, caption, alt, spec)


def feeding_chart(trial: Trial, feeding: Mapping[str, TankFeeding], *, width_px: float = 760) -> Chart | None:
    """What each tank was dosed per week, in mg/L of net volume, from zero; None where nothing was dosed."""
    nutrients = main_nutrients(feeding)
    if not nutrients:
        return None
    panels = [_feeding_panel(trial, feeding, nutrient) for nutrient in nutrients]
    weeks = max(len(fed.week_mg_per_l) for fed in feeding.values())
    counted = tanks_counted(trial)
    last = max(_fed_days(trial, fed) for fed in feeding.values())
    short = "" if last >= weeks * DAYS_PER_WEEK else say("The last week ends with day {last:g}. ", last=last)
    source = doses_from(trial, feeding)
    title = say("Fed per week")
    subtitle = say(
        "mg/L of net volume per week, {source}; {weeks} weeks, {value}.", source=source, weeks=weeks, value=counted
    )
    caption = say(
        "Doses of each week in mg/L of net volume, {source}; what source water brings is not "
        "counted. {weeks} weeks, {value}. {short}Each panel has its own scale, from zero.",
        source=source,
        weeks=weeks,
        value=counted,
        short=short,
    )
    means = (
        f"{say(NUTRIENTS[nutrient].name)}: " + ", ".join(
            f"{trial.tanks[fed.tank].name} {fed.mean_mg_per_l.get(nutrient, 0.0):.3g}" for fed in feeding.values()
        ) + say(" mg/L per week.")
        for nutrient in nutrients
    )  # fmt: skip
    alt = say("Step chart of doses in mg/L per week. Mean since the regimes began: ") + " ".join(means)
    spec = finished(
        panels_spec(trial, panels, width_px=width_px),
        title=title,
        subtitle=subtitle,
        alt=alt,
        width_px=width_px,
        trial=trial,
    )
    return Chart("fed-per-week", title, caption, alt, spec)


def _levels_panel(trial: Trial, levels: Mapping[str, Levels], entries: Sequence[Entry], nutrient: str) -> Panel:
    lines: list[ArmLine] = []
    ranges: list[tuple[str, float, float, float]] = []
    strokes: dict[str, list[float]] = {}
    for arm in trial.arms:
        for tank in arm.tanks:
            one = levels.get(tank)
            if one is None or nutrient not in one.upper_mg_per_l:
                continue
            likely = one.likely_mg_per_l.get(nutrient)
            upper = one.upper_mg_per_l[nutrient]
            if likely is not None:
                lines.append(ArmLine(arm.key, tank, one.day, likely, whole=True))
            lines.append(ArmLine(arm.key, tank, one.day, upper, whole=True, faint=likely is not None))
            ranges += [
                (arm.key, reading.day, reading.low_mg_per_l, reading.high_mg_per_l)
                for reading in one.readings
                if reading.nutrient == nutrient
            ]
            to_day = math.ceil(float(one.day[-1])) if one.day.size else 0
            strokes.setdefault(arm.key, []).extend(_dose_days(trial, entries, tank, nutrient, to_day=to_day))
    highest = max([float(line.value.max()) for line in lines if line.value.size], default=0.0)
    tested = max([high for *_, high in ranges if math.isfinite(high)], default=0.0)
    return Panel(
        title=nutrient_words(nutrient),
        y_title="mg/L",
        y_domain=(0.0, 1.12 * max(highest, tested, 1e-6)),
        lines=lines,
        foot_marks={arm: days for arm, days in strokes.items() if days},
        ranges=ranges,
    )


def _dose_days(trial: Trial, entries: Sequence[Entry], tank: str, nutrient: str, *, to_day: int) -> list[float]:
    """Return the days of doses that hold a nutrient."""
    holds = {
        key
        for key, bottle in trial.bottles.items()
        if bottle.content_mg_per_ml.get(nutrient, 0) > 0 or bottle.content_mg_per_g.get(nutrient, 0) > 0
    }
    return [dose.day for dose in doses_given(trial, entries, tank, to_day=to_day) if dose.of in holds]


def _feeding_panel(trial: Trial, feeding: Mapping[str, TankFeeding], nutrient: str) -> Panel:
    lines = []
    for fed in feeding.values():
        value = np.array([week.get(nutrient, 0.0) for week in fed.week_mg_per_l], dtype=float)
        edges = np.minimum(np.arange(value.size + 1) * DAYS_PER_WEEK, _fed_days(trial, fed))
        day = np.repeat(edges, 2)[1:-1]  # each week is level from its first day to its last
        lines.append(ArmLine(fed.arm, fed.tank, day, np.repeat(value, 2), whole=True))
    highest = max(float(line.value.max()) for line in lines if line.value.size)
    return Panel(nutrient_words(nutrient), "mg/L per week", (0.0, 1.15 * max(highest, 1e-6)), lines)


def _fed_days(trial: Trial, fed: TankFeeding) -> float:
    """Return how many days a tank's feeding was followed, so that a last week can be seen to be short."""
    return trial.baseline_days + fed.weeks * DAYS_PER_WEEK


def _say_levels(trial: Trial, levels: Mapping[str, Levels], nutrient: str) -> str:
    parts = []
    for tank, one in levels.items():
        values = one.likely_mg_per_l.get(nutrient, one.upper_mg_per_l.get(nutrient))
        if values is not None and values.size:
            last = values[one.day >= one.day[-1] - DAYS_PER_WEEK]
            parts.append(
                say(
                    "{name} {last:.3g} to {last_2:.3g}", name=trial.tanks[tank].name, last=last.min(), last_2=last.max()
                )
            )
    return say("{name} in the last week: {parts} mg/L.", name=say(NUTRIENTS[nutrient].name), parts=", ".join(parts))
