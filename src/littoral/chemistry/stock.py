"""Stock solutions weighed from salts: what a millilitre holds. Whether it stays clear: `stock_checks`."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import OwnSubstance, Substance, substance
from littoral.errors import LittoralError
from littoral.quantities.derivation import Step

DENSEST_G_PER_ML = 2.5  # more salt than this per mL of bottle is denser than any watery solution


class StockError(LittoralError):
    """A stock solution cannot be as written."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"stock solution: {what}. {right}")


def content_of_stock(
    salts_g: Mapping[str, float],
    *,
    made_up_to_ml: float,
    own: Sequence[OwnSubstance] = (),
    purity: Mapping[str, float] | None = None,
) -> dict[str, float]:
    """Return what one mL of a stock holds: mg of each nutrient per mL.

    `salts_g` maps substances (as `own_substances.substance` reads them) to the grams weighed in; water is added until
    the whole is `made_up_to_ml` millilitres. `purity` is the mass fraction (0 to 1) of those that are not pure, by the
    same names. Raises UnknownSaltError; StockError where a mass, a purity or the volume cannot be.
    """
    check_amounts(salts_g, made_up_to_ml, purity or {})
    content: dict[str, float] = {}
    for name, grams in salts_g.items():
        pure = (purity or {}).get(name, 1.0)
        for key, mg_per_g in substance(name, own).content_mg_per_g.items():
            content[key] = content.get(key, 0.0) + mg_per_g * pure * grams / made_up_to_ml
    return content


def content_of_stock_steps(
    salts_g: Mapping[str, float],
    *,
    made_up_to_ml: float,
    own: Sequence[OwnSubstance] = (),
    purity: Mapping[str, float] | None = None,
) -> tuple[Step, ...]:
    """Return how `content_of_stock` came about: a line for each salt and nutrient, in mg per mL. Raises the same."""
    check_amounts(salts_g, made_up_to_ml, purity or {})
    steps = []
    for name, grams in salts_g.items():
        this, pure = substance(name, own), (purity or {}).get(name, 1.0)
        for key, mg_per_g in this.content_mg_per_g.items():
            times = f" × {pure:g} (purity)" if pure != 1.0 else ""
            steps.append(
                Step(
                    f"{NUTRIENTS[key].symbol} from {this.key}",
                    f"{grams:g} g × {mg_per_g:.5g} mg/g{times} / {made_up_to_ml:g} mL",
                    f"{grams * mg_per_g * pure / made_up_to_ml:.5g} mg/mL",
                    _share_source(this, key),
                )
            )
    return tuple(steps)


def weighed(salts_g: Mapping[str, float], own: Sequence[OwnSubstance] = ()) -> list[tuple[Substance, float]]:
    """Return each substance of a stock with its grams. Raises UnknownSaltError."""
    return [(substance(name, own), grams) for name, grams in salts_g.items()]


def mmol_per_l(content_mg_per_ml: Mapping[str, float]) -> dict[str, float]:
    """Return a content in mmol/L of each nutrient, from mg per mL."""
    return {key: 1000.0 * mg_per_ml / NUTRIENTS[key].weight for key, mg_per_ml in content_mg_per_ml.items()}


def check_ph(ph: float) -> None:
    """Raise StockError for a pH outside 0 to 14."""
    if not (math.isfinite(ph) and 0 <= ph <= 14):
        raise StockError(what=f"a pH of {ph:g}", right="Give a pH from 0 to 14.")


def check_amounts(
    salts_g: Mapping[str, float], made_up_to_ml: float, purity: Mapping[str, float] | None = None
) -> None:
    """Raise StockError where the grams, the volume in mL or a purity cannot be."""
    if not salts_g:
        raise StockError(what="no salt is weighed in", right='Give at least one, such as KNO3 = "33 g".')
    if not (math.isfinite(made_up_to_ml) and made_up_to_ml > 0):
        raise StockError(what=f"made up to {made_up_to_ml:g} mL", right="Give the final volume, above zero.")
    for name, grams in salts_g.items():
        if not (math.isfinite(grams) and grams >= 0):
            raise StockError(what=f"{grams:g} g of {name[:40]}", right="Give the grams weighed in, zero or more.")
    for name, share in (purity or {}).items():
        if not 0 < share <= 1:
            raise StockError(what=f"a purity of {share:g} for {name[:40]}", right="Give a fraction up to 1: 0.98.")
        if name not in salts_g:
            raise StockError(what=f"a purity for {name[:40]}, which is not weighed in", right="Use the same name.")
    total_g = sum(salts_g.values())
    if total_g > DENSEST_G_PER_ML * made_up_to_ml:
        what = f"{total_g:g} g of salts in {made_up_to_ml:g} mL"
        raise StockError(
            what=what, right="That is more salt than water can hold; look at the units of mass and volume."
        )


def _share_source(this: Substance, key: str) -> str:
    if isinstance(this, OwnSubstance):
        return f"{this.name}: from {this.source}"
    count, ion = this.ions[key], NUTRIENTS[key]
    return f"{count} × {ion.weight:.3f} / {this.weight:.3f} g/mol, standard atomic weights"
