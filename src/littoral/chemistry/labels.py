"""Fertiliser labels: from declared percentages, as oxides, elements or ions, to mg of each nutrient.

Declared forms follow Regulation (EC) 2003/2003 Art. 19: N, P2O5, K2O, then CaO, MgO, Na2O, SO3, each as oxide or as
element; nitrogen by its form. Conversion factors are exact formula weights, not the rounded ones printed in law.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import element_share
from littoral.errors import LittoralError


@dataclass(frozen=True, slots=True)
class Declared:
    """One way to declare a nutrient on a label: the percentage is of `formula`, counted by its `element`."""

    nutrient: str
    formula: str
    element: str


# What may stand on a label. Elements, oxides and ions of one nutrient are the same nutrient.
DECLARED: dict[str, Declared] = {
    name: Declared(nutrient, formula, NUTRIENTS[nutrient].element)
    for nutrient, names in {
        "nitrate": {"NO3-N": "N", "N-NO3": "N", "NO3": "NO3"},
        "ammonium": {"NH4-N": "N", "N-NH4": "N", "NH4": "NH4"},
        "urea": {"urea-N": "N", "N-urea": "N", "urea": "CH4N2O"},
        "phosphate": {"P2O5": "P2O5", "P": "P", "PO4": "PO4"},
        "potassium": {"K2O": "K2O", "K": "K"},
        "calcium": {"CaO": "CaO", "Ca": "Ca"},
        "magnesium": {"MgO": "MgO", "Mg": "Mg"},
        "sulphate": {"SO3": "SO3", "S": "S", "SO4": "SO4"},
        "sodium": {"Na2O": "Na2O", "Na": "Na"},
        "chloride": {"Cl": "Cl"},
        "silicate": {"SiO2": "SiO2", "Si": "Si"},
        **{
            NUTRIENTS[key].key: {NUTRIENTS[key].formula: NUTRIENTS[key].formula}
            for key in ("iron", "manganese", "boron", "zinc", "copper", "molybdenum", "cobalt", "nickel")
        },
    }.items()
    for name, formula in names.items()
}
NITROGEN_FORMS = ("nitrate", "ammonium", "urea")


class LabelError(LittoralError):
    """A label cannot be true, or does not say enough; `entry` names the declaration, `reason` and `right` the rest."""

    def __init__(self, *, entry: str, reason: str, right: str) -> None:
        self.entry = entry
        self.reason = reason
        self.right = right
        super().__init__(f"label, {entry}: {reason}. {right}")


def content_of_label(
    entries: Mapping[str, float], *, by: Literal["mass", "volume"], density_kg_per_l: float | None = None
) -> dict[str, float]:
    """Return what one mL of a liquid fertiliser holds: mg of each nutrient per mL.

    `entries` maps what is declared (keys of DECLARED, and "N" for total nitrogen) to percent. By mass a percent is g in
    100 g and the density in kg/L is needed; by volume it is g in 100 mL.

    Total nitrogen alone is refused, since nothing says whether it is nitrate, ammonium or urea; given with its forms it
    must be their sum. A nutrient given in two ways (oxide and element) must agree within the rounding of the printed
    digits; the finer one is taken. A sum over 100 % (by volume: over the density) is refused.
    Raises LabelError.
    """
    if by == "mass" and density_kg_per_l is None:
        right = (
            "Give the density from the label or the safety data sheet, or weigh 100 mL: grams divided by 100 is kg/L."
        )
        raise LabelError(entry="density", reason="percent by mass cannot become mg per mL without it", right=right)
    if density_kg_per_l is not None and not 0.5 <= density_kg_per_l <= 3.0:
        right = "Watery solutions lie between 0.9 and 1.6 kg/L."
        raise LabelError(
            entry="density", reason=f"{density_kg_per_l:g} kg/L is no density of a liquid here", right=right
        )
    most = 100.0 if by == "mass" else 100.0 * (density_kg_per_l or 1.0)
    mg_per_ml_per_percent = 10.0 * (density_kg_per_l or 1.0) if by == "mass" else 10.0
    percent = _nutrient_percent(entries, most_percent=most)
    return {nutrient: value * mg_per_ml_per_percent for nutrient, value in percent.items()}


def _nutrient_percent(entries: Mapping[str, float], *, most_percent: float) -> dict[str, float]:
    """Percent of each nutrient, as the ion of `chemistry.nutrients`."""
    known = {name.casefold(): name for name in (*DECLARED, "N")}
    declared: dict[str, float] = {}
    for written, percent in entries.items():
        name = written if written in DECLARED else known.get(written.strip().casefold())
        if name is None:
            right = f"Write one of: N, {', '.join(DECLARED)}."
            raise LabelError(entry=written[:40], reason="it is nothing that a label declares", right=right)
        if not math.isfinite(percent) or percent < 0:
            raise LabelError(entry=name, reason=f"{percent:g} % cannot be", right="Write a percentage from 0 to 100.")
        if name in declared:
            raise LabelError(entry=name, reason="it is given twice", right="Give it once.")
        declared[name] = percent
    if not declared:
        raise LabelError(entry="contents", reason="nothing is declared", right="Give at least one, such as K2O = 3 %.")

    chosen: dict[str, str] = {}  # nutrient -> the declaration that is used
    for name in declared:
        if name == "N":
            continue
        nutrient = DECLARED[name].nutrient
        other = chosen.get(nutrient)
        if other is not None:
            _must_agree(name, other, declared)
        if other is None or _element_rounding(name, declared[name]) < _element_rounding(other, declared[other]):
            chosen[nutrient] = name
    _check_nitrogen(declared, chosen)
    _check_sum(declared, chosen, most_percent)
    return {
        nutrient: _element_percent(name, declared[name]) / NUTRIENTS[nutrient].element_share
        for nutrient, name in chosen.items()
    }


def _element_percent(name: str, percent: float) -> float:
    return percent * element_share(DECLARED[name].formula, DECLARED[name].element)


def _rounding(percent: float) -> float:
    """Half a unit of the last printed digit: 0.05 for 1.7, 0.5 for 12, and for 12.0 too, which a float cannot tell."""
    decimals = f"{percent:.10f}".rstrip("0").partition(".")[2]
    return 0.5 * 10.0 ** -len(decimals)


def _element_rounding(name: str, percent: float) -> float:
    return _element_percent(name, _rounding(percent))


def _must_agree(name: str, other: str, declared: Mapping[str, float]) -> None:
    this, that = _element_percent(name, declared[name]), _element_percent(other, declared[other])
    allowed = _element_rounding(name, declared[name]) + _element_rounding(other, declared[other])
    if abs(this - that) > allowed * (1 + 1e-9):
        element = DECLARED[name].element
        reason = (
            f"{declared[other]:g} % {other} is {that:.3g} % {element}, but {declared[name]:g} % {name} is {this:.3g} %"
        )
        raise LabelError(entry=f"{other} and {name}", reason=reason, right="Give only the one that is on the label.")


def _check_nitrogen(declared: Mapping[str, float], chosen: Mapping[str, str]) -> None:
    if "N" not in declared or declared["N"] == 0:
        return
    forms = [chosen[form] for form in NITROGEN_FORMS if form in chosen]
    if not forms:
        right = (
            "Write NO3-N, NH4-N or urea-N; if the label does not say, look at the safety data sheet or ask the maker."
        )
        raise LabelError(entry="N", reason="total nitrogen alone does not say in which form it is", right=right)
    total = sum(_element_percent(form, declared[form]) for form in forms)
    allowed = _rounding(declared["N"]) + sum(_element_rounding(form, declared[form]) for form in forms)
    if abs(total - declared["N"]) > allowed * (1 + 1e-9):
        reason = f"{declared['N']:g} % in all, but {' + '.join(forms)} add up to {total:.3g} %"
        raise LabelError(entry="N", reason=reason, right="Give all forms of nitrogen, or leave N out.")


def _check_sum(declared: Mapping[str, float], chosen: Mapping[str, str], most_percent: float) -> None:
    total = sum(declared[name] for name in chosen.values())
    if total > most_percent * (1 + 1e-9):
        parts = " + ".join(f"{declared[name]:g} {name}" for name in chosen.values())
        reason = f"{parts} = {total:g} %, which is over {most_percent:g} %"
        raise LabelError(
            entry="sum", reason=reason, right="Look for a slipped decimal point, or for mg/L taken as percent."
        )
