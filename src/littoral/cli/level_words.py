"""What the command on levels prints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from littoral.chemistry.known_standard import KnownStandard, known_standard
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.reading_methods import reading_methods
from littoral.cli.lines import checks_table, table, why_steps, wrapped
from littoral.errors import Fault, FaultsError
from littoral.findings.estimates.model import Estimates
from littoral.publish.level_words import (
    chance_of_leaving,
    day_words,
    mg,
    removal_words,
    way_words,
    with_doubt,
)
from littoral.publish.levels_json import bands_json
from littoral.quantities.amounts import AmountError, parse_amount
from littoral.tank.alarms import WATCH
from littoral.tank.fit.forecast import Bands, Estimate
from littoral.tank.fit.sensitivity import Sensitivity
from littoral.trial.model import Trial

MOST_TESTS = 5


@dataclass(frozen=True, slots=True)
class StandardWritten:
    """A recipe of a known standard as text and as plain data."""

    text: str
    as_json: dict[str, Any]


def levels_text(trial: Trial, estimates: Estimates) -> str:
    """Return all estimates of a trial as tables and sentences."""
    parts = [_levels_table(trial, estimates), *(_removal_lines(trial, estimates))]
    if estimates.narrowing:
        parts.append(_narrowing_table(trial, estimates))
    parts.append(_tests_table(trial, estimates))
    flagged = [one for level in estimates.levels for one in level.results if one.surprise.flagged]
    parts += [wrapped(f"Asked: {one.surprise.ask}", indent="") for one in flagged]
    parts += _alarm_lines(trial, estimates)
    parts += [
        checks_table(f"{trial.tanks[tank].name}: water changes by conductivity", rows, whole=False)
        for tank, rows in estimates.changes.items()
    ]
    parts += [
        wrapped(f"{trial.tanks[tank].name}, by {row.by}: {row.comment}", indent="")
        for tank, rows in estimates.limiting.items()
        for row in rows
    ]
    parts += [wrapped(f"Taken for granted: {remark}.", indent="") for remark in estimates.remarks]
    parts.append(_mixing_line(estimates))
    return "\n\n".join(part for part in parts if part)


def what_if_text(trial: Trial, estimates: Estimates, other: Sequence[Bands]) -> str:
    """Return what another regime would do, beside what is planned."""
    rows = []
    for bands in other:
        planned = estimates.of(bands.tank, bands.nutrient)
        rows.append(
            (
                trial.tanks[bands.tank].name,
                NUTRIENTS[bands.nutrient].name,
                _range(_last(planned.bands)),
                _range(_last(bands)),
                _percent(chance_of_leaving(planned)),
                _percent(None if bands.left_band is None else float(bands.left_band[-1])),
            )
        )
    columns = (
        "tank",
        "of",
        ">as planned, mg/L",
        ">fed otherwise, mg/L",
        ">leaves its band",
        ">fed otherwise",
    )
    title = f"In two weeks ({day_words(trial, estimates.to_day)}), 90 in 100; nothing is noted"
    return table(title, columns, rows)


def what_if_json(other: Sequence[Bands]) -> list[dict[str, Any]]:
    """Return the levels under another regime as plain data."""
    return [{"tank": bands.tank, "nutrient": bands.nutrient, "bands": bands_json(bands)} for bands in other]


def shifts_table(trial: Trial, shifts: Sequence[Sensitivity]) -> str:
    """Return how far each level of today moves with other priors."""
    rows = (
        (
            trial.tanks[one.tank].name, NUTRIENTS[one.nutrient].name, _range(one.fitted), _range(one.narrow),
            _range(one.wide), "hangs on what was taken beforehand" if one.prior_bound else "rests on the record",
        )
        for one in shifts
    )  # fmt: skip
    columns = (
        "tank",
        "of",
        ">as fitted, mg/L",
        ">priors half as wide",
        ">twice as wide",
        "",
    )
    return table("Now, with what is taken beforehand made narrower and wider", columns, rows)


def shifts_json(shifts: Sequence[Sensitivity]) -> list[dict[str, Any]]:
    """Return the shifts as plain data."""
    return [
        {
            "tank": one.tank,
            "nutrient": one.nutrient,
            "shift": one.shift,
            "prior_bound": one.prior_bound,
        }
        for one in shifts
    ]


def methods_table() -> str:
    """Return the kinds of tests that `[methods.…]` of a trial file can name."""
    rows = (
        (
            one.key,
            one.of,
            one.form,
            ", ".join(f"{step:g}" for step in one.steps),
            f"{one.detection_limit:g}",
        )
        for one in reading_methods().values()
    )
    return table(
        "Kinds of tests",
        ("kind", "of", "reads in", "steps", ">tells from nothing"),
        rows,
    )


def standard_written(asked: str) -> StandardWritten:
    """Return how to make a standard, asked for as "nitrate" or "nitrate 10 mg/L". Raises FaultsError, StockError."""
    nutrient, _, amount = asked.strip().partition(" ")
    try:
        target = parse_amount(amount, kind="concentration") if amount.strip() else None
    except AmountError as error:
        raise FaultsError([Fault(f'"{amount}": {error.reason}.', error.right, "--standard")]) from None
    made = known_standard(nutrient.casefold(), target_mg_per_l=target)
    return StandardWritten(_standard_text(made), _standard_json(made))


def _standard_text(made: KnownStandard) -> str:
    head = f"A standard of {made.mg_per_l:.4g} mg/L {NUTRIENTS[made.nutrient].name}, ± {100 * made.relative_sd:.2g} %"
    lines = [f"  {place}. {line}" for place, line in enumerate(made.lines, 1)]
    return "\n".join([head, *lines, wrapped(made.caution, indent=""), why_steps("why:", made.steps)])


def _standard_json(made: KnownStandard) -> dict[str, Any]:
    return {
        "nutrient": made.nutrient,
        "mg_per_l": made.mg_per_l,
        "relative_sd": made.relative_sd,
        "salt": made.salt,
        "grams": made.grams,
        "stock_l": made.stock_l,
        "take_ml": made.take_ml,
        "diluted_l": made.diluted_l,
        "lines": list(made.lines),
        "caution": made.caution,
    }


def _levels_table(trial: Trial, estimates: Estimates) -> str:
    rows = []
    for one in estimates.levels:
        chance = chance_of_leaving(one)
        rows.append(
            (
                trial.tanks[one.tank].name,
                NUTRIENTS[one.nutrient].name,
                "–" if one.before_change is None else _range(one.before_change[1]),
                _range(one.now),
                "–" if one.before_next is None else _range(one.before_next[1]),
                _percent(chance),
                str(len(one.results)) if one.results else "none",
            )
        )
    columns = (
        "tank",
        "of",
        ">before last change",
        ">now",
        ">before next change",
        ">leaves its band",
        ">readings",
    )
    now = "the record ends with" if estimates.ended else "now is"
    title = f"{trial.title}: levels in mg/L (90 in 100), {now} {day_words(trial, estimates.last_day)}"
    return table(title, columns, rows)


def _removal_lines(trial: Trial, estimates: Estimates) -> list[str]:
    return [
        wrapped(
            f"{trial.tanks[one.tank].name}, {NUTRIENTS[one.nutrient].name}: {removal_words(one.net_removal)}",
            indent="",
        )
        for one in estimates.levels
        if not one.without_readings
    ]


def _narrowing_table(trial: Trial, estimates: Estimates) -> str:
    rows = [
        (
            trial.tanks[one.tank].name, NUTRIENTS[one.nutrient].name, f"{week} weeks", day_words(trial, day),
            with_doubt(known), f"{mg(known.high_90 - known.low_90)} mg/L",
            "–" if mg(known.median) == "0" else f"{100 * (known.high_90 - known.low_90) / known.median:.0f} %",
        )
        for one in estimates.narrowing
        for week, day, known in zip(one.weeks, one.day, one.estimate, strict=True)
    ]  # fmt: skip
    columns = (
        "tank",
        "of",
        "known after",
        "just before the change of",
        "level",
        ">width",
        ">of the level",
    )
    return table("How the band narrowed as tests came in", columns, rows)


def _tests_table(trial: Trial, estimates: Estimates) -> str:
    rows = [
        (
            trial.tanks[worth.candidate.tank].name, way_words(worth.candidate.method),
            day_words(trial, worth.candidate.day),
            f"{mg(worth.width_now)} mg/L", f"{mg(worth.width_after)} mg/L",
        )
        for worth in estimates.next_tests[:MOST_TESTS]
    ]  # fmt: skip
    if not rows:
        return ""
    columns = ("tank", "test", "when", ">band now", ">after it, about")
    return table(
        "The tests most worth doing, for the level before the next change",
        columns,
        rows,
    )


def _alarm_lines(trial: Trial, estimates: Estimates) -> list[str]:
    lines, held = [], 0
    for tank, alarms in estimates.alarms.items():
        for alarm in alarms:
            if alarm.passes:
                when = "" if alarm.may_pass_day is None else f" from {day_words(trial, alarm.may_pass_day)} on"
                text = (
                    f"LOOK {trial.tanks[tank].name}, {alarm.row.what}{when}: {alarm.row.comment} [{alarm.row.source}]"
                )
                lines.append(wrapped(text, indent=""))
            else:
                held += 1
    if lines:
        lines.append(wrapped(WATCH, indent=""))
    if held:
        lines.append(wrapped(
            f"{held} published figures are held against these levels and are not likely passed within two weeks; "
            "--json lists them. They are no promise that all is well: watch the animals.", indent="",
        ))  # fmt: skip
    return lines


def _mixing_line(estimates: Estimates) -> str:
    fits = estimates.posterior.fits
    worst, fewest = (
        max(fit.mixing.r_hat for fit in fits),
        min(fit.mixing.effective_draws for fit in fits),
    )
    text = f"Behind it: {len(fits)} fits, R-hat at most {worst:.3f}, at least {fewest:.0f} effective draws"
    return text + ("." if estimates.posterior.settled else "; NOT settled, so trust the bands less.")


def _range(one: Estimate) -> str:
    return f"{mg(one.median)} ({mg(one.low_90)}-{mg(one.high_90)})"


def _last(bands: Bands) -> Estimate:
    return Estimate(*(float(getattr(bands, name)[-1]) for name in ("median", "low_50", "high_50", "low_90", "high_90")))


def _percent(chance: float | None) -> str:
    return "–" if chance is None else f"{100 * chance:.0f} %"
