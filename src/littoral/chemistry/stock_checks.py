"""Whether a stock solution dissolves, stays clear, is made as it is meant, and keeps: rows, never a bare yes or no."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from littoral.chemistry.clashes import PHREEQC, Clash, clashes
from littoral.chemistry.density import dissolved_parts, made_up_to, volume_added_to
from littoral.chemistry.iron_chelates import check_iron
from littoral.chemistry.keeping import keeping_of
from littoral.chemistry.own_substances import OwnSubstance, substance
from littoral.chemistry.saturation import phreeqc_is_there, saturation_rows
from littoral.chemistry.solubility import SolubilityError, solubility
from littoral.chemistry.stock import check_amounts, content_of_stock, mmol_per_l, weighed
from littoral.quantities.check_row import CheckRow, Verdict

# Equimolar Ca(NO3)2 and MgSO4 reach the saturation of gypsum at about 20 mmol/L each (PHREEQC, 20 °C: SI -0.02 at
# 20 mM, +0.45 at 50 mM), so the geometric mean of the two is compared with 20.
GYPSUM_MMOL_PER_L = 20.0
# Common practice, no source: room for other salts with the same ion, impurities, and a cupboard colder than thought.
SHARE_OF_SOLUBILITY = 0.8
COLDEST_CELSIUS = 10.0  # a cool cupboard; a fridge has about 5
CONTRACTION = 0.02  # common practice, no source: 2 % is what a kitchen measure can do


def check_stock(
    salts_g: Mapping[str, float],
    *,
    made_up_to_ml: float,
    coldest_celsius: float = COLDEST_CELSIUS,
    tank_ph: float | None = None,
    stock_ph: float | None = None,
    own: Sequence[OwnSubstance] = (),
) -> tuple[CheckRow, ...]:
    """Return every row on a stock: dissolves at its coldest (°C), volume, clashes, iron in the tank, keeping.

    `tank_ph` adds a row for each iron; `stock_ph` adds PHREEQC's saturation indices where it is installed.
    A row that holds proves nothing; one that does not is a reason to make two bottles or a weaker one.
    Raises as `stock.content_of_stock`.
    """
    check_amounts(salts_g, made_up_to_ml)
    present = {name: grams for name, grams in salts_g.items() if grams > 0}
    if not present:
        return ()
    rows = [
        *check_dissolves(present, made_up_to_ml=made_up_to_ml, celsius=coldest_celsius, own=own),
        check_contraction(present, made_up_to_ml=made_up_to_ml, own=own),
        *check_clashes(present, made_up_to_ml=made_up_to_ml, own=own),
    ]
    if stock_ph is not None and phreeqc_is_there():
        rows += saturation_rows(free_ions_mg_per_l(present, made_up_to_ml=made_up_to_ml, own=own), ph=stock_ph)
    if tank_ph is not None:
        irons = [this.short for this, _ in weighed(present, own) if this.content_mg_per_g.get("iron", 0.0) > 0]
        rows += [check_iron(key, ph=tank_ph, own=own) for key in irons]
    rows += keeping_of(present, own=own).rows
    return tuple(rows)


def check_dissolves(
    salts_g: Mapping[str, float], *, made_up_to_ml: float, celsius: float, own: Sequence[OwnSubstance] = ()
) -> tuple[CheckRow, ...]:
    """Return a row per salt: its share of what the bottle's water dissolves at `celsius` °C; and one for all together.

    The water of the bottle is what is poured on and what the crystals bring. Salts are taken one by one; salts with an
    ion in common dissolve less, so the shares are also added up, which errs on the careful side.
    Raises as `stock.content_of_stock`.
    """
    bottle = made_up_to(salts_g, made_up_to_ml=made_up_to_ml, own=own)
    parts = [(this.short, grams, dissolved_parts(this, grams)) for this, grams in weighed(salts_g, own) if grams > 0]
    water_g = bottle.low_water_ml * 0.9982 + sum(brought for _, _, (_, _, brought) in parts)
    rows: list[CheckRow] = []
    shares: list[float] = []
    for key, grams, (bare, dry_g, _) in parts:
        what = f"{key} dissolves at {celsius:g} °C"
        try:
            found = solubility(bare, celsius=celsius)
        except SolubilityError as unknown:
            rows.append(CheckRow(what, None, "<=", None, "", "cannot tell", str(unknown), ""))
            continue
        share = dry_g / (found.anhydrous_g * water_g / 100.0) if water_g > 0 else math.inf
        shares.append(share)
        most_g = grams / share if share > 0 else math.inf
        rows.append(_share_row(what, share, f"Of {grams:g} g at most {most_g:.3g} g dissolve", found.source))
    if len(shares) > 1:
        rows.append(_together_row(sum(shares), len(shares), celsius))
    return tuple(rows)


def _share_row(what: str, share: float, lead: str, source: str) -> CheckRow:
    verdict: Verdict = "holds" if share <= SHARE_OF_SOLUBILITY else ("warns" if share <= 1 else "fails")
    after = {
        "holds": "with room to spare.",
        "warns": "little is left: it may fall out in the cold or beside other salts.",
        "fails": "more than the water can hold: use more water, a warmer place, or make two bottles.",
    }[verdict]
    origin = f"solubility: {source}; margin: common practice, no source"
    unit = "of its solubility"
    return CheckRow(what, share, "<=", SHARE_OF_SOLUBILITY, unit, verdict, f"{lead}: {after}", origin)


def _together_row(share: float, count: int, celsius: float) -> CheckRow:
    """Shares added up: a careful rule, so it never fails a bottle, it only warns."""
    verdict: Verdict = "holds" if share <= SHARE_OF_SOLUBILITY else "warns"
    comment = "Room to spare for all of them."
    if verdict == "warns":
        comment = "Salts with an ion in common leave less room for each other: try it small, or make two bottles."
    what, source = f"the {count} salts together at {celsius:g} °C", "shares added up: a careful rule, no source"
    return CheckRow(what, share, "<=", SHARE_OF_SOLUBILITY, "of their solubility", verdict, comment, source)


def check_contraction(
    salts_g: Mapping[str, float], *, made_up_to_ml: float, own: Sequence[OwnSubstance] = ()
) -> CheckRow:
    """Return how much weaker the bottle is where salts are added to the full volume of water instead of made up to it.

    Value: volume over the intended volume, less one. Raises as `stock.content_of_stock`.
    """
    swollen = volume_added_to(salts_g, water_ml=made_up_to_ml, own=own)
    right = made_up_to(salts_g, made_up_to_ml=made_up_to_ml, own=own)
    more = swollen.ml / made_up_to_ml - 1.0
    how = f"Dissolve in about {0.8 * right.water_ml:.0f} mL, then fill up to {made_up_to_ml:g} mL"
    if right.water_ml <= 0:
        how = "The salts alone fill the bottle: take a larger one"
    else:
        how += f" (about {right.water_ml:.0f} mL of water in all; the stock weighs {right.density_kg_per_l:.3f} kg/L)"
    weaker = 100.0 * (1.0 - made_up_to_ml / swollen.ml)
    comment = f"{how}. Poured onto {made_up_to_ml:g} mL of water it becomes {swollen.ml:.0f} mL, {weaker:.1f} % weaker."
    if swollen.unknown:
        span = f"{swollen.low_ml:.0f} to {swollen.high_ml:.0f} mL"
        comment += f" The volume of {', '.join(swollen.unknown)} is not known: between {span}."
    verdict: Verdict = "holds" if swollen.high_ml / made_up_to_ml - 1.0 <= CONTRACTION else "warns"
    source = "Laliberté & Cooper 2004, 20 °C; limit: common practice, no source"
    return CheckRow("added to, or made up to", more, "<=", CONTRACTION, "of the volume", verdict, comment, source)


def check_clashes(
    salts_g: Mapping[str, float], *, made_up_to_ml: float, own: Sequence[OwnSubstance] = ()
) -> tuple[CheckRow, ...]:
    """Return a row per kind of clash in the bottle, with the salts it is between. Raises as `stock.content_of_stock`.

    Calcium with sulphate is compared with the saturation of gypsum; the other rules are of concentrated stocks, and
    fail wherever both are in.
    """
    found = clashes(salts_g, own)
    content = mmol_per_l(content_of_stock(salts_g, made_up_to_ml=made_up_to_ml, own=own))
    rows: list[CheckRow] = []
    if any(clash.source == PHREEQC for clash in found):
        free = mmol_per_l(
            {k: v / 1000.0 for k, v in free_ions_mg_per_l(salts_g, made_up_to_ml=made_up_to_ml, own=own).items()}
        )
        mean = math.sqrt(free.get("calcium", 0.0) * content.get("sulphate", 0.0))
        verdict: Verdict = (
            "fails" if mean > GYPSUM_MMOL_PER_L else ("warns" if mean > 0.8 * GYPSUM_MMOL_PER_L else "holds")
        )
        comment = "Gypsum falls out above this: keep calcium in a bottle of its own."
        if verdict == "holds":
            comment = "Too thin for gypsum. Found for calcium nitrate with magnesium sulphate and nothing else."
        what = "calcium with sulphate"
        rows.append(CheckRow(what, mean, "<=", GYPSUM_MMOL_PER_L, "mmol/L", verdict, comment, PHREEQC))
    rest: dict[str, list[Clash]] = {}
    for clash in found:
        if clash.source != PHREEQC:
            rest.setdefault(clash.why, []).append(clash)
    for why, between in rest.items():
        pairs = "; ".join(f"{clash.one} with {clash.other}" for clash in between)
        verdict = "fails" if any(clash.always for clash in between) else "warns"
        comment = f"{why[0].upper()}{why[1:]}: make two bottles, and give them at different times."
        rows.append(CheckRow(pairs, None, "", None, "", verdict, comment, between[0].source))
    return tuple(rows)


def free_ions_mg_per_l(
    salts_g: Mapping[str, float], *, made_up_to_ml: float, own: Sequence[OwnSubstance] = ()
) -> dict[str, float]:
    """Return what is in a stock as free ions, mg/L: as `content_of_stock`, without metals that a chelate holds."""
    free: dict[str, float] = {}
    for name, grams in salts_g.items():
        this = substance(name, own)
        for key, mg_per_g in this.content_mg_per_g.items():
            if not (this.chelate and key not in ("sodium", "potassium", "ammonium", "nitrate")):
                free[key] = free.get(key, 0.0) + 1000.0 * mg_per_g * grams / made_up_to_ml
    return free


def check_dry_dose(
    name: str, grams: float, *, net_volume_l: float, celsius: float = 20.0, own: Sequence[OwnSubstance] = ()
) -> tuple[CheckRow, ...]:
    """Return rows on a substance given dry (g) to a tank (net litres): does it dissolve, and is the water still fresh.

    Water with more than 1000 mg/L of dissolved salts is no fresh water any more (USGS, from memory): a slipped unit,
    or a dose that no animal here is made for. Raises as `stock.content_of_stock`.
    """
    litres_ml = 1000.0 * net_volume_l
    check_amounts({name: grams}, litres_ml)
    this = substance(name, own)
    rows = list(check_dissolves({name: grams}, made_up_to_ml=litres_ml, celsius=celsius, own=own)) if grams > 0 else []
    salt_mg_per_l = 1000.0 * grams / net_volume_l
    verdict: Verdict = "holds" if salt_mg_per_l <= 100.0 else ("warns" if salt_mg_per_l <= 1000.0 else "fails")
    comment = {
        "holds": "A dose of that size is in use. What it adds of each nutrient is what counts.",
        "warns": "A large dose at once: look at the units, and at what it adds of each nutrient.",
        "fails": "That turns fresh water brackish and kills. Look at the units of the mass and of the tank.",
    }[verdict]
    source = "fresh water has less than 1000 mg/L of dissolved salts: USGS, from memory"
    what = f"{grams:g} g of {this.short} in {net_volume_l:g} L"
    return (*rows, CheckRow(what, salt_mg_per_l, "<=", 1000.0, "mg/L of salt", verdict, comment, source))
