"""Levels against published limits, as rows; and whether a dose would pass one before the next water change.

Words: a level is "below" or "above" a named published figure. Nothing here says that a level does no harm, and nothing
replaces watching the animals, the product's safety data sheet, or advice of a qualified person.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.chemistry.ammonia import ammonia_of
from littoral.chemistry.hardness import hardness_of_ions_mmol_per_l
from littoral.chemistry.limits import NOT_AN_AQUARIUM_LIMIT, Limit, LimitHere, WaterConditions, limit_here, limits
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import require, require_levels
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class DosePassing:
    """What a dose does to published limits: `passed` anew, `already` passed before it, `open` where it cannot be told.

    `explanation` is for the person; `steps` derive each limit that is passed.
    """

    passed: tuple[CheckRow, ...]
    already: tuple[CheckRow, ...]
    open: tuple[CheckRow, ...]
    explanation: str
    steps: tuple[Step, ...]

    @property
    def stops(self) -> bool:
        """Whether the dose needs a deliberate override."""
        return bool(self.passed)

    @property
    def stops_at_once(self) -> bool:
        """Whether a limit for short exposure is among those passed."""
        return any(row.verdict == "fails" for row in self.passed)


def limit_rows(
    level_mg_per_l: Mapping[str, float],
    *,
    hardness_mmol_per_l: float | None = None,
    ph: float | None = None,
    temperature_c: float | None = None,
    doc_mg_per_l: float | None = None,
    co2_mg_per_l: float | None = None,
    oxygen_mg_per_l: float | None = None,
) -> tuple[CheckRow, ...]:
    """Return one row per published limit of whatever is known of a water; levels in mg/L by nutrient, *as the ion*.

    Values and limits are in the unit the source states. Verdicts: "holds" below the limit, "warns" above one for long
    exposure, "fails" above one for short exposure, "cannot tell" where the limit needs a condition that is not given.
    Hardness is taken from calcium and magnesium where it is not given. Raises WaterError.
    """
    conditions = _conditions(level_mg_per_l, hardness_mmol_per_l, ph, temperature_c, doc_mg_per_l)
    known = _known(level_mg_per_l, co2_mg_per_l, oxygen_mg_per_l)
    return tuple(
        _row(limit, known[_of(limit)], limit_here(limit, conditions), conditions)
        for limit in limits()
        if _of(limit) in known
    )


def limit_steps(
    *,
    hardness_mmol_per_l: float | None = None,
    ph: float | None = None,
    temperature_c: float | None = None,
    chloride_mg_per_l: float | None = None,
    doc_mg_per_l: float | None = None,
    rows: Sequence[CheckRow] | None = None,
) -> tuple[Step, ...]:
    """Return how each limit of the table comes out in a water of these conditions; with `rows` only the limits of them.

    Raises WaterError.
    """
    conditions = WaterConditions(hardness_mmol_per_l, ph, temperature_c, chloride_mg_per_l, doc_mg_per_l)
    named = None if rows is None else {row.what for row in rows}
    return tuple(
        _step(limit, limit_here(limit, conditions)) for limit in limits() if named is None or limit.key in named
    )


def limit_steps_of(
    level_mg_per_l: Mapping[str, float],
    *,
    rows: Sequence[CheckRow],
    hardness_mmol_per_l: float | None = None,
    ph: float | None = None,
    temperature_c: float | None = None,
    doc_mg_per_l: float | None = None,
) -> tuple[Step, ...]:
    """Return how the limits of `rows` come about, where `limit_rows` has made them of these levels, mg/L by nutrient.

    Chloride, and hardness where it is not given, are those of the levels, as there. Raises WaterError.
    """
    here = _conditions(level_mg_per_l, hardness_mmol_per_l, ph, temperature_c, doc_mg_per_l)
    return limit_steps(
        hardness_mmol_per_l=here.hardness_mmol_per_l,
        ph=here.ph,
        temperature_c=here.temperature_c,
        chloride_mg_per_l=here.chloride_mg_per_l,
        doc_mg_per_l=here.doc_mg_per_l,
        rows=rows,
    )


def dose_passes_limits(
    peak_mg_per_l: Mapping[str, float],
    *,
    before_mg_per_l: Mapping[str, float],
    hardness_mmol_per_l: float | None = None,
    ph: float | None = None,
    temperature_c: float | None = None,
    doc_mg_per_l: float | None = None,
) -> DosePassing:
    """Return which limits a dose would pass on the way to the next water change.

    `peak_mg_per_l` are the highest levels until then with the dose, `before_mg_per_l` those without it, both mg/L by
    nutrient (see `tank.balance`); a nutrient missing from one counts as zero there. Raises WaterError.
    """
    require_levels(before_mg_per_l)
    keys = dict.fromkeys((*peak_mg_per_l, *before_mg_per_l))
    conditions = _conditions(peak_mg_per_l, hardness_mmol_per_l, ph, temperature_c, doc_mg_per_l)

    def rows(levels: Mapping[str, float]) -> tuple[CheckRow, ...]:
        # one set of conditions for both, so that a limit does not move with the dose itself
        known = _known({key: levels.get(key, 0.0) for key in keys}, None, None)
        return tuple(
            _row(limit, known[_of(limit)], limit_here(limit, conditions), conditions)
            for limit in limits()
            if _of(limit) in known
        )

    passed: list[CheckRow] = []
    already: list[CheckRow] = []
    open_rows: list[CheckRow] = []
    for after, without in zip(rows(peak_mg_per_l), rows(before_mg_per_l), strict=True):
        if after.verdict == "cannot tell":
            open_rows.append(after)
        elif after.verdict != "holds":
            (already if without.verdict == after.verdict else passed).append(after)
    passed.sort(key=lambda row: row.verdict != "fails")
    named = {row.what for row in passed}
    steps = tuple(_step(limit, limit_here(limit, conditions)) for limit in limits() if limit.key in named)
    return DosePassing(tuple(passed), tuple(already), tuple(open_rows), _explanation(passed, already, open_rows), steps)


def _conditions(
    levels: Mapping[str, float],
    hardness: float | None,
    ph: float | None,
    temperature_c: float | None,
    doc_mg_per_l: float | None,
) -> WaterConditions:
    require_levels(levels)
    if hardness is None and {"calcium", "magnesium"} <= levels.keys():
        hardness = hardness_of_ions_mmol_per_l(levels)
    found = WaterConditions(hardness, ph, temperature_c, levels.get("chloride"), doc_mg_per_l)
    found.check()
    return found


def _known(levels: Mapping[str, float], co2: float | None, oxygen: float | None) -> dict[str, float]:
    """Levels in mg/L by what they are of, with CO2 and oxygen beside them."""
    known = dict(levels)
    for key, value in (("co2", co2), ("oxygen", oxygen)):
        if value is not None:
            known[key] = require(value, what=f"the {key.replace('co2', 'CO2')}", low=0.0, high=1e4, unit="mg/L")
    return known


def _of(limit: Limit) -> str:
    return "ammonium" if limit.analyte in ("ammonia", "un-ionised ammonia") else limit.analyte


def _stated(limit: Limit, mg_per_l: float, conditions: WaterConditions) -> float | None:
    """A level in mg/L as the ion, in the unit and form in which the limit is stated; None where that needs more."""
    if limit.analyte == "un-ionised ammonia":
        ph, t = conditions.ph, conditions.temperature_c
        if ph is None or t is None:
            return None
        return ammonia_of(ammonium_mg_per_l=mg_per_l, ph=ph, temperature_c=t).unionised_mg_nh3_per_l
    if limit.stated_as == "N":
        mg_per_l *= NUTRIENTS[_of(limit)].element_share
    return 1000.0 * mg_per_l if limit.unit.startswith("µg") else mg_per_l


def _row(limit: Limit, mg_per_l: float, here: LimitHere, conditions: WaterConditions) -> CheckRow:
    value = _stated(limit, mg_per_l, conditions)
    missing = here.missing
    if value is None:
        missing = "pH" if conditions.ph is None else "temperature"
    tail = f"It protects {limit.protects}. {limit.note} {NOT_AN_AQUARIUM_LIMIT}".replace("  ", " ")
    if value is None or here.value is None:
        comment = f"Needs {missing}. {tail}"
        return CheckRow(limit.key, value, limit.operator, here.value, limit.unit, "cannot tell", comment, limit.cited)
    holds = value <= here.value if limit.operator == "<=" else value >= here.value
    verdict: Verdict = "holds" if holds else "warns" if limit.term == "long" else "fails"
    over = value > here.value
    side = "above" if over else "below" if value < here.value else "at"
    comment = f"{_plain(value)} is {side} this published figure of {_plain(here.value)} {limit.unit}. {tail}"
    return CheckRow(limit.key, value, limit.operator, here.value, limit.unit, verdict, comment, limit.cited)


def _step(limit: Limit, here: LimitHere) -> Step:
    result = f"cannot tell without {here.missing}" if here.value is None else f"{here.value:.4g} {limit.unit}"
    formula = "the same in every water" if limit.rule == "constant" else here.formula or "not computed"
    return Step(limit.key, formula, result, limit.cited)


def _explanation(passed: list[CheckRow], already: list[CheckRow], open_rows: list[CheckRow]) -> str:
    sentences = []
    for row in passed:
        assert row.value is not None
        assert row.limit is not None
        term = "short" if row.verdict == "fails" else "long"
        sentences.append(
            f"The dose brings {row.what.split(',')[0]} to {_plain(row.value)} {row.unit}, above the published "
            f"{_plain(row.limit)} {row.unit} for {term} exposure ({row.what})."
        )
    if already:
        sentences.append(f"Already above before it: {'; '.join(row.what for row in already)}.")
    if open_rows:
        sentences.append(f"Cannot be told: {'; '.join(row.what for row in open_rows)}.")
    if passed:
        sentences.append(
            f"{NOT_AN_AQUARIUM_LIMIT} To give it all the same, say so deliberately, with a reason; it is kept with the "
            "result."
        )
    return " ".join(sentences) or "The dose passes none of the published figures in the table."


def _plain(number: float | None) -> str:
    """Return a number with three digits that count, never as a power of ten."""
    return "–" if number is None else f"{number:.0f}" if abs(number) >= 100 else f"{number:.3g}"
