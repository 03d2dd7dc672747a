"""Fertiliser labels: from declared percentages, as oxides, elements or ions, to mg of each nutrient.

Names: `label_names`. Conversion factors are exact formula weights, not the rounded ones printed in law.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from littoral.chemistry.label_names import (
    DECLARED,
    NITROGEN_FORMS,
    TOTAL_NITROGEN,
    LabelError,
    chelated_name,
    declared_name,
)
from littoral.chemistry.label_sums import check_mass
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import element_share
from littoral.quantities.derivation import Step

__all__ = ["LabelContent", "LabelError", "content_of_dry_label", "content_of_label", "read_dry_label", "read_label"]
By = Literal["mass", "volume"]


@dataclass(frozen=True, slots=True)
class LabelContent:
    """What a label comes to: mg of each nutrient per mL (a liquid) or per g (a powder).

    `chelated` is how much of a metal is bound, by nutrient and agent, in the same unit; `steps` say how it came about.
    """

    content: Mapping[str, float]
    chelated: Mapping[str, Mapping[str, float]]
    unit: Literal["mg/mL", "mg/g"]
    steps: tuple[Step, ...]


def content_of_label(
    entries: Mapping[str, float], *, by: By, density_kg_per_l: float | None = None
) -> dict[str, float]:
    """Return what one mL of a liquid fertiliser holds: mg of each nutrient per mL.

    `entries` maps what is declared to percent: keys of DECLARED, the words of EU and US labels, "N" for total nitrogen,
    or a metal with its chelating agent ("Fe-EDTA", a part of "Fe" where both stand there). By mass a percent is g in
    100 g and the density in kg/L is needed; by volume it is g in 100 mL.

    Total nitrogen alone is refused, since nothing says whether it is nitrate, ammonium or urea; given with its forms it
    must be their sum. A nutrient given in two ways (oxide and element) must agree within the rounding of the printed
    digits; the finer one is taken. A label whose parts weigh more than the whole is refused with the sum.
    Raises LabelError.
    """
    return dict(read_label(entries, by=by, density_kg_per_l=density_kg_per_l).content)


def content_of_dry_label(entries: Mapping[str, float]) -> dict[str, float]:
    """Return what one gram of a powder or granulate holds: mg of each nutrient per g; otherwise as `content_of_label`.

    Raises LabelError.
    """
    return dict(read_dry_label(entries).content)


def read_label(entries: Mapping[str, float], *, by: By, density_kg_per_l: float | None = None) -> LabelContent:
    """Return a liquid's label with what is chelated and how it came about; otherwise as `content_of_label`."""
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
    per_percent = 10.0 * (density_kg_per_l or 1.0) if by == "mass" else 10.0
    how = f"10 × {density_kg_per_l:g} kg/L" if by == "mass" else "10 (g per 100 mL)"
    return _read(entries, most_percent=most, per_percent=per_percent, how=how, unit="mg/mL")


def read_dry_label(entries: Mapping[str, float]) -> LabelContent:
    """Return a powder's label with what is chelated and how it came about; otherwise as `content_of_dry_label`."""
    return _read(entries, most_percent=100.0, per_percent=10.0, how="10 (g per 100 g)", unit="mg/g")


def _read(
    entries: Mapping[str, float],
    *,
    most_percent: float,
    per_percent: float,
    how: str,
    unit: Literal["mg/mL", "mg/g"],
) -> LabelContent:
    declared, bound = _names(entries)
    chosen: dict[str, str] = {}  # nutrient -> the declaration that is used
    for name in declared:
        if name == TOTAL_NITROGEN:
            continue
        nutrient = DECLARED[name].nutrient
        other = chosen.get(nutrient)
        if other is not None:
            _must_agree(name, other, declared)
        if other is None or _element_rounding(name, declared[name]) < _element_rounding(other, declared[other]):
            chosen[nutrient] = name
    _check_nitrogen(declared, chosen)
    used = {name: (declared[name], rounding(declared[name])) for name in chosen.values()}
    check_mass(used, most_percent=most_percent)
    content = {
        nutrient: per_percent * _element_percent(name, declared[name]) / NUTRIENTS[nutrient].element_share
        for nutrient, name in chosen.items()
    }
    steps = tuple(_step(name, declared[name], content[nutrient], how, unit) for nutrient, name in chosen.items())
    chelated = {
        DECLARED[metal].nutrient: {agent: per_percent * percent for agent, percent in agents.items()}
        for metal, agents in bound.items()
    }
    return LabelContent(content, chelated, unit, steps)


def _names(entries: Mapping[str, float]) -> tuple[dict[str, float], dict[str, dict[str, float]]]:
    """Percent of each declaration, and percent of each metal that is chelated, by agent."""
    declared: dict[str, float] = {}
    bound: dict[str, dict[str, float]] = {}
    for written, percent in entries.items():
        chelate = chelated_name(written)
        name = written if chelate else declared_name(written)
        if not math.isfinite(percent) or percent < 0:
            raise LabelError(entry=name, reason=f"{percent:g} % cannot be", right="Write a percentage from 0 to 100.")
        if chelate is not None:
            metal, agent = chelate
            agents = bound.setdefault(metal, {})
            if agent in agents:
                raise LabelError(entry=written, reason="it is given twice", right="Give it once.")
            agents[agent] = percent
        elif name in declared:
            raise LabelError(entry=name, reason="it is given twice", right="Give it once.")
        else:
            declared[name] = percent
    if not declared and not bound:
        raise LabelError(entry="contents", reason="nothing is declared", right="Give at least one, such as K2O = 3 %.")
    for metal, agents in bound.items():
        total = sum(agents.values())
        whole = declared.setdefault(metal, total)
        allowed = rounding(whole) + sum(rounding(percent) for percent in agents.values())
        if total > whole + allowed * (1 + 1e-9):
            parts = " + ".join(f"{percent:g} by {agent}" for agent, percent in agents.items())
            reason = f"{parts} = {total:g} % chelated, of {whole:g} % {metal} in all"
            raise LabelError(entry=metal, reason=reason, right=f"Give all {metal} as {metal}, the chelated as a part.")
    return declared, bound


def _step(name: str, percent: float, mg: float, how: str, unit: str) -> Step:
    form, nutrient = DECLARED[name], NUTRIENTS[DECLARED[name].nutrient]
    to_element = element_share(form.formula, form.element)
    formula = f"{percent:g} % × {how}"
    if to_element / nutrient.element_share != 1.0:
        formula += f" × {to_element:.4f} g {form.element}/g {form.formula} / {nutrient.element_share:.4f}"
    return Step(f"{nutrient.symbol} from {name}", formula, f"{mg:.4g} {unit}", "label; standard atomic weights")


def _element_percent(name: str, percent: float) -> float:
    return percent * element_share(DECLARED[name].formula, DECLARED[name].element)


def rounding(percent: float) -> float:
    """Return half a unit of the last printed digit: 0.05 for 1.7, 0.5 for 12 and for 12.0 (a float cannot tell)."""
    decimals = f"{percent:.10f}".rstrip("0").partition(".")[2]
    return 0.5 * 10.0 ** -len(decimals)


def _element_rounding(name: str, percent: float) -> float:
    return _element_percent(name, rounding(percent))


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
    if TOTAL_NITROGEN not in declared:
        return
    forms = [chosen[form] for form in NITROGEN_FORMS if form in chosen]
    if not forms and declared[TOTAL_NITROGEN] == 0:
        return  # "0-3-5" says that there is none
    if not forms:
        right = (
            "Write NO3-N, NH4-N or urea-N; if the label does not say, look at the safety data sheet or ask the maker."
        )
        raise LabelError(entry="N", reason="total nitrogen alone does not say in which form it is", right=right)
    total = sum(_element_percent(form, declared[form]) for form in forms)
    allowed = rounding(declared["N"]) + sum(_element_rounding(form, declared[form]) for form in forms)
    if abs(total - declared["N"]) > allowed * (1 + 1e-9):
        reason = f"{declared['N']:g} % in all, but {' + '.join(forms)} add up to {total:.3g} %"
        raise LabelError(entry="N", reason=reason, right="Give all forms of nitrogen, or leave N out.")
