"""A source water's report made whole: hardness and alkalinity in every unit, ions, CO2, and what contradicts what."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from littoral.chemistry.activity import (
    HIGHEST_IONIC_STRENGTH,
    ionic_strength_mol_per_l,
    ionic_strength_of_conductivity,
)
from littoral.chemistry.air import air_ph
from littoral.chemistry.co2 import Co2Estimate, co2_estimate
from littoral.chemistry.hardness import alkalinity_of_ions_meq_per_l, hardness_of_ions_mmol_per_l
from littoral.chemistry.ion_balance import IonBalance, ion_balance
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.other_alkalinity import other_alkalinity
from littoral.chemistry.water_errors import WaterError, require, require_levels, require_ph
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step
from littoral.quantities.hardness import alkalinity_in_every_unit, hardness_in_every_unit

HARDNESS_AGREES = 0.1
"""Share by which a stated hardness may differ from calcium plus magnesium; common practice, no source."""
LEAST_PH_ALKALINITY = 0.01
"""meq/L; below this a water's pH says nothing about its CO2, nor air about its pH."""


@dataclass(frozen=True, slots=True)
class WaterReport:
    """What a supplier prints, or a keeper measures, of a source water. None is what is not known.

    Levels in mg/L by nutrient, *as the ion*; `hardness_mmol_per_l` (GH), `alkalinity_meq_per_l` (KH, acid capacity);
    conductivity in µS/cm at 25 °C, which stands in for the ions where the report lists too few for a balance.
    """

    level_mg_per_l: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    hardness_mmol_per_l: float | None = None
    alkalinity_meq_per_l: float | None = None
    ph: float | None = None
    temperature_c: float | None = None
    conductivity_us_per_cm: float | None = None


@dataclass(frozen=True, slots=True)
class WaterPicture:
    """A report made whole. None is what the report leaves open; `levels_mg_per_l` includes what was filled in.

    `hardness` and `alkalinity` are by unit (see `quantities.hardness`); `calcium_to_magnesium` is by mass.
    """

    levels_mg_per_l: Mapping[str, float]
    hardness: Mapping[str, float] | None
    alkalinity: Mapping[str, float] | None
    calcium_to_magnesium: float | None
    ionic_strength_mol_per_l: float
    balance: IonBalance | None
    co2: Co2Estimate | None
    air_ph: float | None
    checks: tuple[CheckRow, ...]
    steps: tuple[Step, ...]


def full_picture(report: WaterReport) -> WaterPicture:
    """Return everything that follows from a report. Raises WaterError where a figure is impossible.

    What is missing is filled in where it follows: magnesium (or calcium) from the hardness and the other, bicarbonate
    from the alkalinity, hardness and alkalinity from the ions. Nothing is assumed otherwise.
    """
    require_levels(report.level_mg_per_l)
    if report.temperature_c is not None:
        why = "the constants are checked there"
        require(report.temperature_c, what="the temperature", low=0.0, high=50.0, unit="°C", why=why)
    levels, steps = dict(report.level_mg_per_l), []
    hardness, hardness_steps = _hardness(report, levels)
    alkalinity, alkalinity_steps = _alkalinity(report, levels)
    steps += hardness_steps + alkalinity_steps
    calcium, magnesium = levels.get("calcium"), levels.get("magnesium")
    ratio = None
    if calcium and magnesium:
        ratio = calcium / magnesium
        steps.append(Step("calcium to magnesium, by mass", f"{calcium:.4g} / {magnesium:.4g}", f"{ratio:.3g} : 1", ""))
    balance = _balance(report, levels)
    strength, strength_step = _ionic_strength(report, levels, complete=balance is not None)
    steps.append(strength_step)
    co2, settled = None, None
    carbonate_known = alkalinity is not None and alkalinity >= LEAST_PH_ALKALINITY and report.temperature_c is not None
    if carbonate_known and strength <= HIGHEST_IONIC_STRENGTH:
        assert alkalinity is not None
        assert report.temperature_c is not None
        # an analysis that lists few ions has at least those of its alkalinity
        used = max(strength, alkalinity / 1000.0)
        settled = air_ph(alkalinity_meq_per_l=alkalinity, temperature_c=report.temperature_c, ionic_strength=used)
        steps.append(Step("pH in balance with air", "CO2 from pH and alkalinity = CO2 of air", f"{settled:.2f}", ""))
        if report.ph is not None:
            other = other_alkalinity(levels, ph=report.ph)
            steps += other.steps
            co2 = co2_estimate(
                ph=report.ph,
                alkalinity_meq_per_l=alkalinity,
                temperature_c=report.temperature_c,
                ionic_strength=used,
                other_alkalinity_meq_per_l=min(other.total_meq_per_l, 0.99 * alkalinity),
            )
    checks = (
        *_agreement(report, hardness, alkalinity),
        *(balance.checks if balance else ()),
        *(co2.checks if co2 else ()),
    )
    return WaterPicture(
        levels_mg_per_l=MappingProxyType(levels),
        hardness=None if hardness is None else MappingProxyType(hardness_in_every_unit(hardness)),
        alkalinity=None if alkalinity is None else MappingProxyType(alkalinity_in_every_unit(alkalinity)),
        calcium_to_magnesium=ratio,
        ionic_strength_mol_per_l=strength,
        balance=balance,
        co2=co2,
        air_ph=settled,
        checks=checks,
        steps=tuple(steps),
    )


def _hardness(report: WaterReport, levels: dict[str, float]) -> tuple[float | None, list[Step]]:
    """General hardness, mmol/L; fills in the one of calcium and magnesium that is missing."""
    stated = report.hardness_mmol_per_l
    known = [key for key in ("calcium", "magnesium") if key in levels]
    if stated is not None:
        require(stated, what="the hardness", low=0.0, high=math.inf, unit="mmol/L")
    if len(known) == 2:
        mmol = hardness_of_ions_mmol_per_l(levels)
        formula = " + ".join(f"{levels[key]:.4g} / {NUTRIENTS[key].weight:.3f}" for key in known)
        return mmol, [Step("hardness from calcium and magnesium", formula, f"{mmol:.4g} mmol/L", "DIN 38409-6")]
    if stated is None or not known:
        return stated, []
    missing = "magnesium" if known == ["calcium"] else "calcium"
    rest = stated - levels[known[0]] / NUTRIENTS[known[0]].weight
    if rest < 0:
        what = f"{known[0]} alone, {levels[known[0]]:g} mg/L, is more than the hardness of {stated:.3g} mmol/L"
        raise WaterError(what=what, right="One of the two is off, or in another unit; look at the report again.")
    levels[missing] = rest * NUTRIENTS[missing].weight
    formula = f"({stated:.4g} mmol/L - {levels[known[0]]:.4g} / {NUTRIENTS[known[0]].weight:.3f}) x "
    formula += f"{NUTRIENTS[missing].weight:.3f} g/mol"
    step = Step(f"{missing} from the hardness", formula, f"{levels[missing]:.3g} mg/L", "a difference of two readings")
    return stated, [step]


def _alkalinity(report: WaterReport, levels: dict[str, float]) -> tuple[float | None, list[Step]]:
    """Alkalinity, meq/L; fills in bicarbonate."""
    stated = report.alkalinity_meq_per_l
    weight = NUTRIENTS["bicarbonate"].weight
    if stated is not None:
        require(stated, what="the alkalinity", low=0.0, high=math.inf, unit="meq/L")
        if "bicarbonate" in levels:
            return stated, []
        levels["bicarbonate"] = stated * weight
        formula = f"{stated:.4g} meq/L x {weight:.3f} g/mol"
        step = Step("bicarbonate from the alkalinity", formula, f"{levels['bicarbonate']:.4g} mg/L", "all as HCO3")
        return stated, [step]
    if "bicarbonate" not in levels:
        return None, []
    meq = alkalinity_of_ions_meq_per_l(levels)
    formula = f"{levels['bicarbonate']:.4g} mg/L / {weight:.3f} g/mol"
    return meq, [Step("alkalinity from bicarbonate", formula, f"{meq:.4g} meq/L", "definition")]


def _ionic_strength(report: WaterReport, levels: Mapping[str, float], *, complete: bool) -> tuple[float, Step]:
    """mol/L: from the ions; or from the conductivity, where the report lists few ions and that comes out higher."""
    strength = ionic_strength_mol_per_l(levels)
    formula, source = "½ Σ c z² over the ions known", "definition"
    if report.conductivity_us_per_cm is not None:
        measured = ionic_strength_of_conductivity(report.conductivity_us_per_cm)
        if measured > strength and not complete:
            strength, source = measured, "Langelier's rule (from memory), good to about 15 %"
            formula = f"1.6e-5 x {report.conductivity_us_per_cm:g} µS/cm"
    return strength, Step("ionic strength", formula, f"{1000 * strength:.3g} mmol/L", source)


def _balance(report: WaterReport, levels: Mapping[str, float]) -> IonBalance | None:
    """The ion balance, where the report lists enough for one: hardness, sodium and the three large anions."""
    if report.ph is not None:
        require_ph(report.ph)
    needed = {"calcium", "magnesium", "sodium", "bicarbonate", "chloride", "sulphate"}
    if not needed <= levels.keys() or not any(levels[key] > 0 for key in needed):
        return None
    return ion_balance(levels, ph=report.ph)


def _agreement(report: WaterReport, hardness: float | None, alkalinity: float | None) -> tuple[CheckRow, ...]:
    rows = []
    stated = report.hardness_mmol_per_l
    if stated is not None and hardness is not None and {"calcium", "magnesium"} <= report.level_mg_per_l.keys():
        apart = abs(hardness - stated) / max(stated, hardness, 1e-9)
        rows.append(
            _row(
                "stated hardness against calcium and magnesium",
                apart,
                HARDNESS_AGREES,
                "of the larger",
                "They should be the same; one may be in another unit (as CaCO3, as CaO).",
                "common practice, no source",
            )
        )
    if report.alkalinity_meq_per_l is not None and "bicarbonate" in report.level_mg_per_l:
        from_ions = alkalinity_of_ions_meq_per_l(report.level_mg_per_l)
        apart = abs(from_ions - report.alkalinity_meq_per_l) / max(from_ions, report.alkalinity_meq_per_l, 1e-9)
        comment = "Below pH 8.3 they should be the same; phosphate or humic acids make the alkalinity larger."
        rows.append(_row("alkalinity against bicarbonate", apart, 0.1, "of the larger", comment, "definition"))
    if hardness is not None and alkalinity is not None:
        comment = (
            "More alkalinity than hardness: sodium or potassium bicarbonate, or a softener. KH above GH is no error."
        )
        row = _row("alkalinity against hardness", alkalinity, 2.0 * hardness, "meq/L", comment, "charge balance")
        rows.append(row)
    return tuple(rows)


def _row(what: str, value: float, limit: float, unit: str, comment: str, source: str) -> CheckRow:
    holds = value <= limit
    return CheckRow(
        what, value, "<=", limit, unit, "holds" if holds else "warns", "As it should be." if holds else comment, source
    )
