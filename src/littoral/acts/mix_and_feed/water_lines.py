"""The picture of a water as lines to read: degrees, ions, gases and limits, each with its derivation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.acts.mix_and_feed.figures import Figure, figure
from littoral.acts.mix_and_feed.water_form import GasLine, IonLine, UnitLine, Water
from littoral.chemistry.ammonia import ammonia_of
from littoral.chemistry.co2 import Co2Estimate, co2_estimate
from littoral.chemistry.ion_balance import IonBalance
from littoral.chemistry.limit_rows import limit_rows, limit_steps_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.other_alkalinity import other_alkalinity
from littoral.chemistry.oxygen import oxygen_saturation
from littoral.chemistry.unit_traps import unit_trap
from littoral.chemistry.water_report import WaterPicture, WaterReport, full_picture
from littoral.quantities.derivation import Step
from littoral.quantities.hardness import alkalinity_meq_per_l, hardness_mmol_per_l
from littoral.speech.numbers import numeral


@dataclass(frozen=True, slots=True)
class Known:
    """A report, how far its pH may be off, and the air's pressure in atm."""

    report: WaterReport
    ph_error: float
    pressure_atm: float


def picture(known: Known, more_steps: tuple[Step, ...] = ()) -> Water:
    """Return a water's picture as lines; `more_steps` derive levels that were built. Raises WaterError."""
    found = full_picture(known.report)
    co2 = _co2(found, known)
    checks = tuple(row for row in found.checks if co2 is None or found.co2 is None or row not in found.co2.checks)
    hardness = None if found.hardness is None else found.hardness["mmol/L"]
    conditions = {
        "hardness_mmol_per_l": hardness,
        "ph": known.report.ph,
        "temperature_c": known.report.temperature_c,
    }
    limits = limit_rows(found.levels_mg_per_l, **conditions, co2_mg_per_l=None if co2 is None else co2.co2_mg_per_l)
    return Water(
        hardness=_units(found.hardness, "mmol/L", _about(found.steps, "hardness from"), hardness_mmol_per_l),
        alkalinity=_units(found.alkalinity, "meq/L", _about(found.steps, "alkalinity from"), alkalinity_meq_per_l),
        ratio=None
        if found.calcium_to_magnesium is None
        else Figure(
            numeral(f"{found.calcium_to_magnesium:.3g}") + " : 1",
            found.calcium_to_magnesium,
            "",
            _about(found.steps, "calcium to"),
        ),
        ions=_ions(found, (*found.steps, *more_steps)),
        balance=None
        if found.balance is None
        else figure(found.balance.error_percent, "%", steps=found.balance.steps, sign=True),
        gases=_gases(found, known, co2),
        checks=(*checks, *(co2.checks if co2 is not None else ())),
        limits=limits,
        limit_steps=limit_steps_of(found.levels_mg_per_l, rows=limits, **conditions),
    )


def _co2(found: WaterPicture, known: Known) -> Co2Estimate | None:
    """The estimate with the error of the reading that the person states; None where the report says too little."""
    report = known.report
    if found.co2 is None or found.alkalinity is None or report.ph is None or report.temperature_c is None:
        return None
    alkalinity = found.alkalinity["meq/L"]
    other = other_alkalinity(found.levels_mg_per_l, ph=report.ph)
    return co2_estimate(
        ph=report.ph,
        alkalinity_meq_per_l=alkalinity,
        temperature_c=report.temperature_c,
        ionic_strength=max(found.ionic_strength_mol_per_l, alkalinity / 1000.0),
        other_alkalinity_meq_per_l=min(other.total_meq_per_l, 0.99 * alkalinity),
        ph_error=known.ph_error,
    )


def _units(
    by_unit: Mapping[str, float] | None, canonical: str, steps: tuple[Step, ...], worth: object
) -> tuple[UnitLine, ...]:
    if by_unit is None:
        return ()
    assert callable(worth)
    base = by_unit[canonical]
    return tuple(
        UnitLine(
            unit,
            figure(
                value,
                unit,
                steps=(
                    *steps,
                    Step(f"in {unit}", f"{base:.5g} {canonical} / {worth(1.0, unit=unit):.6g}", f"{value:.4g} {unit}",
                         "definition of the degree"),
                ),
                as_is=True,
            ),
        )
        for unit, value in by_unit.items()
    )  # fmt: skip


def _ions(found: WaterPicture, steps: tuple[Step, ...]) -> tuple[IonLine, ...]:
    shares = _shares(found.balance)
    lines = []
    for key, level in found.levels_mg_per_l.items():
        nutrient = NUTRIENTS[key]
        why = tuple(
            step for step in steps if step.what.startswith(f"{key} from") or step.what == f"{nutrient.name} reached"
        ) or (Step(nutrient.name, "as reported", f"{level:g} mg/L", "the report"),)
        charge = shares.get(key)
        lines.append(
            IonLine(
                nutrient=key,
                name=nutrient.name,
                level=figure(level, "mg/L", steps=why),
                charge=None if charge is None else charge[0],
                share=None if charge is None else charge[1],
                trap=unit_trap(key) or "",
            )
        )
    return tuple(lines)


def _shares(balance: IonBalance | None) -> dict[str, tuple[Figure, Figure]]:
    if balance is None:
        return {}
    found = {}
    for side, name in ((balance.cations, "cations"), (balance.anions, "anions")):
        for ion in side:
            steps = tuple(step for step in balance.steps if step.what == ion.name)
            share = Step(f"share of the {name}", f"{ion.meq_per_l:.3f} meq/L of them all", f"{100 * ion.share:.3g} %")
            found[ion.name] = (
                figure(ion.meq_per_l, "meq/L", steps=steps),
                figure(100.0 * ion.share, "%", steps=(*steps, share)),
            )
    return found


def _gases(found: WaterPicture, known: Known, co2: Co2Estimate | None) -> tuple[GasLine, ...]:
    report, lines = known.report, []
    if co2 is not None:
        interval = f"{co2.low_mg_per_l:.3g} to {co2.high_mg_per_l:.3g} mg/L, for a pH reading off by {known.ph_error:g}"
        under = f"{100 * (1 - co2.rule_share):.0f} % {'less' if co2.rule_share < 1 else 'more'}"
        beside = f"the rule of thumb says {co2.rule_mg_per_l:.3g} mg/L, {under.lstrip('-')}; air alone keeps up "
        beside += f"{co2.air_mg_per_l:.2g} mg/L"
        lines.append(GasLine("co2", "CO₂", figure(co2.co2_mg_per_l, "mg/L", steps=co2.steps), interval, beside))
    if found.air_ph is not None:
        steps = _about(found.steps, "pH in balance")
        lines.append(GasLine("air ph", "pH in balance with air", figure(found.air_ph, "", steps=steps), "", ""))
    if report.ph is not None and report.temperature_c is not None and report.level_mg_per_l.get("ammonium"):
        total = report.level_mg_per_l["ammonium"]
        ammonia = ammonia_of(ammonium_mg_per_l=total, ph=report.ph, temperature_c=report.temperature_c)
        beside = f"{100 * ammonia.share:.2g} % of all ammonium and ammonia"
        free = figure(ammonia.unionised_mg_nh3_per_l, "mg/L NH₃", steps=ammonia.steps)
        lines.append(GasLine("ammonia", "un-ionised ammonia", free, "", beside))
    if report.temperature_c is not None:
        oxygen = oxygen_saturation(temperature_c=report.temperature_c, pressure_atm=known.pressure_atm)
        full = figure(oxygen.saturation_mg_per_l, "mg/L", steps=oxygen.steps)
        beside = f"at {known.pressure_atm:.3g} atm; what the water holds in balance with air, not what it has"
        lines.append(GasLine("oxygen", "oxygen at saturation", full, "", beside))
    return tuple(lines)


def _about(steps: tuple[Step, ...], start: str) -> tuple[Step, ...]:
    return tuple(step for step in steps if step.what.startswith(start))
