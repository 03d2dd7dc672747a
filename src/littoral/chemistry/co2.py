"""CO2 of a tank from pH and alkalinity, with its interval; what the air alone would give; the rule of thumb beside it.

The rule "CO2 = 3 x KH x 10^(7 - pH)" reads 10 to 24 % too little at aquarium temperatures, which is the unsafe
direction for animals: it is shown, never used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.chemistry.air import AIR_UATM, air_co2_mg_per_l
from littoral.chemistry.carbonate import (
    PLUMMER,
    Carbonate,
    carbonate_of,
    log_k1,
    log_k2,
    log_kh,
)
from littoral.chemistry.water_errors import require
from littoral.chemistry.weights import formula_weight
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step
from littoral.quantities.hardness import alkalinity_in

PH_ERROR = 0.1
"""A calibrated pen or a drop test read with care; common practice, no source. Many drop tests are worse."""
NOT_CARBONATE = (
    "Holds only where the alkalinity is carbonate. Phosphate buffers, humic acids (peat, wood, active soils) and "
    "borate are titrated with it: then the true CO2 is lower than this figure."
)
CARE = (
    "An estimate is no reason to add gas while animals gasp at the surface or lie still: stop the gas, move the water "
    "and change some of it. At night plants use no CO2. Gas bottles hold pressure: follow the supplier's instructions."
)
"""What to say beside a CO2 estimate."""


@dataclass(frozen=True, slots=True)
class Co2Estimate:
    """CO2 of a water, mg/L, with its interval, what the air alone would keep up, and the rule of thumb's figure.

    `low_mg_per_l` and `high_mg_per_l` are the worst corners of the stated errors of pH and alkalinity.
    """

    co2_mg_per_l: float
    low_mg_per_l: float
    high_mg_per_l: float
    rule_mg_per_l: float
    air_mg_per_l: float
    checks: tuple[CheckRow, ...]
    steps: tuple[Step, ...]

    @property
    def rule_share(self) -> float:
        """What the rule of thumb reads as a share of this estimate: below 1 it under-reads."""
        return self.rule_mg_per_l / self.co2_mg_per_l


def rule_of_thumb_co2_mg_per_l(*, ph: float, alkalinity_meq_per_l: float) -> float:
    """Return 3 x dKH x 10^(7 - pH), mg/L. Common practice, no source; it under-reads. Do not dose gas by it."""
    return float(3.0 * alkalinity_in(alkalinity_meq_per_l, unit="dKH") * 10.0 ** (7.0 - ph))


def _strength(ionic_strength: float | None, alkalinity_meq_per_l: float) -> float:
    return alkalinity_meq_per_l / 1000.0 if ionic_strength is None else ionic_strength


def co2_estimate(
    *,
    ph: float,
    alkalinity_meq_per_l: float,
    temperature_c: float,
    ionic_strength: float | None = None,
    other_alkalinity_meq_per_l: float = 0.0,
    ph_error: float = PH_ERROR,
    alkalinity_error_meq_per_l: float = 0.0,
    air_uatm: float = AIR_UATM,
) -> Co2Estimate:
    """Return a water's CO2 from its pH and alkalinity, with interval, checks and derivation.

    `alkalinity_meq_per_l` as a KH test reads it; `other_alkalinity_meq_per_l` the part that is not carbonate.
    `ionic_strength` in mol/L; None takes it from the alkalinity, as in a water of sodium bicarbonate alone.
    `ph_error` and `alkalinity_error_meq_per_l` are the largest errors of the readings: ±0.1 pH alone is -21 to +26 %.
    Source: Plummer & Busenberg 1982 with Davies' activities; checked against PHREEQC. Raises WaterError.
    """
    require(ph_error, what="the error of the pH reading", low=0.0, high=2.0, why="a worse reading tells nothing")
    require(alkalinity_error_meq_per_l, what="the error of the alkalinity", low=0.0, high=math.inf, unit="meq/L")
    strength = _strength(ionic_strength, alkalinity_meq_per_l)

    def at(ph_here: float, alkalinity_here: float) -> Carbonate:
        return carbonate_of(
            ph=ph_here,
            alkalinity_meq_per_l=alkalinity_here,
            temperature_c=temperature_c,
            ionic_strength=strength,
            other_meq_per_l=other_alkalinity_meq_per_l,
        )

    best = at(ph, alkalinity_meq_per_l)
    least_alkalinity = alkalinity_meq_per_l - alkalinity_error_meq_per_l
    # an alkalinity that may be nothing leaves CO2 that may be nothing
    bare = least_alkalinity - other_alkalinity_meq_per_l <= 0
    low = 0.0 if bare else at(min(ph + ph_error, 14.0), least_alkalinity).co2_mg_per_l
    high = at(max(ph - ph_error, 0.0), alkalinity_meq_per_l + alkalinity_error_meq_per_l).co2_mg_per_l
    rule = rule_of_thumb_co2_mg_per_l(ph=ph, alkalinity_meq_per_l=alkalinity_meq_per_l)
    air = air_co2_mg_per_l(temperature_c=temperature_c, partial_pressure_uatm=air_uatm)
    steps = (
        *_steps(best, ph, alkalinity_meq_per_l, other_alkalinity_meq_per_l, temperature_c, strength, ionic_strength),
        Step(
            "interval from the readings' errors",
            f"pH {ph:g} ± {ph_error:g}, alkalinity {alkalinity_meq_per_l:.4g} ± {alkalinity_error_meq_per_l:.3g} meq/L",
            f"{low:.3g} to {high:.3g} mg/L",
            "worst corners of the stated errors",
        ),
        Step("the rule of thumb, not used", "3 x KH x 10^(7 - pH)", f"{rule:.3g} mg/L", "common practice, no source"),
        Step(
            "what the air alone keeps up",
            f"{air_uatm:g} µatm x 10^{log_kh(temperature_c):.4f} mol/(kg atm) x {formula_weight('CO2'):.3f} g/mol",
            f"{air:.3g} mg/L",
            PLUMMER,
        ),
    )
    checks = _checks(best, rule, ph, temperature_c, other_alkalinity_meq_per_l)
    return Co2Estimate(best.co2_mg_per_l, low, high, rule, air, checks, steps)


def _steps(
    best: Carbonate,
    ph: float,
    alkalinity: float,
    other: float,
    temperature_c: float,
    strength: float,
    given_strength: float | None,
) -> tuple[Step, ...]:
    k1, k2 = log_k1(temperature_c), log_k2(temperature_c)
    from_what = "the ions of the water" if given_strength is not None else "taken from the alkalinity alone"
    carbonate_meq = 1000.0 * (best.bicarbonate_mol_per_l + 2.0 * best.carbonate_mol_per_l)
    return (
        Step("constants of carbonic acid", f"at {temperature_c:g} °C", f"log K1 {k1:.4f}, log K2 {k2:.4f}", PLUMMER),
        Step(
            "activity of a single charge",
            f"log γ = -A (√I / (1 + √I) - 0.3 I), I = {1000 * strength:.3g} mmol/L ({from_what})",
            f"γ {best.gamma:.4f}",
            "Davies' equation",
        ),
        Step(
            "alkalinity that is carbonate",
            f"{alkalinity:.4g} - {other:.3g} meq/L, with H+ and OH- at pH {ph:g}",
            f"{carbonate_meq:.4g} meq/L",
            "charge balance",
        ),
        Step(
            "bicarbonate",
            "carbonate alkalinity / (1 + 2 K2 γ1 / (10^-pH γ2))",
            f"{1000 * best.bicarbonate_mol_per_l:.4g} mmol/L",
            "mass action",
        ),
        Step(
            "CO2",
            f"10^-{ph:g} x {best.gamma:.4f} x {1000 * best.bicarbonate_mol_per_l:.4g} mmol/L / 10^{k1:.4f}"
            f" x {formula_weight('CO2'):.3f} g/mol",
            f"{best.co2_mg_per_l:.4g} mg/L",
            f"mass action, {PLUMMER}",
        ),
    )


def _checks(best: Carbonate, rule: float, ph: float, temperature_c: float, other: float) -> tuple[CheckRow, ...]:
    """Rows about the estimate itself: whether it may be believed, and how far off the rule is."""
    believable = 5.5 <= ph <= 8.2
    return (
        CheckRow(
            what="pH where CO2 follows from it",
            value=ph,
            operator="within 5.5 to 8.2",
            limit=None,
            unit="",
            verdict="holds" if believable else "warns",
            comment="Within the range where this keeps to PHREEQC: to 0.2 % in soft water, to 9 % (high) in hard water."
            if believable
            else "Above pH 8.2 CO2 is a trace and carbonate binds to calcium; below 5.5 alkalinity is a trace.",
            source="PHREEQC, in the tests of this computation",
        ),
        CheckRow(
            what="alkalinity that is not carbonate",
            value=other,
            operator="known",
            limit=None,
            unit="meq/L",
            verdict="holds" if other > 0 else "cannot tell",
            comment=NOT_CARBONATE if other == 0 else f"Taken off before CO2 was computed. {NOT_CARBONATE}",
            source="definition of alkalinity",
        ),
        CheckRow(
            what="rule of thumb against this estimate",
            value=rule / best.co2_mg_per_l,
            operator=">=",
            limit=1.0,
            unit="",
            verdict="holds" if rule >= best.co2_mg_per_l else "warns",
            comment=f"The rule 3 x KH x 10^(7 - pH) reads {100 * rule / best.co2_mg_per_l:.0f} % of this estimate at "
            f"{temperature_c:g} °C. To read too little CO2 is the unsafe direction for animals.",
            source="common practice, no source, against Plummer & Busenberg 1982",
        ),
    )
