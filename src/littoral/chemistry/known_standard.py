"""A known standard to test a test with: how to make one at home, from a salt, and what it then holds.

The salt goes into a strong solution first, since a kitchen scale cannot see the milligrams of a weak one; a measured
part of that is diluted. What the tool of each step leaves of doubt is carried along.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import Salt, salt
from littoral.chemistry.stock import StockError, content_of_stock, content_of_stock_steps
from littoral.quantities.derivation import Step

STANDARD_SALTS = MappingProxyType(
    {
        "nitrate": ("KNO3", 20.0),
        "phosphate": ("KH2PO4", 1.0),
        "potassium": ("KCl", 20.0),
        "ammonium": ("NH4Cl", 1.0),
        "calcium": ("CaCl2·2H2O", 50.0),
        "magnesium": ("MgSO4·7H2O", 10.0),
        "bicarbonate": ("NaHCO3", 87.0),
    }
)
"""For each nutrient a salt that keeps and weighs well, and a level in mg/L *as the ion* in the middle of usual tests.

Not here: nitrite, whose salts are poisons; iron, whose plain salts rust out of the water within the hour.
"""
DILUTIONS = (100.0, 200.0, 500.0, 1000.0)
VOLUME_ERROR = 0.01
"""One standard deviation of a litre or of some mL measured with a good syringe; common practice, no source."""
PURITY_ERROR = 0.01
"""One standard deviation of what is not known of a food-grade salt's purity and moisture; common practice."""
CAUTION = (
    "Gloves and eye protection. Read the salt's safety data sheet. Write on both bottles what they hold, how strong "
    "and from when, and 'not to drink'; keep them away from children, food and the tank itself. Pour leftovers away "
    "as local rules say."
)


@dataclass(frozen=True, slots=True)
class KnownStandard:
    """How to make a standard: `grams` into `stock_l` litres, of that `take_ml` into `diluted_l` litres.

    `mg_per_l` is what it holds of `nutrient` as the ion, with `relative_sd`, one standard deviation as a share.
    `lines` are for the person, in order; `caution` stands beside them.
    """

    nutrient: str
    salt: str
    grams: float
    stock_l: float
    take_ml: float
    diluted_l: float
    mg_per_l: float
    relative_sd: float
    lines: tuple[str, ...]
    caution: str
    steps: tuple[Step, ...]


def known_standard(
    nutrient: str, *, target_mg_per_l: float | None = None, from_salt: str | None = None, scale_step_g: float = 0.01
) -> KnownStandard:
    """Return how to make about `target_mg_per_l` (as the ion) of a nutrient, one litre, with a scale of that step.

    Without a target, one in the middle of usual tests is taken. The weakest of the strong solutions is chosen that lets
    the scale weigh to 1 %. Raises StockError: no such standard, a target that cannot be, a scale too coarse; and
    UnknownSaltError.
    """
    if nutrient not in STANDARD_SALTS and (from_salt is None or target_mg_per_l is None):
        named = ", ".join(STANDARD_SALTS)
        raise StockError(what=f"no standard for {nutrient[:40]}", right=f"Give salt and target, or one of: {named}.")
    usual_salt, usual_target = STANDARD_SALTS.get(nutrient, ("", 0.0))
    source = salt(from_salt or usual_salt)
    target = usual_target if target_mg_per_l is None else target_mg_per_l
    if not (math.isfinite(target) and target > 0):
        raise StockError(what=f"a standard of {target:g} mg/L", right="Give what it should hold, above zero.")
    if not (math.isfinite(scale_step_g) and scale_step_g > 0):
        raise StockError(what=f"a scale that shows {scale_step_g:g} g", right="Give its smallest step: 0.01 g.")
    per_g = source.content_mg_per_g.get(nutrient, 0.0)
    if per_g <= 0:
        raise StockError(what=f"{source.key} for {nutrient}", right=f"It brings none; choose a salt of {nutrient}.")
    fine_enough = [times for times in DILUTIONS if target * times / per_g >= 50.0 * scale_step_g]
    if not fine_enough:
        right = f"Make it stronger, or weigh with a finer scale than {scale_step_g:g} g."
        raise StockError(what=f"{target:g} mg/L of {nutrient} needs too little {source.key} to weigh", right=right)
    return _made(nutrient, source, target, fine_enough[0], scale_step_g)


def _made(nutrient: str, source: Salt, target: float, times: float, scale_step_g: float) -> KnownStandard:
    per_g = source.content_mg_per_g[nutrient]
    exact_g = target * times / per_g
    grams = float(f"{round(exact_g / scale_step_g) * scale_step_g:.10g}")
    take_ml = 1000.0 / times
    weighed = {source.key: grams}
    per_ml = content_of_stock(weighed, made_up_to_ml=1000.0)[nutrient]
    mg_per_l = per_ml * take_ml
    weighing = scale_step_g / math.sqrt(12.0) / grams  # one standard deviation of a number cut to steps
    relative_sd = math.sqrt(weighing**2 + PURITY_ERROR**2 + 3 * VOLUME_ERROR**2)
    ion = NUTRIENTS[nutrient]
    lines = (
        f"Weigh {grams:g} g of {source.name} ({source.key}), dry and pure.",
        "Dissolve it in about 900 mL of distilled or reverse-osmosis water, then fill up to 1 L: the strong solution.",
        f"Measure {take_ml:g} mL of the strong solution with a syringe into 1 L, filled up with the same water.",
        f"That is the standard: {mg_per_l:.3g} mg/L of {ion.name} ({ion.formula}), about ±{200 * relative_sd:.0f} %.",
        "Read it with your test at least three times, as you read the tank: same light, same time, without looking at "
        "the earlier results.",
        "Make the weak one anew on the day of the test. The strong one keeps for weeks, cool and dark.",
    )
    error = f"√({100 * weighing:.2g}² scale + {100 * PURITY_ERROR:g}² purity + 3 x {100 * VOLUME_ERROR:g}² volumes) %"
    steps = (
        Step(
            "to weigh",
            f"{target:g} mg/L x {times:g} / {source.content_mg_per_g[nutrient]:.5g} mg/g",
            f"{exact_g:.4g} g",
        ),
        *(
            step
            for step in content_of_stock_steps(weighed, made_up_to_ml=1000.0)
            if step.what.startswith(f"{ion.symbol} ")
        ),
        Step("in the standard", f"{per_ml:.5g} mg/mL x {take_ml:g} mL / 1 L", f"{mg_per_l:.4g} mg/L"),
        Step("one standard deviation", error, f"{100 * relative_sd:.2g} %", "common practice, no source"),
    )
    return KnownStandard(
        nutrient=nutrient,
        salt=source.key,
        grams=grams,
        stock_l=1.0,
        take_ml=take_ml,
        diluted_l=1.0,
        mg_per_l=mg_per_l,
        relative_sd=relative_sd,
        lines=lines,
        caution=f"{source.key}: {source.hazard_text}. {CAUTION}",
        steps=steps,
    )
