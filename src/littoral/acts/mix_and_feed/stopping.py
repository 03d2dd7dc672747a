"""Whether a dose is stopped: published limits it would pass, and fresh water that it would turn brackish."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.acts.mix_and_feed.figures import Stop, plain
from littoral.acts.mix_and_feed.reading import Reading
from littoral.chemistry.limit_rows import dose_passes_limits, limit_rows, limit_steps_of
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.derivation import Step
from littoral.speech.say import say

BRACKISH_MG_PER_L = 1000.0
"""Water with more dissolved salts is no fresh water any more (USGS, from memory)."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What limits depend on: hardness mmol/L, pH, temperature °C; None is what is not known."""

    hardness_mmol_per_l: float | None = None
    ph: float | None = None
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True)
class Stopped:
    """Every row on what a dose does to the tank, and the stop, None where it passes nothing; `steps` derive each limit.

    A step has the name of the row whose limit it derives.
    """

    rows: tuple[CheckRow, ...]
    stop: Stop | None
    steps: tuple[Step, ...] = ()


def read_conditions(reading: Reading, hardness: str, ph: str, temperature: str, *, ph_field: str = "ph") -> Conditions:
    """Return the conditions from the fields "hardness", `ph_field` and "temperature" of a form, each may be empty."""
    celsius = reading.amount("temperature", temperature, "temperature", needed=False)
    if celsius is not None and not 0 <= celsius <= 50:
        reading.wrong(
            "temperature",
            say("is {celsius:g} °C.", celsius=celsius),
            say("Give 0 to 50 °C: water that animals live in."),
        )
    return Conditions(
        reading.amount("hardness", hardness, "hardness", needed=False, above_zero=False),
        reading.number(ph_field, ph, high=14.0, needed=False),
        celsius,
    )


def stopped(
    peak_mg_per_l: Mapping[str, float], before_mg_per_l: Mapping[str, float], here: Conditions, *, anyway: str
) -> Stopped:
    """Return the limit rows of the highest levels, mg/L by nutrient, and whether the dose is stopped on that account.

    `before_mg_per_l` are the levels without the dose: a limit that these pass already stops nothing. `anyway` is the
    person's reason to give it all the same. Raises WaterError for a condition that cannot be.
    """
    known = {
        "hardness_mmol_per_l": here.hardness_mmol_per_l,
        "ph": here.ph,
        "temperature_c": here.temperature_c,
    }
    rows = list(limit_rows(peak_mg_per_l, **known))
    passing = dose_passes_limits(peak_mg_per_l, before_mg_per_l=before_mg_per_l, **known)
    added = {key: level - before_mg_per_l.get(key, 0.0) for key, level in peak_mg_per_l.items()}
    salty = _salt_row(sum(max(mg, 0.0) for mg in added.values()))
    rows.insert(0, salty)
    passed, explanation, steps = list(passing.passed), passing.explanation, list(passing.steps)
    formula = " + ".join(f"{mg:.4g} {key}" for key, mg in added.items() if mg > 0) or "nothing"
    salt_step = Step(salty.what, formula, f"{plain(salty.value or 0.0)} mg/L", salty.source)
    derived = (salt_step, *limit_steps_of(peak_mg_per_l, rows=rows, **known))
    if salty.verdict == "fails":
        steps.insert(0, salt_step)
        passed.insert(0, salty)
        explanation = f"{salty.comment} {explanation if passing.stops else ''}".strip()
    if not passed:
        return Stopped(tuple(rows), None, derived)
    stop = Stop(explanation, tuple(passed), tuple(steps), " ".join(anyway.split()))
    return Stopped(tuple(rows), stop, derived)


def untold(rows: tuple[CheckRow, ...]) -> tuple[str, ...]:
    """Return, as a caution, which limits cannot be told; none where all can."""
    names = [row.what for row in rows if row.verdict == "cannot tell"]
    if not names:
        return ()
    return (
        f"Not held against these limits, for want of hardness, pH, temperature or another figure: {'; '.join(names)}.",
    )


def _salt_row(mg_per_l: float) -> CheckRow:
    verdict: Verdict = "holds" if mg_per_l <= BRACKISH_MG_PER_L else "fails"
    comment = "Fresh water stays fresh. What it adds of each nutrient is what counts."
    if verdict == "fails":
        comment = (
            f"It would add {plain(mg_per_l)} mg of salts to each litre: that turns fresh water brackish and kills. "
            "Look at the units of the dose and of the tank."
        )
    source = "fresh water has less than 1000 mg/L of dissolved salts: USGS, from memory"
    return CheckRow("salts added", mg_per_l, "<=", BRACKISH_MG_PER_L, "mg/L", verdict, comment, source)
