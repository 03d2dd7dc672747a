"""The weigh-out list as lines: grams to the scale, how they came about, and what another hydrate would take."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.acts.mix_and_feed.figures import Figure, exact, figure
from littoral.acts.mix_and_feed.mix_form import OtherForm, WeighLine
from littoral.acts.mix_and_feed.mix_reading import ReadMix
from littoral.chemistry.hydrates import hydrate_swap, hydrate_swap_steps, hydrates_of
from littoral.chemistry.own_substances import OwnSubstance, substance
from littoral.chemistry.salts import salt
from littoral.chemistry.weighing import WeighOut
from littoral.quantities.derivation import Step


def weigh_lines(grams: Mapping[str, float], weighed: WeighOut | None, read: ReadMix) -> tuple[WeighLine, ...]:
    """Return the lines of a mixed bottle; without `weighed` the grams are the person's own."""
    lines = []
    for key, g in grams.items():
        this = substance(key, read.own)
        pure = read.purity.get(key, 1.0)
        without = g if weighed is None else weighed.exact_g[key]
        steps = _exact_steps(key, without, weighed, read)
        rounded = Step(
            "to the scale", f"{without:.5g} g in steps of {read.scale_step_g:g} g", f"{g:g} g", "best rounding"
        )
        own = isinstance(this, OwnSubstance)
        lines.append(
            WeighLine(
                salt=this.short,
                name=this.name,
                grams=Figure(exact(g, "g").text, g, "g", steps if weighed is None else (*steps, rounded)),
                exact=figure(without, "g", steps=steps, digits=5),
                hazard=this.hazard_text,
                storage=() if isinstance(this, OwnSubstance) else this.storage,
                purity=None if pure == 1.0 else purity_figure(pure),
                other_forms=()
                if own
                else other_forms(key, without, pure=pure, step_g=None if weighed is None else read.scale_step_g),
            )
        )
    return tuple(lines)


def other_forms(key: str, grams: float, *, pure: float = 1.0, step_g: float | None = None) -> tuple[OtherForm, ...]:
    """Return every other hydrate of a salt and the mass of it, counted as pure, that brings as much.

    `grams` are of a jar of `pure` (0 to 1) of this salt; `step_g` is the scale's, None for a mass that is not rounded.
    """
    this = salt(key)
    found = []
    for other in hydrates_of(key):
        if other.key == this.key:
            continue
        mass = hydrate_swap(grams * pure, from_=this.key, to=other.key)
        steps = hydrate_swap_steps(float(f"{grams * pure:.5g}"), from_=this.key, to=other.key)
        if pure != 1.0:
            is_pure = Step(f"{this.key} in the jar", f"{grams:.5g} g × {pure:g} (purity)", f"{grams * pure:.5g} g")
            steps = (is_pure, *steps)
        shown = figure(mass, "g", steps=steps, digits=4)
        if step_g is not None and mass >= step_g:
            count = round(mass / step_g)
            on_scale = float(f"{count * step_g:.10g}")
            rounded = Step("to the scale", f"{mass:.5g} g in steps of {step_g:g} g", f"{on_scale:g} g", "nearest step")
            shown = Figure(exact(on_scale, "g").text, on_scale, "g", (*steps, rounded))
        hazard = "" if other.hazard_text == this.hazard_text else other.hazard_text
        found.append(OtherForm(other.short, other.name, shown, hazard))
    return tuple(found)


def purity_figure(share: float) -> Figure:
    """Return a purity (0 to 1) in percent, as it was typed."""
    return exact(float(f"{100 * share:.10g}"), "%")


def _exact_steps(key: str, grams: float, weighed: WeighOut | None, read: ReadMix) -> tuple[Step, ...]:
    pure = read.purity.get(key, 1.0)
    if weighed is None:
        return (Step(key, "as you wrote it", f"{grams:g} g", "your own figure"),)
    if read.recipe is not None:
        mg = read.recipe.salts_mg_per_l[key]
        formula = f"{mg:g} mg/L × {read.times:g} × {read.made_up_to_ml:g} mL / 1e6"
        first = Step(key, formula, f"{grams * pure:.5g} g", read.recipe.source)
    else:
        asked = ", ".join(
            f"{row.asked_mg_per_ml:.4g} mg/mL {row.nutrient}" for row in weighed.reached if row.asked_mg_per_ml
        )
        how = "non-negative least squares of relative errors, then the best rounding to the scale's step"
        first = Step(key, f"so that the bottle holds {asked}", f"{grams * pure:.5g} g", how)
    if pure == 1.0:
        return (first,)
    jar = Step(
        f"of a jar that is {100 * pure:g} % pure",
        f"{grams * pure:.5g} g / {pure:g}",
        f"{grams:.5g} g",
        "the purity you wrote; the rest of the jar is taken to bring nothing",
    )
    return (first, jar)
