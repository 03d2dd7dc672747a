"""The table of levels: trough and peak of the last week, beside the last test."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.levels import Levels
from littoral.findings.showing import sentence
from littoral.publish.fed_tables import MAIN_NUTRIENTS
from littoral.publish.tables import Table, figure
from littoral.publish.words import nutrient_words, tank_column
from littoral.stats.series import FloatArray
from littoral.trial.model import Trial

LAST_DAYS = 7.0


def nutrients_followed(trial: Trial, levels: Mapping[str, Levels]) -> list[str]:
    """Return the nutrients whose levels are shown: the main ones dosed, and any that was tested or has an uptake."""
    tested = {reading.nutrient for one in levels.values() for reading in one.readings}
    likely = {key for one in levels.values() for key in one.likely_mg_per_l}
    dosed = {
        key
        for bottle in trial.bottles.values()
        for key in (*bottle.content_mg_per_ml, *bottle.content_mg_per_g)
        if key in MAIN_NUTRIENTS
    }
    shown = {key for one in levels.values() for key in one.upper_mg_per_l}
    return [key for key in NUTRIENTS if key in shown and key in tested | likely | dosed]


def levels_table(trial: Trial, levels: Mapping[str, Levels]) -> Table | None:
    """Return trough and peak of each level in the last week, likely and at most, and the last test; mg/L.

    One row for each nutrient and tank, tanks without a stated uptake among them. None where no level is known.
    """
    rows = [
        (f"{nutrient_words(key)}: {tank_column(trial, tank)}", *_ends(one, one.likely_mg_per_l.get(key)),
         *_ends(one, one.upper_mg_per_l[key]), _last_test(one, key))
        for key in nutrients_followed(trial, levels)
        for tank, one in levels.items()
        if key in one.upper_mg_per_l and one.day.size
    ]  # fmt: skip
    if not rows:
        return None
    remarks = "; ".join(dict.fromkeys(remark for one in levels.values() for remark in one.remarks))
    return Table(
        title="Levels in the last week, mg/L",
        columns=("", "likely, trough", "likely, peak", "at most, trough", "at most, peak", "last test"),
        units=("",) * 6,
        rows=tuple(rows),
        note=(
            "Of the last seven days. “Likely” reckons the uptake stated in the trial file (–: none is), “at most” "
            "none; neither is measured, and neither says that a level is safe."
            f"{f' {sentence(remarks)}.' if remarks else ''}"
        ),
    )


def _ends(levels: Levels, values: FloatArray | None) -> tuple[str, str]:
    if values is None:
        return "–", "–"
    last = values[levels.day >= levels.day[-1] - LAST_DAYS]
    return figure(float(last.min()), digits=2), figure(float(last.max()), digits=2)


def _last_test(levels: Levels, nutrient: str) -> str:
    readings = [reading for reading in levels.readings if reading.nutrient == nutrient]
    if not readings:
        return "–"
    last = max(readings, key=lambda reading: reading.day)
    return f"{last.shown} (day {int(last.day)})"
