"""How a mixed bottle and a built water are printed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from littoral.cli.lines import checks_table, table, why, why_steps, wrapped
from littoral.cli.saying import say

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.figures import Figure
    from littoral.acts.mix_and_feed.mix_form import LabelReading, Mixed, WeighLine
    from littoral.acts.mix_and_feed.water_form import Blend, BuiltWater, Water


def say_weigh_out(lines: tuple[WeighLine, ...], *, title: str) -> None:
    """Print a weigh-out list, and what a jar with another hydrate would take."""
    impure = any(line.purity is not None for line in lines)
    columns = (">weigh", "salt", "name", ">without steps", "hazards", *([">purity"] if impure else []))
    rows = [
        (
            line.grams.text,
            line.salt,
            line.name,
            line.exact.text,
            line.hazard,
            *(["" if line.purity is None else line.purity.text] if impure else []),
        )
        for line in lines
    ]
    say(table(title, columns, rows))
    for line in lines:
        for other in line.other_forms:
            hazard = f" ({other.hazard})" if other.hazard else ""
            say(wrapped(f"If your jar holds {other.salt} instead of {line.salt}: {other.grams.text}{hazard}"))


def say_labels(readings: tuple[LabelReading, ...]) -> None:
    """Print labels in both countings, side by side, with the trap."""
    for reading in readings:
        said = reading.grade or "its label"
        say(
            table(
                f"{reading.name}: {said} in both countings",
                ("on the label", ">read as oxide", ">read as element", "reckoned here"),
                (
                    (f"{line.element} {line.printed}", line.as_oxide.text, line.as_element.text, line.taken)
                    for line in reading.lines
                ),
            )
        )
        say(wrapped(f"{reading.settled} {reading.trap}".strip()))


def why_labels(readings: tuple[LabelReading, ...]) -> list[tuple[str, Figure | None]]:
    """Return what each number of the labels is in both countings, with its name, for a derivation."""
    return [
        (f"{label.name}, {line.element} read as {way}", shown)
        for label in readings
        for line in label.lines
        for way, shown in (("oxide", line.as_oxide), ("element", line.as_element))
    ]


def say_mixed(mixed: Mixed, *, show_why: bool) -> None:
    """Print a mixed bottle; with `show_why` every derivation and every check."""
    say(f"{mixed.name}, made up to {mixed.made_up_to_ml:g} mL" + (f" ({mixed.source})" if mixed.source else ""))
    if mixed.weigh_out:
        say_weigh_out(mixed.weigh_out, title="Weigh out")
    say_labels(mixed.labels)
    say(
        table(
            "One dose in this tank",
            ("nutrient", ">in the bottle", ">a dose adds", ">as element", ">asked", ">off"),
            (
                (
                    line.name,
                    line.in_bottle.text,
                    line.adds.text,
                    line.element.text,
                    "" if line.asked is None else line.asked.text,
                    "" if line.off is None else line.off.text,
                )
                for line in mixed.nutrients
            ),
        )
    )
    for rows, title in ((mixed.checks, "Checks of the bottle"), (mixed.limits, "Limits in the tank")):
        if text := checks_table(title, rows, whole=show_why):
            say(text)
    if len(mixed.split) > 1:
        say("Do not put all of this in one bottle:")
        for i, group in enumerate(mixed.split, start=1):
            say(wrapped(f"bottle {i}: {', '.join(group.salts)}"))
            for because in group.because:
                say(wrapped(because, indent="      "))
    for step in mixed.how_to:
        say(wrapped(step))
    if mixed.label is not None:
        ghs = mixed.label.ghs
        codes = " ".join(statement.code for statement in ghs.h) or "no statement follows by arithmetic"
        say(f"Hazards of the bottle: {' '.join((ghs.signal, codes)).strip()}")
        say(f"Keeps {mixed.keeps.text}: discard after {mixed.discard_after}. {mixed.label.keep}")
    say("Take care:")
    for caution in mixed.cautions:
        say(wrapped(caution))
    if show_why:
        for line in mixed.nutrients:
            if line.trap:
                say(wrapped(f"{line.name}: {line.trap}"))
        named = [(f"what a dose adds of {line.name}", line.adds) for line in mixed.nutrients]
        read = why_labels(mixed.labels)
        weighed = [(line.salt, line.exact) for line in mixed.weigh_out]
        say(why([*weighed, *_others(mixed.weigh_out), *read, *named, ("how long it keeps", mixed.keeps)]))
        say(why_steps("why the limits in the tank are what they are:", mixed.limit_steps))


def say_water(built: BuiltWater, *, show_why: bool) -> None:
    """Print the picture of a water, and what was built."""
    _say_picture(built.source, "This water", show_why=show_why)
    _say_blends(built.blends, show_why=show_why)
    if built.built is not None:
        made = built.built
        say(f"To build {made.volume.text}" + (f" from {made.mixing.text}" if made.mixing is not None else ""))
        say_weigh_out(made.weigh_out, title="Weigh out")
        if text := checks_table("Against the target", made.checks, whole=True):
            say(text)
        _say_picture(made.water, "The water built", show_why=show_why)
        if show_why:
            say(why([*((line.salt, line.grams) for line in made.weigh_out), *_others(made.weigh_out)]))
        for caution in made.cautions:
            say(wrapped(caution))
    for caution in built.cautions:
        say(wrapped(caution))


def _others(lines: tuple[WeighLine, ...]) -> list[tuple[str, Figure]]:
    return [(f"{other.salt} instead", other.grams) for line in lines for other in line.other_forms]


def _say_blends(blends: tuple[Blend, ...], *, show_why: bool) -> None:
    for blend in blends:
        lead = f"Without salts, for {blend.wanted.text} of {blend.what}"
        if blend.this_water is None or blend.pure_water is None:
            say(wrapped(f"{lead}: {blend.why_not}", indent=""))
            continue
        text = f"{lead}: {blend.this_water.text} of this water with {blend.pure_water.text} of pure water"
        if blend.other is not None:
            text += f"; its {blend.other_what} is then {blend.other.text}"
        say(wrapped(f"{text}.", indent=""))
        if show_why:
            of = f"for {blend.what}"
            say(why([(f"this water {of}", blend.this_water), (f"pure water {of}", blend.pure_water)]))
            say(why([(f"its {blend.other_what}", blend.other)]))


def _say_picture(water: Water, title: str, *, show_why: bool) -> None:
    say(f"{title}:")
    for name, lines in (("hardness", water.hardness), ("alkalinity", water.alkalinity)):
        if lines:
            say(wrapped(f"{name}: {' = '.join(line.figure.text for line in lines)}"))
    if water.ratio is not None:
        say(f"  calcium to magnesium: {water.ratio.text} by mass")
    say(wrapped(", ".join(f"{line.name} {line.level.text}" for line in water.ions)))
    for gas in water.gases:
        extra = "; ".join(part for part in (gas.interval, gas.beside) if part)
        say(wrapped(f"{gas.name}: {gas.figure.text}" + (f" ({extra})" if extra else "")))
    if water.balance is not None:
        say(f"  ion balance error: {water.balance.text}")
    for rows, what in ((water.checks, "Checks"), (water.limits, "Limits")):
        if text := checks_table(what, rows, whole=show_why):
            say(text)
    if show_why:
        say(
            why(
                [
                    *((f"hardness in {line.unit}", line.figure) for line in water.hardness),
                    *((f"alkalinity in {line.unit}", line.figure) for line in water.alkalinity),
                    ("calcium to magnesium", water.ratio),
                    *((line.name, line.level) for line in water.ions),
                    *((gas.name, gas.figure) for gas in water.gases),
                    ("ion balance error", water.balance),
                ]
            )
        )
        say(why_steps("why the limits are what they are:", water.limit_steps))
