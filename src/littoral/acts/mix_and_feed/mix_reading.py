"""From the form of a bottle to what is computed with: masses, purities, a target or a recipe, and the tank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from littoral.acts.mix_and_feed.figures import Pairs
from littoral.acts.mix_and_feed.label_readings import read_own
from littoral.acts.mix_and_feed.label_written import LabelWritten
from littoral.acts.mix_and_feed.mix_form import HOW, MixForm
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import LARGEST_BOTTLE_ML, LARGEST_TANK_L, read_grams, today_or
from littoral.acts.mix_and_feed.stopping import Conditions, read_conditions
from littoral.chemistry.own_substances import OwnSubstance, substance
from littoral.chemistry.recipes import Recipe, recipe
from littoral.speech.say import say


@dataclass(frozen=True, slots=True)
class ReadMix:
    """The form in canonical units. `purity` is the mass fraction (0 to 1) of the jars that are not pure, by salt."""

    how: str
    salts_g: dict[str, float]
    purity: dict[str, float]
    target_mg_per_l: dict[str, float]
    recipe: Recipe | None
    times: float
    own: tuple[OwnSubstance, ...]
    labels: tuple[LabelWritten, ...]
    made_up_to_ml: float
    scale_step_g: float
    dose_ml: float
    net_volume_l: float
    in_water_mg_per_l: dict[str, float]
    coldest_c: float
    here: Conditions
    made_on: date

    def purity_in(self, grams: Mapping[str, float]) -> dict[str, float]:
        """Return the purities of these salts alone: those of which something is weighed."""
        return {key: share for key, share in self.purity.items() if key in grams}


def read_mix(reading: Reading, form: MixForm, today: date | None) -> ReadMix | None:
    """Return what a form says, None where something in it is wrong; the faults are then in `reading`."""
    how = reading.one_of("how", form.how, HOW)
    own, labels = read_own(reading, form.own)
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
    in_bottle = tuple(salts_g) or (() if known is None else tuple(known.salts_mg_per_l))
    purity = read_purity(reading, form.purity, own, in_bottle)
    made_up_to = reading.amount("made_up_to", form.made_up_to, "dose volume", at_most=LARGEST_BOTTLE_ML)
    scale = reading.amount("scale_step", form.scale_step, "mass", at_most=1000.0)
    dose = reading.amount("dose", form.dose, "dose volume", at_most=LARGEST_BOTTLE_ML)
    net = reading.amount("net_volume", form.net_volume, "volume", at_most=LARGEST_TANK_L)
    coldest = reading.amount("coldest", form.coldest, "temperature")
    if coldest is not None and not -5 <= coldest <= 50:
        reading.wrong(
            "coldest", say("is {coldest:g} °C, where no stock is kept.", coldest=coldest), say("Give -5 to 50 °C.")
        )
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
    return ReadMix(
        how=how,
        salts_g=salts_g,
        purity=purity,
        target_mg_per_l=target,
        recipe=known,
        times=times,
        own=own,
        labels=labels,
        made_up_to_ml=made_up_to,
        scale_step_g=scale,
        dose_ml=dose,
        net_volume_l=net,
        in_water_mg_per_l=in_water,
        coldest_c=coldest,
        here=here,
        made_on=today_or(made_on, today),
    )


def read_purity(
    reading: Reading, rows: Pairs, own: tuple[OwnSubstance, ...], in_use: tuple[str, ...]
) -> dict[str, float]:
    """Return the purity (0 to 1) of jars by salt, from "98 %"; of a salt not `in_use`, or one given twice, is a fault.

    A substance of one's own that goes by its label, or whose purity stands beside its formula, has none here. Purity
    counts in what a bottle holds and in what to weigh; solubility, density, clashes and hazards go by the grams as
    weighed, as if the jar were pure.
    """
    found: dict[str, float] = {}
    for line, name, text in reading.rows("purity", rows):
        share = reading.amount("purity", text, "fraction", line=line, of=name)
        with reading.trying("purity", line=line):
            this = substance(name, own)
            if share is not None and share > 1:
                reading.wrong(
                    "purity", say('of {name} is "{text}".', name=name, text=text), say("Give at most 100 %."), line=line
                )
            elif isinstance(this, OwnSubstance) and (not this.formula or this.purity != 1.0):
                what = say('of "{name}" is said already, by its label or beside its formula.', name=name[:40])
                reading.wrong("purity", what, say("Say it once."), line=line)
            elif in_use and this.key not in in_use:
                right = say("Name one of: {in_use}.", in_use=", ".join(in_use))
                reading.wrong(
                    "purity", say('is of "{name}", which is not in use here.', name=name[:40]), right, line=line
                )
            elif this.key in found:
                reading.wrong("purity", say("of {key} is given twice.", key=this.key), say("Give it once."), line=line)
            elif share is not None:
                found[this.key] = share
    return found
