"""Building water: which salts, in whole scoops or steps of a scale, bring pure or mixed water to a target.

Calcium, magnesium and alkalinity are three targets, all counted in meq/L. First the best amounts without steps, by
non-negative least squares; then the best whole numbers of steps by mixed-integer programming (see `whole_steps`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from littoral.chemistry.hardness import alkalinity_of_ions_meq_per_l, hardness_of_ions_mmol_per_l
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.raising import effect_of_gram
from littoral.chemistry.salts import salt
from littoral.chemistry.water_errors import WaterError, require, require_levels
from littoral.chemistry.whole_steps import grams_without_steps, whole_steps
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step
from littoral.quantities.hardness import alkalinity_in, alkalinity_meq_per_l, hardness_in, hardness_mmol_per_l

AIMS = ("calcium", "magnesium", "bicarbonate")
CHARGE = {"calcium": 2, "magnesium": 2, "bicarbonate": 1}
MOST_SALTS = 12
CARE = (
    "Weigh and dissolve in a separate container, not in the tank; gypsum takes hours and stirring. Test hardness and "
    "alkalinity before use, and bring animals to other water slowly: a sudden change of hardness can harm them. "
    "Keep powders from eyes, lungs and children; the supplier's safety data sheet decides."
)
"""What to say beside a weigh-out list."""


@dataclass(frozen=True, slots=True)
class WaterTarget:
    """A water to build: hardness in dGH, alkalinity in dKH, and how many mg of calcium there are to one of magnesium.

    `calcium_to_magnesium` of 0 means magnesium only, infinity calcium only.
    """

    gh_dgh: float
    kh_dkh: float
    calcium_to_magnesium: float

    def level_mg_per_l(self) -> dict[str, float]:
        """Return calcium, magnesium and bicarbonate, mg/L. Raises WaterError where a number is impossible."""
        require(self.gh_dgh, what="the target's hardness", low=0.0, high=60.0, unit="dGH", why="fresh water")
        require(self.kh_dkh, what="the target's alkalinity", low=0.0, high=60.0, unit="dKH", why="fresh water")
        if not self.calcium_to_magnesium >= 0:  # NaN too
            what = f"a calcium to magnesium ratio of {self.calcium_to_magnesium:g}"
            raise WaterError(what=what, right="Give how many mg of calcium there are to one of magnesium, 0 or more.")
        mmol = hardness_mmol_per_l(self.gh_dgh, unit="dGH")
        calcium_weight, magnesium_weight = NUTRIENTS["calcium"].weight, NUTRIENTS["magnesium"].weight
        if math.isinf(self.calcium_to_magnesium):
            magnesium = 0.0
        else:
            magnesium = mmol / (self.calcium_to_magnesium / calcium_weight + 1.0 / magnesium_weight)
        calcium = (mmol - magnesium / magnesium_weight) * calcium_weight
        bicarbonate = alkalinity_meq_per_l(self.kh_dkh, unit="dKH") * NUTRIENTS["bicarbonate"].weight
        return {"calcium": max(calcium, 0.0), "magnesium": magnesium, "bicarbonate": bicarbonate}


@dataclass(frozen=True, slots=True)
class SaltOnShelf:
    """A salt to build with: the grams of one step of the scale or of one level scoop, and its purity (0 to 1).

    A scoop's grams are those of a weighed level one; powders differ in how they lie, so weigh ten and divide.
    """

    salt: str
    step_g: float = 0.1
    purity: float = 1.0
    scoop: str = ""  # what a person calls the step; empty for a scale


@dataclass(frozen=True, slots=True)
class Weighing:
    """One line of the weigh-out list: whole `steps`, their grams, and the grams without steps for comparison."""

    salt: str
    steps: int
    step_g: float
    grams: float
    exact_g: float
    scoop: str
    hazard: str


@dataclass(frozen=True, slots=True)
class BuiltWater:
    """What to weigh, the water that results (mg/L by nutrient), its degrees, what misses the target, and why."""

    weighings: tuple[Weighing, ...]
    levels_mg_per_l: Mapping[str, float]
    gh_dgh: float
    kh_dkh: float
    calcium_to_magnesium: float | None
    deviation_meq_per_l: float
    checks: tuple[CheckRow, ...]
    steps: tuple[Step, ...] = field(default=())


def build_water(
    target: WaterTarget,
    *,
    shelf: Sequence[SaltOnShelf],
    volume_l: float,
    base_mg_per_l: Mapping[str, float] | None = None,
    tolerance_meq_per_l: float = 0.05,
) -> BuiltWater:
    """Return what to weigh into `volume_l` litres of base water to come as near a target as whole steps allow.

    `base_mg_per_l` are the levels of the water to start from, pure water where None (see `mix_water` for a mixture).
    A check holds where calcium, magnesium and alkalinity each come within `tolerance_meq_per_l` (0.05 is 0.14 dGH).
    Raises WaterError for impossible numbers, UnknownSaltError for an unknown salt.
    """
    base = dict(base_mg_per_l or {})
    require_levels(base)
    _check_shelf(shelf, volume_l)
    require(tolerance_meq_per_l, what="the tolerance", low=0.0, high=10.0, unit="meq/L")
    wanted = target.level_mg_per_l()
    effects = [effect_of_gram(item.salt, volume_l=volume_l, purity=item.purity).adds_mg_per_l for item in shelf]
    missing = [_meq(key, wanted[key] - base.get(key, 0.0)) for key in AIMS]
    per_gram = [[_meq(key, effect.get(key, 0.0)) for effect in effects] for key in AIMS]
    unasked = [sum(mg for key, mg in effect.items() if key not in AIMS) for effect in effects]
    exact = grams_without_steps(per_gram, missing, unasked)
    counts = whole_steps(per_gram, missing, unasked, [item.step_g for item in shelf])
    levels = dict(base)
    for count, item, effect in zip(counts, shelf, effects, strict=True):
        for key, mg in effect.items():
            levels[key] = levels.get(key, 0.0) + count * item.step_g * mg
    weighings = tuple(
        Weighing(
            salt(item.salt).key,
            count,
            item.step_g,
            count * item.step_g,
            grams,
            item.scoop,
            salt(item.salt).hazard_text,
        )
        for item, count, grams in zip(shelf, counts, exact, strict=True)
    )
    gh = hardness_in(hardness_of_ions_mmol_per_l(levels), unit="dGH")
    kh = alkalinity_in(alkalinity_of_ions_meq_per_l(levels), unit="dKH")
    calcium, magnesium = levels.get("calcium", 0.0), levels.get("magnesium", 0.0)
    apart = [_meq(key, levels.get(key, 0.0) - wanted[key]) for key in AIMS]
    return BuiltWater(
        weighings=weighings,
        levels_mg_per_l=MappingProxyType(levels),
        gh_dgh=gh,
        kh_dkh=kh,
        calcium_to_magnesium=calcium / magnesium if magnesium else None,
        deviation_meq_per_l=sum(abs(one) for one in apart),
        checks=tuple(_check(key, one, base, wanted, tolerance_meq_per_l) for key, one in zip(AIMS, apart, strict=True)),
        steps=_steps(target, wanted, base, weighings, effects, levels),
    )


def _meq(key: str, mg_per_l: float) -> float:
    return CHARGE[key] * mg_per_l / NUTRIENTS[key].weight


def _check_shelf(shelf: Sequence[SaltOnShelf], volume_l: float) -> None:
    if not shelf:
        raise WaterError(what="no salt to build with", right="Give at least one, such as CaSO4·2H2O.")
    if len(shelf) > MOST_SALTS:
        raise WaterError(what=f"{len(shelf)} salts to build with", right=f"Choose at most {MOST_SALTS}.")
    keys = [salt(item.salt).key for item in shelf]
    for key in keys:
        if keys.count(key) > 1:
            raise WaterError(what=f"{key} is on the shelf twice", right="Name each salt once.")
    for item in shelf:
        if not (math.isfinite(item.step_g) and item.step_g > 0):
            what = f"a step of {item.step_g:g} g for {item.salt}"
            raise WaterError(what=what, right="Give the grams of one step of the scale, or of one level scoop.")
    if not (math.isfinite(volume_l) and volume_l > 0):
        raise WaterError(what=f"a volume of {volume_l:g} L", right="Give the litres of water, above zero.")


def _check(
    key: str, apart: float, base: Mapping[str, float], wanted: Mapping[str, float], tolerance: float
) -> CheckRow:
    name = "alkalinity" if key == "bicarbonate" else key
    holds = abs(apart) <= tolerance
    if holds:
        comment = "Within the tolerance."
    elif base.get(key, 0.0) > wanted[key]:
        comment = "The water to start from holds more than the target; only purer water lowers it."
    elif apart < 0:
        comment = "Short of it: no salt on the shelf brings it, or its step is too coarse."
    else:
        comment = "Over it: a salt brings this along, or its step is too coarse."
    unit = "meq/L"
    return CheckRow(
        f"{name}, reached less wanted", apart, "|x| <=", tolerance, unit, "holds" if holds else "warns", comment, ""
    )


def _steps(
    target: WaterTarget,
    wanted: Mapping[str, float],
    base: Mapping[str, float],
    weighings: Sequence[Weighing],
    effects: Sequence[Mapping[str, float]],
    levels: Mapping[str, float],
) -> tuple[Step, ...]:
    lines = [
        Step(
            "target as levels",
            f"{target.gh_dgh:g} dGH, {target.kh_dkh:g} dKH, Ca : Mg = {target.calcium_to_magnesium:g} : 1 by mass",
            ", ".join(f"{NUTRIENTS[key].symbol} {wanted[key]:.3g} mg/L" for key in AIMS),
            "1 degree is 10 mg CaO per litre",
        )
    ]
    lines += [
        Step(
            weighing.salt,
            f"{weighing.steps} x {weighing.step_g:g} g (without steps {weighing.exact_g:.3f} g)",
            ", ".join(f"{NUTRIENTS[k].symbol} +{weighing.grams * mg:.3g}" for k, mg in effect.items()) + " mg/L",
            "least deviation in whole steps",
        )
        for weighing, effect in zip(weighings, effects, strict=True)
    ]
    for key in dict.fromkeys((*AIMS, *levels)):
        added = " + ".join(
            f"{weighing.grams * effect[key]:.3g}"
            for weighing, effect in zip(weighings, effects, strict=True)
            if key in effect and weighing.steps
        )
        formula = f"{base.get(key, 0.0):.3g} + {added or '0'}"
        formula += f" (wanted {wanted[key]:.3g})" if key in wanted else ""
        lines.append(Step(f"{NUTRIENTS[key].name} reached", formula, f"{levels.get(key, 0.0):.3g} mg/L", ""))
    return tuple(lines)
