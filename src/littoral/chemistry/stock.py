"""Stock solutions weighed from salts: what a millilitre holds, and whether it will stay clear."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import Salt, content_of_salt, salt
from littoral.errors import LittoralError

# Equimolar Ca(NO3)2 and MgSO4 reach the saturation of gypsum at about 20 mmol/L each (PHREEQC, 20 °C: SI -0.02 at
# 20 mM, +0.45 at 50 mM), so the product of the two is compared with 20 x 20.
GYPSUM_MMOL_PER_L = 20.0
# Common practice, no source: room for the salt's own volume, other salts with the same ion, and a cold cupboard.
SHARE_OF_SOLUBILITY = 0.8


class StockError(LittoralError):
    """A stock solution cannot be as written."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"stock solution: {what}. {right}")


@dataclass(frozen=True, slots=True)
class StockCheck:
    """One row of a check: `value` `operator` `limit`, in `unit`; `holds`, why it matters, and where it comes from."""

    name: str
    value: float
    operator: str
    limit: float
    unit: str
    holds: bool
    comment: str
    source: str


def content_of_stock(salts_g: Mapping[str, float], *, made_up_to_ml: float) -> dict[str, float]:
    """Return what one mL of a stock holds: mg of each nutrient per mL.

    `salts_g` maps salts (as `salts.salt` reads them) to the grams weighed in; water is added until the whole is
    `made_up_to_ml` millilitres. Raises UnknownSaltError; StockError where a mass or the volume is not above zero.
    """
    _check_amounts(salts_g, made_up_to_ml)
    content: dict[str, float] = {}
    for name, grams in salts_g.items():
        for key, mg_per_g in content_of_salt(name).items():
            content[key] = content.get(key, 0.0) + mg_per_g * grams / made_up_to_ml
    return content


def check_stock(salts_g: Mapping[str, float], *, made_up_to_ml: float) -> tuple[StockCheck, ...]:
    """Return the rows that say whether a stock dissolves and stays clear at 20 °C.

    One row per salt of known solubility, and one per pair of ions that may fall out together. A row that holds is no
    proof that a mixture keeps; one that does not is a reason to make two bottles or a weaker one.
    Raises as `content_of_stock`.
    """
    _check_amounts(salts_g, made_up_to_ml)
    weighed = {name: (salt(name), grams) for name, grams in salts_g.items()}
    rows = [_solubility_row(this, grams, made_up_to_ml) for this, grams in weighed.values() if _known(this)]
    content = content_of_stock(salts_g, made_up_to_ml=made_up_to_ml)
    mmol_per_l = {key: 1000.0 * mg_per_ml / NUTRIENTS[key].weight for key, mg_per_ml in content.items()}
    calcium, sulphate = mmol_per_l.get("calcium", 0.0), mmol_per_l.get("sulphate", 0.0)
    if calcium and sulphate:
        rows.append(
            _row(
                "calcium with sulphate",
                math.sqrt(calcium * sulphate),
                GYPSUM_MMOL_PER_L,
                "mmol/L",
                "gypsum falls out above this; keep calcium in a bottle of its own",
                "PHREEQC, phreeqc.dat, 20 °C, Ca(NO3)2 with MgSO4",
            )
        )
    free_iron = any(grams > 0 and "iron" in this.ions and not this.chelate for this, grams in weighed.values())
    metals = [key for key in ("calcium", "manganese", "zinc", "copper") if mmol_per_l.get(key, 0.0) > 0]
    metals += ["iron"] if free_iron else []
    for partner, why in (
        ("phosphate", "their phosphates hardly dissolve"),
        ("bicarbonate", "their carbonates and hydroxides hardly dissolve"),
    ):
        if metals and mmol_per_l.get(partner, 0.0) > 0:
            rows.append(
                _row(
                    f"{', '.join(metals)} with {partner}",
                    float(len(metals)),
                    0.0,
                    "pairs",
                    f"{why}: make two bottles, and give them at different times",
                    "common practice, no source",
                )
            )
    return tuple(rows)


def _known(this: Salt) -> bool:
    return this.solubility_g_per_100_g_water is not None


def _solubility_row(this: Salt, grams: float, made_up_to_ml: float) -> StockCheck:
    assert this.solubility_g_per_100_g_water is not None
    # 100 mL of stock hold at most 99.8 g of water at 20 °C, less what the salts displace: the kindest case.
    at_most_g = this.solubility_g_per_100_g_water * 0.998 * made_up_to_ml / 100.0
    return _row(
        f"{this.key} dissolves",
        grams / at_most_g,
        SHARE_OF_SOLUBILITY,
        "of its solubility in pure water",
        "above 1 it cannot dissolve at 20 °C; near 1 it falls out in the cold or beside other salts",
        f"solubility at 20 °C: {this.solubility_from} (see salts.toml); margin: common practice, no source",
    )


def _row(name: str, value: float, limit: float, unit: str, comment: str, source: str) -> StockCheck:
    return StockCheck(name, value, "<=", limit, unit, value <= limit, comment, source)


def _check_amounts(salts_g: Mapping[str, float], made_up_to_ml: float) -> None:
    if not salts_g:
        raise StockError(what="no salt is weighed in", right='Give at least one, such as KNO3 = "33 g".')
    if not (math.isfinite(made_up_to_ml) and made_up_to_ml > 0):
        raise StockError(what=f"made up to {made_up_to_ml:g} mL", right="Give the final volume, above zero.")
    for name, grams in salts_g.items():
        if not (math.isfinite(grams) and grams >= 0):
            raise StockError(what=f"{grams:g} g of {name[:40]}", right="Give the grams weighed in, zero or more.")
    total_g = sum(salts_g.values())
    if total_g > 2.5 * made_up_to_ml:  # denser than any watery solution
        what = f"{total_g:g} g of salts in {made_up_to_ml:g} mL"
        raise StockError(
            what=what, right="That is more salt than water can hold; look at the units of mass and volume."
        )
