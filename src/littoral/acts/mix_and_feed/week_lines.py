"""A week as lines to read: doses, levels, labels against real, starting points, a pump's programme."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from littoral.acts.mix_and_feed.bottle_words import SHEETS, TOO_MUCH
from littoral.acts.mix_and_feed.figures import Figure, figure, plain
from littoral.acts.mix_and_feed.tool_lines import given_really
from littoral.acts.mix_and_feed.week_form import DoseLine, LabelLine, LevelLine, PumpLine, StartLine
from littoral.acts.mix_and_feed.week_path import path_of
from littoral.acts.mix_and_feed.week_reading import ReadWeek
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.unit_traps import unit_trap
from littoral.feeding.bottles import Bottle
from littoral.feeding.facts import DoseFacts, LabelFacts, RegimeFacts, regime_facts
from littoral.feeding.pump_programme import pump_programme
from littoral.feeding.regimes import RegimeError, times_per_week, when_words
from littoral.feeding.scaling import scale_regime
from littoral.feeding.starting_points import StartingPoint, starting_points
from littoral.feeding.tools import Tool
from littoral.quantities.derivation import Step
from littoral.quantities.preferred import amounts
from littoral.tank.settled_steps import settled_steps
from littoral.tank.steady_state import Pattern, SteadyState

NEARLY = 0.9
LEAST_PUMP_ML = 0.5  # common practice, no source
MEAN = Step("mean", "the level's integral over one period / its days", "", "closed form between the doses")
PUMP_CARE = (
    "A pump doses whether or not anybody looks, and empties a bottle if a valve sticks: fill no more than the tank "
    "could bear at once."
)
SETTLING = (
    "Levels are arithmetic from what goes in and out, with an uptake that is stated, not measured. A test that "
    "disagrees is to be believed first."
)


def planned_lines(facts: Sequence[DoseFacts], read: ReadWeek) -> tuple[DoseLine, ...]:
    """Return each planned dose as a line, with the row it is from and what its tool really gives."""
    lines = []
    for line, of in zip(dose_lines(facts, read.shelf.bottles), read.doses, strict=True):
        assert line.amount.value is not None
        really = given_really(line.amount.value, read.shelf.tools.get(line.of), read.shelf.sized.get(line.of))
        lines.append(replace(line, amount=replace(line.amount, steps=of.steps), row=of.row, really=really))
    return tuple(lines)


def dose_lines(facts: Sequence[DoseFacts], bottles: Mapping[str, Bottle]) -> tuple[DoseLine, ...]:
    """Return each dose as a line."""
    return tuple(
        DoseLine(
            of=one.dose.of,
            name=bottles[one.dose.of].name,
            written=one.dose.written,
            amount=_amount(one),
            when=one.when,
            adds=tuple(
                (key, figure(mg, "mg/L", steps=tuple(step for step in one.steps if step.what.startswith(f"{key} "))))
                for key, mg in one.adds_mg_per_l.items()
            ),
        )
        for one in facts
    )


def level_lines(read: ReadWeek, facts: RegimeFacts, pattern: Pattern, settled: SteadyState) -> tuple[LevelLine, ...]:
    """Return a line per nutrient that is dosed or in the water."""
    nearly = settled.days_to(NEARLY)
    lines = []
    for i, key in enumerate(pattern.nutrients):
        nutrient, week = NUTRIENTS[key], facts.week_mg_per_l.get(key, 0.0)
        weekly = _week_steps(facts, key, week)
        steps = settled_steps(
            pattern,
            settled,
            key,
            source_mg_per_l=read.source.get(key, 0.0),
            uptake_per_day=read.uptake.get(key, 0.0),
        )
        as_element = Step(
            f"as {nutrient.element}", f"{week:.4g} × {nutrient.element_share:.4f}",
            f"{week * nutrient.element_share:.4g} mg/L", "standard atomic weights",
        )  # fmt: skip
        lines.append(
            LevelLine(
                nutrient=key,
                symbol=nutrient.symbol,
                name=nutrient.name,
                week=figure(week, "mg/L", steps=weekly),
                element=figure(week * nutrient.element_share, f"mg/L {nutrient.element}", steps=(*weekly, as_element)),
                trough=figure(float(settled.trough[i]), "mg/L", steps=steps),
                peak=figure(float(settled.peak[i]), "mg/L", steps=steps),
                mean=figure(float(settled.mean[i]), "mg/L", steps=(*steps, MEAN)),
                settles=_settles(float(nearly[i]), steps),
                trap=unit_trap(key) or "",
                path=path_of(settled, key, uptake_per_day=read.uptake.get(key, 0.0)),
                band=next(((band.low, band.high) for band in read.bands if band.nutrient == key), (None, None)),
            )
        )
    return tuple(lines)


def label_lines(
    facts: Sequence[LabelFacts], bottles: Mapping[str, Bottle], *, net_volume_l: float
) -> tuple[LabelLine, ...]:
    """Return each bottle's real week against its label's."""
    return tuple(
        LabelLine(
            of=one.bottle,
            name=bottles[one.bottle].name,
            real=figure(one.ml_per_week, "mL", steps=one.steps[:1]),
            recommended=None
            if one.recommended_ml_per_week is None
            else figure(one.recommended_ml_per_week, "mL", steps=one.steps[1:2]),
            factor=None if one.factor is None else figure(one.factor, "times", steps=one.steps),
            words=one.words,
            compared=_compared(one, bottles[one.bottle], net_volume_l),
        )
        for one in facts
    )


def _compared(one: LabelFacts, bottle: Bottle, net_volume_l: float) -> tuple[tuple[str, Figure, Figure], ...]:
    def of_week(ml: float, key: str, mg_per_l: float, step: Step) -> Figure:
        formula = f"{ml:.4g} mL × {bottle.content_mg_per_ml[key]:.4g} mg/mL / {net_volume_l:.4g} L"
        adds = Step(f"{key} of that week", formula, f"{mg_per_l:.4g} mg/L", "content of the bottle; net volume")
        return figure(mg_per_l, "mg/L", steps=(step, adds))

    largest = sorted(one.label_mg_per_l, key=lambda key: -one.label_mg_per_l[key])
    ml = one.recommended_ml_per_week or 0.0
    return tuple(
        (
            key,
            of_week(one.ml_per_week, key, one.real_mg_per_l[key], one.steps[0]),
            of_week(ml, key, one.label_mg_per_l[key], one.steps[min(1, len(one.steps) - 1)]),
        )
        for key in largest
    )


def start_lines(read: ReadWeek, week_mg_per_l: Mapping[str, float]) -> tuple[StartLine, ...]:
    """Return the described ways to feed, and where this week lies against each."""
    points = [*starting_points().values(), *([read.light] if read.light is not None else [])]
    return tuple(_start(point, week_mg_per_l) for point in points)


def pump_lines(read: ReadWeek) -> tuple[tuple[PumpLine, ...], str]:
    """Return the programme of a dosing pump, or none and why there is none."""
    least = LEAST_PUMP_ML if read.pump_least_ml is None else read.pump_least_ml
    try:
        rows = pump_programme(read.regime, flow_ml_per_min=read.pump_flow_ml_per_min, least_ml=least)
    except RegimeError as error:
        return (), f"{error.what}. {error.right}"
    why = {(one.dose.of, when_words(one.dose), one.dose.ml): one.steps for one in read.doses}
    lines = tuple(
        PumpLine(
            channel=row.channel,
            of=row.bottle,
            when=row.when,
            clock=row.clock,
            amount=figure(row.ml, "mL", steps=why.get((row.bottle, row.when, row.ml), ()), digits=4),
            seconds=None if row.seconds is None else _seconds(row.ml, row.seconds, read, row.bottle),
            check=row.check,
        )
        for row in rows
    )
    return lines, PUMP_CARE


def scaled_lines(read: ReadWeek) -> tuple[DoseLine, ...]:
    """Return the doses that add the same to another tank; empty where none is named."""
    if read.scale_to_l is None:
        return ()
    scaled = scale_regime(read.regime, from_l=read.net_volume_l, to_l=read.scale_to_l, tools=_large_enough(read))
    facts = regime_facts(scaled.regime, read.shelf.bottles, net_volume_l=read.scale_to_l)
    return tuple(
        DoseLine(
            line.of,
            line.name,
            line.written,
            Figure(line.amount.text, line.amount.value, line.amount.unit, (*scaled.steps, *line.amount.steps)),
            line.when,
            line.adds,
        )
        for line in dose_lines(facts.doses, read.shelf.bottles)
    )


def _large_enough(read: ReadWeek) -> dict[str, Tool]:
    """The tools that can measure every scaled dose of their bottle; the others' doses are given as amounts."""
    assert read.scale_to_l is not None
    factor = read.scale_to_l / read.net_volume_l
    most: dict[str, float] = {}
    for dose in read.regime.doses:
        most[dose.of] = max(most.get(dose.of, 0.0), factor * ((dose.ml if dose.g is None else dose.g) or 0.0))
    return {
        key: tool for key, tool in read.shelf.tools.items() if key in most and most[key] / tool.step <= tool.most_steps
    }


def week_cautions(read: ReadWeek, settled: SteadyState) -> tuple[str, ...]:
    """Return what to take care of with this week."""
    found = [TOO_MUCH, SETTLING]
    endless = [
        NUTRIENTS[key].name for key, peak in zip(settled.nutrients, settled.peak, strict=True) if not np.isfinite(peak)
    ]
    if endless:
        found.append(
            f"Nothing takes {', '.join(endless)} out again: it grows for ever. Change water, or state an uptake. "
            f"Limits are held against what is reached within {read.weeks} weeks."
        )
    if any(bottle.salts() for bottle in read.shelf.bottles.values()):
        found.append(SHEETS)
    return tuple(found)


def _amount(one: DoseFacts) -> Figure:
    value, unit = (one.dose.g, "g") if one.dose.g is not None else (one.dose.ml, "mL")
    assert value is not None
    step = Step("one dose", one.dose.written or "as planned", f"{value:.4g} {unit}", "size of the measure, as stated")
    return figure(value, unit, steps=(step,), digits=4)


def _week_steps(facts: RegimeFacts, key: str, week: float) -> tuple[Step, ...]:
    doses = [one for one in facts.doses if one.adds_mg_per_l.get(key)]
    each = dict.fromkeys(step for one in doses for step in one.steps if step.what.startswith(f"{key} "))
    formula = " + ".join(f"{times_per_week(one.dose):g} × {one.adds_mg_per_l[key]:.4g}" for one in doses)
    return (*each, Step(f"{key} of a week", formula or "nothing given", f"{week:.4g} mg/L", "doses × times a week"))


def _settles(days: float, steps: tuple[Step, ...]) -> Figure:
    if not np.isfinite(days):
        return Figure("never", None, "days", steps)
    why = Step("nine tenths of the way there", "period × ln 0.1 / ln a", f"{days:.3g} days", "geometric series")
    return figure(days, "days", steps=(*steps, why), digits=2)


def _start(point: StartingPoint, week_mg_per_l: Mapping[str, float]) -> StartLine:
    adds, against = [], []
    for key, (low, high) in point.adds_mg_per_l.items():
        adds.append(
            (key, amounts(f"{plain(low, 2)} to {plain(high, 2)} mg/L" if high > low else f"{plain(high, 2)} mg/L"))
        )
        given = week_mg_per_l.get(key, 0.0)
        where = "less" if given < low else "more" if given > high else "within"
        against.append((key, amounts(f"{where} ({plain(given, 2)} mg/L)")))
    return StartLine(point.name, point.what, tuple(adds), tuple(against), point.source)


def _seconds(ml: float, seconds: float, read: ReadWeek, of: str) -> Figure:
    flow = read.pump_flow_ml_per_min[of]
    return figure(
        seconds, "s", steps=(Step("running time", f"{ml:.4g} mL / {flow:.4g} mL/min × 60", f"{seconds:.3g} s"),)
    )
