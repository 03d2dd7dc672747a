"""What a regime is, in numbers: mg/L by the dose and by the week, N:P:K by mass and by atoms, label against real.

Levels that it leads to are `tank.steady_state`'s.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS, element_view
from littoral.chemistry.weights import formula_weight
from littoral.feeding.adds import (
    dose_adds_mg,
    label_recommends_mg_per_l_per_week,
    label_recommends_ml_per_week,
    week_adds_mg_per_l,
)
from littoral.feeding.bottles import Bottle
from littoral.feeding.label_words import factor_words
from littoral.feeding.regimes import PlannedDose, Regime, times_per_week, when_words
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class DoseFacts:
    """One planned dose: when, in words, and what one of it adds, mg/L of each nutrient; with its derivation."""

    dose: PlannedDose
    when: str
    adds_mg_per_l: Mapping[str, float]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Npk:
    """N, P and K of a week: mg/L of each element, and their ratios by mass and by atoms, each with P as 1.

    Where no phosphorus is given the smallest of the others is 1; a ratio of nothing is 0. `steps` derive them.
    """

    n_mg_per_l: float
    p_mg_per_l: float
    k_mg_per_l: float
    by_mass: tuple[float, float, float]
    by_atoms: tuple[float, float, float]
    steps: tuple[Step, ...]

    @property
    def words(self) -> str:
        """Both ratios as a person reads them: "N:P:K 10 : 1 : 14 by mass, 22 : 1 : 11 by atoms"."""
        mass, atoms = (" : ".join(f"{part:.3g}" for part in ratio) for ratio in (self.by_mass, self.by_atoms))
        return f"N:P:K {mass} by mass, {atoms} by atoms"


@dataclass(frozen=True, slots=True)
class LabelFacts:
    """One bottle: mL a week really planned, mL its label recommends, their factor, and words; None: it says nothing.

    `real_mg_per_l` and `label_mg_per_l` are what the two add in a week by nutrient, the latter empty without a label.
    """

    bottle: str
    ml_per_week: float
    recommended_ml_per_week: float | None
    factor: float | None
    words: str
    steps: tuple[Step, ...]
    real_mg_per_l: Mapping[str, float]
    label_mg_per_l: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class RegimeFacts:
    """All of it, for one regime in one tank. `week_mg_per_l` is by nutrient, `week_element_mg_per_l` by element."""

    doses: tuple[DoseFacts, ...]
    week_mg_per_l: Mapping[str, float]
    week_element_mg_per_l: Mapping[str, float]
    npk: Npk
    labels: tuple[LabelFacts, ...]


def regime_facts(regime: Regime, bottles: Mapping[str, Bottle], *, net_volume_l: float) -> RegimeFacts:
    """Return what a regime adds to a tank of `net_volume_l` litres. Raises as `adds.week_adds_mg_per_l`."""
    week = week_adds_mg_per_l(regime, bottles, net_volume_l=net_volume_l)
    used = list(dict.fromkeys(dose.of for dose in regime.doses))
    return RegimeFacts(
        doses=tuple(_dose_facts(dose, bottles[dose.of], net_volume_l) for dose in regime.doses),
        week_mg_per_l=week,
        week_element_mg_per_l=element_view(week),
        npk=npk_of(week),
        labels=tuple(
            _label_facts(regime, bottles[key], net_volume_l) for key in used if bottles[key].content_mg_per_ml
        ),
    )


def npk_of(week_mg_per_l: Mapping[str, float]) -> Npk:
    """Return N, P and K of what a week adds (mg/L by nutrient). KeyError for a nutrient that is none."""
    elements = element_view(week_mg_per_l)
    masses = tuple(elements.get(symbol, 0.0) for symbol in "NPK")
    atoms = tuple(mass / formula_weight(symbol) for mass, symbol in zip(masses, "NPK", strict=True))
    steps = [
        Step(f"{symbol} of a week", _sum_of(week_mg_per_l, symbol), f"{mass:.4g} mg/L {symbol}", "formula weights")
        for mass, symbol in zip(masses, "NPK", strict=True)
    ]
    shown = ", ".join(f"{symbol} / {formula_weight(symbol):.4f}" for symbol in "NPK")
    by_mass, by_atoms = _over_phosphorus(masses), _over_phosphorus(atoms)
    steps.append(Step("by mass", "each over P", " : ".join(f"{part:.4g}" for part in by_mass)))
    steps.append(
        Step("by atoms", f"{shown}, each over P", " : ".join(f"{part:.4g}" for part in by_atoms), "IUPAC/CIAAW")
    )
    n, p, k = masses
    return Npk(n, p, k, by_mass, by_atoms, tuple(steps))


def _sum_of(week_mg_per_l: Mapping[str, float], symbol: str) -> str:
    terms = [
        f"{amount:.4g} × {NUTRIENTS[key].element_share:.4f} ({key})"
        for key, amount in week_mg_per_l.items()
        if NUTRIENTS[key].element == symbol and amount > 0
    ]
    return " + ".join(terms) or "nothing given"


def _over_phosphorus(parts: tuple[float, ...]) -> tuple[float, float, float]:
    one = parts[1] or min((part for part in parts if part > 0), default=1.0)
    n, p, k = (part / one for part in parts)
    return n, p, k


def _dose_facts(dose: PlannedDose, bottle: Bottle, net_volume_l: float) -> DoseFacts:
    mg = dose_adds_mg(bottle, ml=dose.ml, g=dose.g)
    amount, unit = (dose.g, "g") if dose.g is not None else (dose.ml or 0.0, "mL")
    adds = {key: of / net_volume_l for key, of in mg.items()}
    content = bottle.content_mg_per_g if unit == "g" else bottle.content_mg_per_ml
    steps = tuple(
        Step(f"{key} of one dose", f"{amount:.4g} {unit} × {content[key]:.4g} mg/{unit} / {net_volume_l:.4g} L",
             f"{level:.4g} mg/L", "content of the bottle; net volume")
        for key, level in adds.items()
    )  # fmt: skip
    return DoseFacts(dose, when_words(dose), adds, steps)


def _label_facts(regime: Regime, bottle: Bottle, net_volume_l: float) -> LabelFacts:
    ml = math.fsum((dose.ml or 0.0) * times_per_week(dose) for dose in regime.doses if dose.of == bottle.key)
    recommended = label_recommends_ml_per_week(bottle, net_volume_l=net_volume_l)
    real = {key: ml * mg / net_volume_l for key, mg in bottle.content_mg_per_ml.items()}
    of_label = label_recommends_mg_per_l_per_week(bottle, net_volume_l=net_volume_l) or {}
    planned = Step("planned in a week", "doses × times a week", f"{ml:.4g} mL", "the regime")
    advice = bottle.recommended
    if recommended is None or advice is None or recommended == 0:
        words = "no recommended dose is known"
        return LabelFacts(bottle.key, ml, recommended, None, words, (planned,), real, of_label)
    factor = ml / recommended
    label = Step(
        "the label's week",
        f"{advice.ml:g} mL × {net_volume_l:.4g} L / {advice.per_l:g} L × 7 / {advice.days:g} days",
        f"{recommended:.4g} mL",
        "from the label",
    )
    words = factor_words(factor)
    steps = (planned, label, Step("factor", f"{ml:.4g} / {recommended:.4g}", words))
    return LabelFacts(bottle.key, ml, recommended, factor, words, steps, real, of_label)
