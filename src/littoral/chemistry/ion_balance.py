"""The ion balance of a water analysis: cations against anions, in meq/L, and how far apart they may be.

A water carries no charge; so what the sums lack of each other is error, or an ion nobody measured. Two conventions are
in use and differ by a factor of two: the difference over the *sum* of both (Standard Methods, PHREEQC), and over *half*
the sum (German practice, DVWK 128/1992, DIN 38402-62). Both are shown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.charges import CHARGES
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import WaterError, require, require_levels, require_ph
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.derivation import Step

STANDARD_METHODS = "Standard Methods 1030 E (from memory)"
GERMAN = "DVWK 128/1992, as quoted by a hydrochemist's page; DIN 38402-62 has the same form"


@dataclass(frozen=True, slots=True)
class IonShare:
    """One ion of a balance: its charge per litre in meq/L (never negative), and its share (0 to 1) of its side."""

    name: str
    meq_per_l: float
    share: float


@dataclass(frozen=True, slots=True)
class IonBalance:
    """Both sides of a water's charge, the larger ions first, with checks and derivation. Sums in meq/L."""

    cations: tuple[IonShare, ...]
    anions: tuple[IonShare, ...]
    checks: tuple[CheckRow, ...]
    steps: tuple[Step, ...]

    @property
    def cation_sum_meq_per_l(self) -> float:
        """Sum of the cations, meq/L."""
        return sum(ion.meq_per_l for ion in self.cations)

    @property
    def anion_sum_meq_per_l(self) -> float:
        """Sum of the anions, meq/L."""
        return sum(ion.meq_per_l for ion in self.anions)

    @property
    def error_percent(self) -> float:
        """100 (cations - anions) / (cations + anions), %."""
        return _error_percent(self.cation_sum_meq_per_l, self.anion_sum_meq_per_l)


def charge_meq_per_l(level_mg_per_l: Mapping[str, float]) -> dict[str, float]:
    """Return each ion's charge in meq/L, negative for anions, from levels in mg/L by nutrient; uncharged ones left out.

    Raises WaterError for an unknown nutrient or a level below zero. Charges: `chemistry.charges`.
    """
    require_levels(level_mg_per_l)
    return {
        key: CHARGES[key] * level / NUTRIENTS[key].weight for key, level in level_mg_per_l.items() if key in CHARGES
    }


def ion_balance(
    level_mg_per_l: Mapping[str, float],
    *,
    alkalinity_meq_per_l: float | None = None,
    ph: float | None = None,
    others_meq_per_l: Mapping[str, float] | None = None,
) -> IonBalance:
    """Return the ion balance of an analysis in mg/L by nutrient.

    Give the alkalinity either as "bicarbonate" among the levels or as `alkalinity_meq_per_l`, not both. `ph` counts H+,
    but only in a water without alkalinity: where there is some, its titration has counted H+ and OH- already.
    `others_meq_per_l` are ions Littoral has no name for (fluoride, strontium), by name, negative for anions.
    Raises WaterError, also where a side is empty.
    """
    charges = charge_meq_per_l(level_mg_per_l)
    if alkalinity_meq_per_l is not None:
        if "bicarbonate" in level_mg_per_l:
            right = "Give one of them: an alkalinity of 1 meq/L is 61.02 mg/L of bicarbonate."
            raise WaterError(what="both bicarbonate and alkalinity are given", right=right)
        require(alkalinity_meq_per_l, what="the alkalinity", low=0.0, high=math.inf, unit="meq/L")
        charges["alkalinity"] = -alkalinity_meq_per_l
    if ph is not None:
        require_ph(ph)
    alkaline = charges.get("alkalinity", 0.0) < 0 or charges.get("bicarbonate", 0.0) < 0
    if ph is not None and not alkaline:
        charges["hydrogen"] = 1000.0 * 10.0**-ph
    for name, meq in (others_meq_per_l or {}).items():
        if name in charges or name in NUTRIENTS:
            raise WaterError(what=f'"{name}" is given twice', right="Give it once, among the levels in mg/L.")
        charges[name] = require(meq, what=f"the charge of {name[:40]}", low=-1e4, high=1e4, unit="meq/L")
    cations = _side({key: meq for key, meq in charges.items() if meq > 0})
    anions = _side({key: -meq for key, meq in charges.items() if meq < 0})
    for side, name, example in (
        (cations, "cations", "calcium, magnesium, sodium"),
        (anions, "anions", "alkalinity, chloride, sulphate"),
    ):
        if not side:
            raise WaterError(what=f"the analysis has no {name}", right=f"Give what it lists of {example}.")
    balance = IonBalance(cations, anions, (), ())
    c, a = balance.cation_sum_meq_per_l, balance.anion_sum_meq_per_l
    return IonBalance(cations, anions, _checks(c, a), _steps(balance, level_mg_per_l))


def _side(meq: Mapping[str, float]) -> tuple[IonShare, ...]:
    whole = sum(meq.values())
    return tuple(IonShare(key, value, value / whole) for key, value in sorted(meq.items(), key=lambda item: -item[1]))


def _error_percent(cations: float, anions: float) -> float:
    return 100.0 * (cations - anions) / (cations + anions)


def _checks(cations: float, anions: float) -> tuple[CheckRow, ...]:
    difference, error = cations - anions, _error_percent(cations, anions)
    lacking = "anions" if difference > 0 else "cations"
    comment = f"The analysis lacks {lacking}, or a figure is off. Look first at the unit of alkalinity, nitrate and "
    comment += "sulphate: as CaCO3, as N or as S they count differently."
    if anions < 3.0:
        ours = _row("cations less anions", abs(difference), 0.2, "meq/L", comment, STANDARD_METHODS)
    else:
        limit = 2.0 if anions <= 10.0 else 5.0
        ours = _row("difference over the sum of both", abs(error), limit, "%", comment, STANDARD_METHODS)
    limit = 5.0 if max(cations, anions) <= 2.0 else 2.0
    german = _row("difference over half the sum", 2.0 * abs(error), limit, "%", comment, GERMAN)
    return ours, german


def _row(what: str, value: float, limit: float, unit: str, comment: str, source: str) -> CheckRow:
    verdict: Verdict = "holds" if value <= limit else "warns"
    if verdict == "holds":
        comment = "Close enough; two errors may still cancel."
    return CheckRow(what, value, "<=", limit, unit, verdict, comment, source)


def _steps(balance: IonBalance, level_mg_per_l: Mapping[str, float]) -> tuple[Step, ...]:
    steps: list[Step] = []
    for ion in (*balance.cations, *balance.anions):
        formula, source = "as given", "the analysis"
        if ion.name == "hydrogen":
            formula, source = "1000 x 10^-pH", "the analysis; activity taken as concentration"
        elif ion.name in level_mg_per_l:
            nutrient = NUTRIENTS[ion.name]
            charge = abs(CHARGES[ion.name])
            formula = f"{level_mg_per_l[ion.name]:g} mg/L x {charge} / {nutrient.weight:.3f} g/mol"
            source = "formula weights of IUPAC/CIAAW"
        steps.append(Step(ion.name, formula, f"{ion.meq_per_l:.3f} meq/L", source))
    c, a = balance.cation_sum_meq_per_l, balance.anion_sum_meq_per_l
    steps.append(
        Step(
            "ion balance error",
            f"100 x ({c:.3f} - {a:.3f}) / ({c:.3f} + {a:.3f})",
            f"{balance.error_percent:.2f} %",
            STANDARD_METHODS,
        )
    )
    return tuple(steps)
