"""From sheet to sheet: the address of the next one, with what was written taken along."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from littoral.acts.mix_and_feed.bottle_form import BottleForm
from littoral.acts.mix_and_feed.cost_form import CostForm
from littoral.acts.mix_and_feed.figures import Figure
from littoral.acts.mix_and_feed.mix_form import Mixed, MixForm
from littoral.acts.mix_and_feed.water_form import BuiltWater, WaterForm
from littoral.acts.mix_and_feed.week_form import DoseForm, WeekForm
from littoral.quantities.preferred import filled_in
from littoral.web.mixing.fields import fields_of
from littoral.web.mixing.written import Written

FOLLOWED = ("nitrate", "phosphate", "potassium", "iron")


def onward(form: Any, found: Any) -> str:
    """Return the address of the sheet that goes on from a form and what was found; "" where nothing goes on."""
    if isinstance(form, MixForm) and isinstance(found, Mixed) and found.weigh_out:
        return _address("/week", _week_of_bottle(form, found), WeekForm())
    if isinstance(form, WaterForm) and isinstance(found, BuiltWater) and found.built is not None:
        water = found.built.water
        source = tuple((ion.nutrient, _filled(ion.level)) for ion in water.ions if ion.nutrient in FOLLOWED)
        hardness = next((_filled(line.figure) for line in water.hardness if line.unit == "dGH"), "")
        return _address("/week", WeekForm(source=source, hardness=hardness), WeekForm())
    if isinstance(form, WeekForm) and found is not None:
        costs = CostForm(
            name=form.name,
            currency=form.currency or "EUR",
            net_volume=form.net_volume,
            bottles=form.bottles,
            doses=form.doses,
            weekly=form.weekly,
        )
        return _address("/costs", costs, CostForm())
    return ""


def with_doses(form: WeekForm, doses: tuple[DoseForm, ...]) -> str:
    """Return the address of the same week with these doses, and no others."""
    return _address("/week", replace(form, doses=doses, weekly=()), WeekForm())


def _week_of_bottle(form: MixForm, mixed: Mixed) -> WeekForm:
    key = "-".join(form.name.casefold().split())[:40] or "stock"
    salts = tuple((line.salt, _filled(line.grams, 12)) for line in mixed.weigh_out)
    bottle = BottleForm(key=key, name=form.name, salts=salts, made_up_to=form.made_up_to, tool="1 mL")
    return WeekForm(
        net_volume=form.net_volume,
        bottles=(bottle,),
        doses=(DoseForm(key, form.dose, "Mon, Thu"),),
        apart=(),
        hardness=form.hardness,
        ph=form.tank_ph,
        temperature=form.temperature,
    )


def _address(path: str, form: Any, proposed: Any) -> str:
    written = Written({"whole": "1", **fields_of(form)}, proposed=fields_of(proposed), units={})
    return written.address(path)


def _filled(figure: Figure, digits: int = 3) -> str:
    """Return a figure as a field's text, to so many digits."""
    return filled_in(figure.value or 0.0, figure.unit, digits=digits)
