"""Mix a bottle: from salts, from a target or from a published recipe, to a weigh-out list, its checks and its label."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
from littoral.acts.mix_and_feed.figures import Figure, Refused, figure, plain
from littoral.acts.mix_and_feed.label_readings import label_checks, label_readings
from littoral.acts.mix_and_feed.mix_form import Mixed, MixForm, NutrientLine, SplitLine
from littoral.acts.mix_and_feed.mix_reading import ReadMix, read_mix
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.stopping import Stopped, stopped, untold
from littoral.acts.mix_and_feed.weigh_lines import weigh_lines
from littoral.chemistry.bottle_hazards import BottleHazards, bottle_hazards
from littoral.chemistry.clashes import split_bottles
from littoral.chemistry.dose_targets import added_by_dose, target_of_dose
from littoral.chemistry.ghs import ghs_label
from littoral.chemistry.keeping import Keeping, keeping_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import OwnSubstance
from littoral.chemistry.stock import content_of_stock, content_of_stock_steps
from littoral.chemistry.stock_checks import check_stock
from littoral.chemistry.unit_traps import unit_trap
from littoral.chemistry.weighing import WeighOut, weigh_out, weigh_out_recipe
from littoral.publish.pdf.bottle_label import BottleLabel
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step
from littoral.quantities.preferred import read_as


def mix_bottle(form: MixForm, *, today: date | None = None) -> Mixed | Refused:
    """Return the bottle that a form asks for, or every mistake in it.

    `today` is when it is made unless the form says so; this computer's date unless given. While a dose would pass a
    published limit and no reason overrides it, the weigh-out list, the instructions and the label are left out.
    """
    reading = Reading(form)
    read = read_mix(reading, form, today)
    if read is None:
        return Refused(tuple(reading.faults))
    found: Mixed | None = None
    with reading.trying("target" if form.how == "target" else "recipe" if form.how == "recipe" else "salts"):
        found = _mixed(form, read)
    return Refused(tuple(reading.faults)) if found is None else found


def _mixed(form: MixForm, read: ReadMix) -> Mixed:
    weighed = _weighed(form, read)
    grams = dict(read.salts_g) if weighed is None else {key: g for key, g in weighed.grams.items() if g > 0}
    own, made_up_to = read.own, read.made_up_to_ml
    content = content_of_stock(grams, made_up_to_ml=made_up_to, own=own, purity=read.purity_in(grams))
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
        weigh_out=() if stands else weigh_lines(grams, weighed, read),
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
        labels=label_readings(read.labels),
        limit_steps=tank.steps,
    )


def _weighed(form: MixForm, read: ReadMix) -> WeighOut | None:
    if form.how == "target":
        asked = target_of_dose(read.target_mg_per_l, net_volume_l=read.net_volume_l, dose_ml=read.dose_ml)
        return weigh_out(
            asked,
            tuple(read.salts_g),
            made_up_to_ml=read.made_up_to_ml,
            scale_step_g=read.scale_step_g,
            own=read.own,
            purity=read.purity,
        )
    if read.recipe is not None:
        return weigh_out_recipe(
            read.recipe,
            times=read.times,
            made_up_to_ml=read.made_up_to_ml,
            scale_step_g=read.scale_step_g,
            only=tuple(read.salts_g),
            purity=read.purity,
        )
    return None


def _nutrient_line(
    key: str,
    grams: Mapping[str, float],
    read: ReadMix,
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


def _content_steps(key: str, grams: Mapping[str, float], read: ReadMix, total: float) -> tuple[Step, ...]:
    symbol = NUTRIENTS[key].symbol
    pure = read.purity_in(grams)
    every = content_of_stock_steps(grams, made_up_to_ml=read.made_up_to_ml, own=read.own, purity=pure)
    steps = [step for step in every if step.what.startswith(f"{symbol} from ")]
    if len(steps) > 1:
        parts = " + ".join(step.result.removesuffix(" mg/mL") for step in steps)
        steps.append(Step(f"{symbol} in the bottle", parts, f"{total:.5g} mg/mL"))
    return tuple(steps)


def _checks(grams: Mapping[str, float], weighed: WeighOut | None, read: ReadMix) -> tuple[CheckRow, ...]:
    rows = () if weighed is None else weighed.rows
    of_stock = check_stock(
        grams,
        made_up_to_ml=read.made_up_to_ml,
        coldest_celsius=read.coldest_c,
        tank_ph=read.here.ph,
        own=read.own,
    )
    return (*label_checks(read.labels), *rows, *of_stock)


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
    read: ReadMix,
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
        volume=read_as(read.made_up_to_ml, "mL", digits=6),
        composition=composition_of(grams, read.own, read.purity),
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
