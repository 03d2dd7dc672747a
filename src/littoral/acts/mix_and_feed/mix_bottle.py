"""Mix a bottle: from salts, from a target or from a published recipe, to a weigh-out list, its checks and its label."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.acts.mix_and_feed.bottle_words import (
    HOME_AID,
    composition_of,
    dose_words,
    holds_of,
    how_to_make,
    keep_words,
    mixing_cautions,
)
from littoral.acts.mix_and_feed.figures import Figure, Refused, exact, figure, plain
from littoral.acts.mix_and_feed.mix_form import HOW, Mixed, MixForm, NutrientLine, SplitLine, WeighLine
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import LARGEST_BOTTLE_ML, LARGEST_TANK_L, read_grams, read_own, today_or
from littoral.acts.mix_and_feed.stopping import Conditions, Stopped, read_conditions, stopped, untold
from littoral.chemistry.bottle_hazards import BottleHazards, bottle_hazards
from littoral.chemistry.clashes import split_bottles
from littoral.chemistry.dose_targets import added_by_dose, target_of_dose
from littoral.chemistry.ghs import ghs_label
from littoral.chemistry.keeping import Keeping, keeping_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import OwnSubstance, substance
from littoral.chemistry.recipes import Recipe, recipe
from littoral.chemistry.stock import content_of_stock, content_of_stock_steps
from littoral.chemistry.stock_checks import check_stock
from littoral.chemistry.unit_traps import unit_trap
from littoral.chemistry.weighing import WeighOut, weigh_out, weigh_out_recipe
from littoral.publish.pdf.bottle_label import BottleLabel
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class _Read:
    """The form in canonical units."""

    salts_g: dict[str, float]
    target_mg_per_l: dict[str, float]
    recipe: Recipe | None
    times: float
    own: tuple[OwnSubstance, ...]
    made_up_to_ml: float
    scale_step_g: float
    dose_ml: float
    net_volume_l: float
    in_water_mg_per_l: dict[str, float]
    coldest_c: float
    here: Conditions
    made_on: date


def mix_bottle(form: MixForm, *, today: date | None = None) -> Mixed | Refused:
    """Return the bottle that a form asks for, or every mistake in it.

    `today` is when it is made unless the form says so; this computer's date unless given. While a dose would pass a
    published limit and no reason overrides it, the weigh-out list, the instructions and the label are left out.
    """
    reading = Reading(form)
    read = _read(reading, form, today)
    if read is None:
        return Refused(tuple(reading.faults))
    found: Mixed | None = None
    with reading.trying("target" if form.how == "target" else "recipe" if form.how == "recipe" else "salts"):
        found = _mixed(form, read)
    return Refused(tuple(reading.faults)) if found is None else found


def _read(reading: Reading, form: MixForm, today: date | None) -> _Read | None:
    how = reading.one_of("how", form.how, HOW)
    own = read_own(reading, form.own)
    salts_g: dict[str, float] = {}
    target: dict[str, float] = {}
    known: Recipe | None = None
    times: float | None = 1.0
    if how == "recipe":
        with reading.trying("recipe"):
            known = recipe(form.recipe)
        times = reading.number("times", form.times, low=0.001, high=1e6)
        for line, name in enumerate(form.only, start=1):
            with reading.trying("only", line=line):
                salts_g[substance(name).key] = 0.0
    else:
        salts_g = read_grams(reading, "salts", form.salts, own, needed=how == "salts")
    if how == "target":
        target = reading.nutrients("target", form.target)
    made_up_to = reading.amount("made_up_to", form.made_up_to, "dose volume", at_most=LARGEST_BOTTLE_ML)
    scale = reading.amount("scale_step", form.scale_step, "mass", at_most=1000.0)
    dose = reading.amount("dose", form.dose, "dose volume", at_most=LARGEST_BOTTLE_ML)
    net = reading.amount("net_volume", form.net_volume, "volume", at_most=LARGEST_TANK_L)
    coldest = reading.amount("coldest", form.coldest, "temperature")
    if coldest is not None and not -5 <= coldest <= 50:
        reading.wrong("coldest", f"is {coldest:g} °C, where no stock is kept.", "Give -5 to 50 °C.")
    in_water = reading.nutrients("in_water", form.in_water)
    here = read_conditions(reading, form.hardness, form.tank_ph, form.temperature, ph_field="tank_ph")
    made_on = reading.day("made_on", form.made_on)
    numbers = (made_up_to, scale, dose, net, coldest, times)
    if reading.faults or any(value is None for value in numbers):
        return None
    assert made_up_to is not None
    assert scale is not None
    assert dose is not None
    assert net is not None
    assert coldest is not None
    assert times is not None
    return _Read(
        salts_g=salts_g,
        target_mg_per_l=target,
        recipe=known,
        times=times,
        own=own,
        made_up_to_ml=made_up_to,
        scale_step_g=scale,
        dose_ml=dose,
        net_volume_l=net,
        in_water_mg_per_l=in_water,
        coldest_c=coldest,
        here=here,
        made_on=today_or(made_on, today),
    )


def _mixed(form: MixForm, read: _Read) -> Mixed:
    weighed = _weighed(form, read)
    grams = dict(read.salts_g) if weighed is None else {key: g for key, g in weighed.grams.items() if g > 0}
    own, made_up_to = read.own, read.made_up_to_ml
    content = content_of_stock(grams, made_up_to_ml=made_up_to, own=own)
    adds = added_by_dose(content, net_volume_l=read.net_volume_l, dose_ml=read.dose_ml)
    before = read.in_water_mg_per_l
    peak = {key: before.get(key, 0.0) + adds.get(key, 0.0) for key in {**before, **adds}}
    tank = stopped(peak, before, read.here, anyway=form.anyway)
    hazards = bottle_hazards(grams, made_up_to_ml=made_up_to, own=own)
    keeping = keeping_of(grams, own=own)
    discard = read.made_on + timedelta(days=keeping.days)
    stands = tank.stop is not None and tank.stop.stands
    name = " ".join(form.name.split()) or "stock solution"
    lines = tuple(_nutrient_line(key, grams, read, content, adds) for key in content)
    return Mixed(
        name=name,
        made_up_to_ml=made_up_to,
        weigh_out=() if stands else _weigh_lines(grams, weighed, own, read),
        how_to=() if stands else how_to_make(grams, made_up_to_ml=made_up_to, own=own),
        nutrients=lines,
        checks=_checks(grams, weighed, read),
        hazards=hazards.rows,
        limits=tank.rows,
        stop=tank.stop,
        split=_split(grams, own),
        keeps=figure(float(keeping.days), "days", steps=_keeping_steps(keeping)),
        discard_after=discard.isoformat(),
        cautions=(*mixing_cautions(grams, hazards, own), *untold(tank.rows)),
        source="" if read.recipe is None else read.recipe.source,
        label=None if stands else _label(name, grams, read, adds, content, hazards, keeping, discard, form, tank),
    )


def _weighed(form: MixForm, read: _Read) -> WeighOut | None:
    if form.how == "target":
        asked = target_of_dose(read.target_mg_per_l, net_volume_l=read.net_volume_l, dose_ml=read.dose_ml)
        return weigh_out(
            asked, tuple(read.salts_g), made_up_to_ml=read.made_up_to_ml, scale_step_g=read.scale_step_g, own=read.own
        )
    if read.recipe is not None:
        return weigh_out_recipe(
            read.recipe,
            times=read.times,
            made_up_to_ml=read.made_up_to_ml,
            scale_step_g=read.scale_step_g,
            only=tuple(read.salts_g),
        )
    return None


def _weigh_lines(
    grams: Mapping[str, float], weighed: WeighOut | None, own: Sequence[OwnSubstance], read: _Read
) -> tuple[WeighLine, ...]:
    lines = []
    for key, g in grams.items():
        this = substance(key, own)
        without = g if weighed is None else weighed.exact_g[key]
        steps = _exact_steps(key, without, weighed, read)
        rounded = Step(
            "to the scale", f"{without:.5g} g in steps of {read.scale_step_g:g} g", f"{g:g} g", "best rounding"
        )
        lines.append(
            WeighLine(
                salt=this.short,
                name=this.name,
                grams=Figure(exact(g, "g").text, g, "g", steps if weighed is None else (*steps, rounded)),
                exact=figure(without, "g", steps=steps, digits=5),
                hazard=this.hazard_text,
                storage=() if isinstance(this, OwnSubstance) else this.storage,
            )
        )
    return tuple(lines)


def _exact_steps(key: str, grams: float, weighed: WeighOut | None, read: _Read) -> tuple[Step, ...]:
    if weighed is None:
        return (Step(key, "as you wrote it", f"{grams:g} g", "your own figure"),)
    if read.recipe is not None:
        mg = read.recipe.salts_mg_per_l[key]
        formula = f"{mg:g} mg/L × {read.times:g} × {read.made_up_to_ml:g} mL / 1e6"
        return (Step(key, formula, f"{grams:.5g} g", read.recipe.source),)
    asked = ", ".join(
        f"{row.asked_mg_per_ml:.4g} mg/mL {row.nutrient}" for row in weighed.reached if row.asked_mg_per_ml
    )
    how = "non-negative least squares of relative errors, then the best rounding to the scale's step"
    return (Step(key, f"so that the bottle holds {asked}", f"{grams:.5g} g", how),)


def _nutrient_line(
    key: str,
    grams: Mapping[str, float],
    read: _Read,
    content: Mapping[str, float],
    adds: Mapping[str, float],
) -> NutrientLine:
    nutrient = NUTRIENTS[key]
    in_bottle = _content_steps(key, grams, read, content[key])
    dosed = Step(
        f"{nutrient.name} of one dose",
        f"{content[key]:.5g} mg/mL × {read.dose_ml:g} mL / {read.net_volume_l:g} L",
        f"{adds[key]:.4g} mg/L",
        "conservation of mass; net volume",
    )
    share = Step(
        f"as {nutrient.element}", f"{adds[key]:.4g} × {nutrient.element_share:.4f}",
        f"{adds[key] * nutrient.element_share:.4g} mg/L", "standard atomic weights",
    )  # fmt: skip
    asked: Figure | None = None
    off: Figure | None = None
    if key in read.target_mg_per_l:
        wanted = read.target_mg_per_l[key]
        asked = figure(wanted, "mg/L")
        if wanted > 0:
            error = 100.0 * (adds[key] / wanted - 1.0)
            why = Step("off the target", f"{adds[key]:.5g} / {wanted:g} - 1", f"{error:+.2g} %", "the scale's steps")
            off = figure(error, "%", steps=(why,), digits=2, sign=True)
    return NutrientLine(
        nutrient=key,
        symbol=nutrient.symbol,
        name=nutrient.name,
        in_bottle=figure(content[key], "mg/mL", steps=in_bottle, digits=4),
        adds=figure(adds[key], "mg/L", steps=(*in_bottle, dosed)),
        element=figure(adds[key] * nutrient.element_share, f"mg/L {nutrient.element}", steps=(dosed, share)),
        asked=asked,
        off=off,
        trap=unit_trap(key) or "",
    )


def _content_steps(key: str, grams: Mapping[str, float], read: _Read, total: float) -> tuple[Step, ...]:
    symbol = NUTRIENTS[key].symbol
    every = content_of_stock_steps(grams, made_up_to_ml=read.made_up_to_ml, own=read.own)
    steps = [step for step in every if step.what.startswith(f"{symbol} from ")]
    if len(steps) > 1:
        parts = " + ".join(step.result.removesuffix(" mg/mL") for step in steps)
        steps.append(Step(f"{symbol} in the bottle", parts, f"{total:.5g} mg/mL"))
    return tuple(steps)


def _checks(grams: Mapping[str, float], weighed: WeighOut | None, read: _Read) -> tuple[CheckRow, ...]:
    rows = () if weighed is None else weighed.rows
    of_stock = check_stock(
        grams,
        made_up_to_ml=read.made_up_to_ml,
        coldest_celsius=read.coldest_c,
        tank_ph=read.here.ph,
        own=read.own,
    )
    return (*rows, *of_stock)


def _split(grams: Mapping[str, float], own: Sequence[OwnSubstance]) -> tuple[SplitLine, ...]:
    return tuple(
        SplitLine(
            group.salts,
            tuple(dict.fromkeys(f"{clash.one} with {clash.other}: {clash.why}" for clash in group.apart_because)),
        )
        for group in split_bottles(grams, own)
    )


def _keeping_steps(keeping: Keeping) -> tuple[Step, ...]:
    rows = tuple(Step(row.what, row.comment, f"{plain(row.value or 0.0)} days", row.source) for row in keeping.rows)
    return (*rows, Step("the shortest of them", "no promise that it is still good", f"{keeping.days} days"))


def _label(
    name: str,
    grams: Mapping[str, float],
    read: _Read,
    adds: Mapping[str, float],
    content: Mapping[str, float],
    hazards: BottleHazards,
    keeping: Keeping,
    discard: date,
    form: MixForm,
    tank: Stopped,
) -> BottleLabel:
    return BottleLabel(
        name=name,
        volume=f"{plain(read.made_up_to_ml, 6)} mL",
        composition=composition_of(grams, read.own),
        holds=holds_of(content),
        dose=dose_words(adds, dose_ml=read.dose_ml, net_volume_l=read.net_volume_l),
        made_on=read.made_on.isoformat(),
        discard_after=discard.isoformat(),
        keep=keep_words(keeping),
        ghs=ghs_label(hazards.codes),
        not_told=(*hazards.not_told, HOME_AID),
        url=form.page_url.strip(),
        anyway=tank.stop.anyway if tank.stop is not None else "",
    )
