"""What is said of a bottle: how to make it, how to keep it, and where to take care."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from littoral.acts.mix_and_feed.figures import plain
from littoral.chemistry.bottle_hazards import BottleHazards
from littoral.chemistry.density import made_up_to
from littoral.chemistry.keeping import Keeping, keeping_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import OwnSubstance, substance

HOME_AID = "the hazards here are reckoned for a bottle at home, which is no classification"
_KEEP = {"dark": "in the dark", "cold": "cold", "full to the brim": "filled to the brim", "sour": "sour"}
COMES_ALONG = ("sulphate", "chloride", "sodium")
SHEETS = (
    "Salts can burn, oxidise or poison. Read each product's safety data sheet before opening it, wear what it asks "
    "for, keep salts and stock solutions locked away from children and from food."
)
TOO_MUCH = (
    "Too much of a fertiliser at once can kill animals. What a dose adds is arithmetic, not advice for your tank; no "
    "level is called harmless. Test the water, watch the animals, change little at a time."
)
GIVING_AWAY = "Who gives or sells a bottle to others must have it classified and labelled by the law of the place."


def composition_of(
    grams: Mapping[str, float], own: Sequence[OwnSubstance], purity: Mapping[str, float]
) -> tuple[tuple[str, str], ...]:
    """Return each salt and its grams, as text for a label, with the purity (0 to 1) of a jar that is not pure."""
    return tuple(
        (substance(key, own).short, f"{plain(g, 6)} g{f', {100 * purity[key]:g} % pure' if key in purity else ''}")
        for key, g in grams.items()
    )


def holds_of(content_mg_per_ml: Mapping[str, float]) -> tuple[tuple[str, str], ...]:
    """Return what a millilitre holds of each nutrient, as text for a label."""
    return tuple((NUTRIENTS[key].symbol, f"{plain(mg)} mg/mL") for key, mg in content_mg_per_ml.items() if mg > 0)


def dose_words(adds_mg_per_l: Mapping[str, float], *, dose_ml: float, net_volume_l: float) -> str:
    """Return one sentence on what a dose does in the tank it was mixed for; three nutrients are named.

    Sulphate, chloride and sodium mostly come along, and are named only where there is nothing else.
    """
    wanted = {key: mg for key, mg in adds_mg_per_l.items() if key not in COMES_ALONG} or adds_mg_per_l
    largest = sorted(wanted.items(), key=lambda item: -item[1])[:3]
    shown = ", ".join(f"{NUTRIENTS[key].symbol}\u00a0{plain(mg, 2)}" for key, mg in largest)
    return f"{plain(dose_ml, 4)} mL in {plain(net_volume_l, 4)} L adds mg/L: {shown}"


def keep_words(keeping: Keeping) -> str:
    """Return how to keep a bottle, in words."""
    needs = [_KEEP[need] for need in keeping.needs if need in _KEEP]
    return f"Keep {', '.join([*needs, 'away from children and food'])}."


def how_to_make(grams: Mapping[str, float], *, made_up_to_ml: float, own: Sequence[OwnSubstance]) -> tuple[str, ...]:
    """Return the steps at the bench, in order. Acids go into water, never water onto them."""
    bottle = made_up_to(grams, made_up_to_ml=made_up_to_ml, own=own)
    each = [substance(key, own) for key in grams]
    steps = ["Put on gloves and eye protection as the safety data sheets ask; raise no dust."]
    if any(this.kind == "acid" for this in each):
        steps.append("Pour the acid slowly into the water, never water onto the acid.")
    boiled = any("boiled water" in keeping_of([key], own=own).needs for key in grams)
    if bottle.water_ml > 0:
        water = "pure water, boiled and cooled," if boiled else "pure water"
        steps.append(f"Pour about {0.8 * bottle.water_ml:.0f} mL of {water} into the bottle.")
    listed = ", ".join(f"{plain(g, 6)} g {this.short}" for this, g in zip(each, grams.values(), strict=True))
    steps.append(f"Weigh out and dissolve one after the other: {listed}.")
    steps.append(f"When all is dissolved and at room temperature, fill up to {plain(made_up_to_ml, 6)} mL and shake.")
    steps.append("Put on the label before anything else is mixed.")
    return tuple(steps)


def mixing_cautions(grams: Mapping[str, float], hazards: BottleHazards, own: Sequence[OwnSubstance]) -> tuple[str, ...]:
    """Return where to take care with these powders and this bottle."""
    each = [substance(key, own) for key in grams]
    powders = "; ".join(f"{this.short} ({this.hazard_text})" for this in each)
    found = [f"{SHEETS} While weighing: {powders}.", TOO_MUCH]
    precursors = {
        this.hazard.precursor for this in each if not isinstance(this, OwnSubstance) and this.hazard.precursor
    }
    found += sorted(precursors)
    if hazards.not_told:
        found.append(f"Not told here: {'; '.join(hazards.not_told)}.")
    found.append(GIVING_AWAY)
    return tuple(found)
