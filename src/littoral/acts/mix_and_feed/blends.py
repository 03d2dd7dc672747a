"""This water with pure water: how much of each has the hardness, or the alkalinity, that is wanted."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from littoral.acts.mix_and_feed.figures import Figure, figure
from littoral.acts.mix_and_feed.water_form import Blend
from littoral.chemistry.build_water import WaterTarget
from littoral.chemistry.mix_water import mixing_for
from littoral.chemistry.water_errors import WaterError
from littoral.chemistry.water_report import WaterPicture
from littoral.quantities.derivation import Step

UNIT = {"hardness": "dGH", "alkalinity": "dKH"}


def blends(
    source: WaterPicture, target: WaterTarget, *, volume_l: float, asked: Collection[str] = tuple(UNIT)
) -> tuple[Blend, ...]:
    """Return a mixture for each of the target's hardness and alkalinity that is asked; none where the report lacks it.

    `volume_l` is of the mixture.
    """
    wanted = {"hardness": target.gh_dgh, "alkalinity": target.kh_dkh}
    holds = _degrees(source)
    return tuple(_blend(what, wanted[what], holds, volume_l) for what in UNIT if what in holds and what in asked)


def _degrees(source: WaterPicture) -> dict[str, float]:
    by_unit: Mapping[str, Mapping[str, float] | None] = {"hardness": source.hardness, "alkalinity": source.alkalinity}
    # a degree that was typed is exact in its digits, and must stay so: 7 dKH come back as 7.000000000000001
    return {what: float(f"{found[UNIT[what]]:.12g}") for what, found in by_unit.items() if found is not None}


def _blend(what: str, wanted: float, holds: Mapping[str, float], volume_l: float) -> Blend:
    unit, other = UNIT[what], "alkalinity" if what == "hardness" else "hardness"
    asked, has = figure(wanted, unit), figure(holds[what], unit)
    try:
        found = mixing_for(wanted, first=holds[what], second=0.0, volume_l=volume_l, what=what)
    except WaterError as error:
        return Blend(
            what, asked, has, None, None, other, None, f"this water has {has.text}, pure water none. {error.right}"
        )
    steps = tuple(replace(step, what=step.what.replace("the first water", "this water")) for step in found.steps)
    rest = Step("pure water", f"{volume_l:g} L - {found.first_l:.4g} L", f"{found.second_l:.4g} L")
    beside: Figure | None = None
    if other in holds:
        value = found.share * holds[other]
        formula = f"{100 * found.share:.1f} % of {holds[other]:.4g} {UNIT[other]}"
        along = Step(f"{other} of the mixture", formula, f"{value:.3g} {UNIT[other]}", f"{other} mixes in proportion")
        beside = figure(value, UNIT[other], steps=(*steps[:1], along))
    return Blend(
        what=what,
        wanted=asked,
        holds=has,
        this_water=figure(found.first_l, "L", steps=steps),
        pure_water=figure(found.second_l, "L", steps=(*steps, rest)),
        other_what=other,
        other=beside,
        why_not="",
    )
