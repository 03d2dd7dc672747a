"""Chemistry against values printed elsewhere: media, label factors, degrees of hardness, element shares.

Each row compares ours with the printed digits; the limit is half a unit of the last one. The media are data of the
package, chemistry/recipes.toml.
"""

from __future__ import annotations

from collections.abc import Iterator

import periodictable
from rows import Row
from rows import printed_row as _row

from littoral.chemistry.hardness import hardness_of_ions_mmol_per_l
from littoral.chemistry.hydrates import hydrate_swap
from littoral.chemistry.labels import content_of_label
from littoral.chemistry.nutrients import NUTRIENTS, element_view
from littoral.chemistry.recipes import KINDS, recipes
from littoral.chemistry.salts import salts
from littoral.chemistry.weights import composition, element_share, formula_weight
from littoral.quantities.hardness import alkalinity_in, alkalinity_meq_per_l, hardness_in, hardness_mmol_per_l


def rows() -> list[Row]:
    return [*_media(), *_label_factors(), *_degrees(), *_nitrogen_units(), *_hydrates(), *_shares()]


def _misprint(name: str, ours: float, unit: str, printed: str, recomputed: str, source: str) -> Row:
    right = _row(name, ours, unit, recomputed, source)
    wrong = _row(name, ours, unit, printed, source)
    return right | {
        "name": f"{name}: misprint {printed}",
        "reference": f"{recomputed} recomputed from the same recipe, not {printed}",
        "holds": right["holds"] and not wrong["holds"],
    }


def _media() -> Iterator[Row]:
    """Media, through the same functions as a keeper's stock solution; one litre of each is "weighed"."""
    for recipe in recipes().values():
        for one in recipe.printed:
            name, ours, unit = f"{recipe.name}, {one.key}", recipe.values(one.kind)[one.key], KINDS[one.kind]
            if one.right:
                yield _misprint(name, ours, unit, one.printed, one.right, recipe.source)
            else:
                yield _row(name, ours, unit, one.printed, recipe.source)


def _label_factors() -> Iterator[Row]:
    authority = "Norwegian Food Safety Authority 2013; Reg. (EC) 2003/2003 Art. 6"
    factors = {"P2O5": ("P", "0.436"), "K2O": ("K", "0.830"), "MgO": ("Mg", "0.603"), "CaO": ("Ca", "0.715")}
    factors |= {"SO3": ("S", "0.400"), "Na2O": ("Na", "0.742")}
    for oxide, (element, printed) in factors.items():
        yield _row(f"label factor {oxide} to {element}", _declared(oxide, 1.0)[element], "", printed, authority)
    yield _row("4.0 % P2O5 as P", _declared("P2O5", 4.0)["P"], "%", "1.7", authority)
    # its other example, 10.5 % K = 12.7 % K2O, comes out only with the rounded factor: 10.5 / 0.830; exact is 12.65


def _declared(oxide: str, percent: float) -> dict[str, float]:
    """Percent of each element in a label that declares one oxide, through the label's own functions."""
    content = content_of_label({oxide: percent}, by="volume")
    return {element: mg_per_ml / 10.0 for element, mg_per_ml in element_view(content).items()}


def _degrees() -> Iterator[Row]:
    page = "internetchemie.info, Wasserhaerte"
    degree = hardness_mmol_per_l(1.0, unit="dGH")
    yield _row("1 dGH", degree, "mmol/L", "0.1783", page)
    yield _row("1 dGH", hardness_in(degree, unit="ppm CaCO3"), "mg CaCO3/L", "17.8", page)
    yield _row("1 dGH as MgO", degree * formula_weight("MgO"), "mg/L", "7.19", page)
    yield _row("1 dKH", alkalinity_meq_per_l(1.0, unit="dKH"), "meq/L", "0.357", page)
    for key, printed in (("calcium", "0.14"), ("magnesium", "0.23")):
        ours = hardness_in(hardness_of_ions_mmol_per_l({key: 1.0}), unit="dGH")
        yield _row(f"1 mg/L of {key}", ours, "dGH", printed, page)
    yield _row("acid capacity 1 mmol/L", alkalinity_in(1.0, unit="dKH"), "dKH", "2.804", "DIN 38409-7 (from memory)")
    encyclopedia = "widely read encyclopedia page on carbonate hardness"
    yield _misprint("1 dKH", hardness_in(degree, unit="ppm CaCO3"), "mg CaCO3/L", "17.86", "17.848", encyclopedia)


def _nitrogen_units() -> Iterator[Row]:
    """The factor 4.43 between nitrate and nitrate nitrogen, where confusing them would be dangerous."""
    source = "CCME 2012, nitrate ion, long and short term (from memory)"
    share = NUTRIENTS["nitrate"].element_share
    yield _row("3.0 mg N/L of nitrate, as nitrate", 3.0 / share, "mg/L", "13", source)
    yield _row("550 mg/L of nitrate, as nitrogen", 550.0 * share, "mg N/L", "124", source)


def _hydrates() -> Iterator[Row]:
    source = "suppliers' equivalents printed for the basal mix of Murashige & Skoog"
    for given, wanted, grams, printed in (
        ("MgSO4·7H2O", "MgSO4", 370.0, "180.69"),
        ("MnSO4·4H2O", "MnSO4·H2O", 22.3, "16.9"),
    ):
        to = wanted if "·" in wanted else f"{wanted} anhydrous"
        yield _row(f"{grams:g} mg {given} as {wanted}", hydrate_swap(grams, from_=given, to=to), "mg", printed, source)
    bg11 = "a student laboratory's page on BG-11 medium, read: 4.0 g/L of the trihydrate or 3.05 g/L"
    ours = hydrate_swap(4.0, from_="K2HPO4·3H2O", to="K2HPO4 anhydrous")
    yield _row("4.0 g K2HPO4·3H2O as K2HPO4", ours, "g", "3.05", bg11)


def _shares() -> Iterator[Row]:
    """Every element of every salt of our table, against a second library with its own atomic weights."""
    worst, where = 0.0, ""
    for salt in salts().values():
        whole = _atoms_by_periodictable(salt.formula)
        weight = sum(getattr(periodictable, symbol).mass * count for symbol, count in whole.items())
        for symbol in composition(salt.formula):
            theirs = getattr(periodictable, symbol).mass * whole[symbol] / weight
            apart = 100.0 * abs(element_share(salt.formula, symbol) - theirs)
            if apart >= worst:
                worst, where = apart, f"{symbol} in {salt.formula}"
    yield {
        "name": f"element shares of {len(salts())} salts, worst: {where}",
        "value": worst,
        "unit": "points of %",
        "reference": "periodictable",
        "difference": worst,
        "limit": "±0.01",
        "holds": worst <= 0.01,
        "source": f"periodictable {periodictable.__version__}, run here",
    }


def _atoms_by_periodictable(formula: str) -> dict[str, float]:
    """Let periodictable parse each part of a hydrate; given "MgSO4.7H2O" whole it reads 149.58 g/mol."""
    atoms: dict[str, float] = {}
    for part in formula.split("·"):
        digits = len(part) - len(part.lstrip("0123456789"))
        times = int(part[:digits] or 1)
        for atom, count in periodictable.formula(part[digits:]).atoms.items():
            atoms[atom.symbol] = atoms.get(atom.symbol, 0.0) + times * count
    return atoms
