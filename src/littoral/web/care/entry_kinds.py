"""The entry forms: which fields each kind has, what stands in them, and how they become what an act takes.

A field of a form may be a part of what the act takes: the height, mass and minutes of a trim are one amount. A part is
its text, with its unit behind it where only a number was typed and its prefix before it; parts are joined.
The script does the same by the same attributes (entry.js), so that an entry can be kept on a phone without the server.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.speech.say import later, say
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Trial
from littoral.trial.regime_on import regime_on
from littoral.trial.scales import scales

Look = Literal["text", "number", "long", "choice", "steps", "links"]
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?")


@dataclass(frozen=True, slots=True)
class Field:
    """One field. `of` is what it is a part of; `options` are (value, words); `picks` fill it at one tap."""

    name: str
    of: str
    label: str
    help: str = ""
    look: Look = "text"
    options: tuple[tuple[str, str], ...] = ()
    value: str = ""
    prefix: str = ""
    unit: str = ""
    picks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of form: its name in the address and in words, its act, and what joins the parts of an amount."""

    key: str
    title: str
    act: str
    words: str
    join: str = ", "
    caution: str = ""


_OVERDOSE = later("Overdosing kills animals. If it was given twice, watch the animals and change water in doubt.")
_PLUGS = later("Pull the plugs of pumps and heater before hands go in.")
_REAGENTS = later("Reagents of test kits can burn: follow their safety data sheets.")
_MAINS = later("Mains and water: pull the plug before you touch it.")
_ALL = (
    Kind("dose", later("A dose"), "dose", later("dose"), caution=_OVERDOSE),
    Kind("change", later("A water change"), "change", later("water change"), caution=_PLUGS),
    Kind("top-up", later("Topped up"), "top-up", later("top-up")),
    Kind("trim", later("A trim"), "trim", later("trim")),
    Kind("reading", later("A water test"), "reading", later("water test"), caution=_REAGENTS),
    Kind("gauge", later("Read off a gauge"), "reading", later("gauge")),
    Kind("score", later("A look at algae and plants"), "score", later("look"), join=" "),
    Kind("animals", later("Animals"), "animals", later("animals"), join=" "),
    Kind("plants", later("Plants"), "plants", later("plants"), join=" "),
    Kind("equipment", later("Equipment"), "equipment", later("equipment"), caution=_MAINS),
    Kind("note", later("A note"), "note", later("note")),
    Kind("care", later("Minutes of care"), "care", later("minutes of care")),
)  # fmt: skip
KINDS = {kind.key: kind for kind in _ALL}
"""Every form by its name in the address."""


def fields_of(kind: Kind, trial: Trial, tank: str, asked: Mapping[str, str], *, day: float) -> tuple[Field, ...]:
    """Return a kind's fields for a tank, filled with what the address or the sent form says."""
    made = _fields(kind.key, trial, tank, asked, day)
    return tuple(_filled(field, asked) for field in made)


def _filled(field: Field, asked: Mapping[str, str]) -> Field:
    value = asked.get(field.name, field.value)
    return Field(
        field.name, field.of, field.label, field.help, field.look, field.options, value, field.prefix, field.unit,
        field.picks,
    )  # fmt: skip


def _fields(key: str, trial: Trial, tank: str, asked: Mapping[str, str], day: float) -> tuple[Field, ...]:
    stands = tuple((one.key, one.name) for one in trial.stands.values() if not tank or tank in one.tanks)
    match key:
        case "dose":
            bottles = tuple((one.key, one.name) for one in trial.bottles.values())
            planned = _planned(trial, tank, asked.get("what", ""), day)
            how = say("In mL, or as you measure it: 2 strokes, 8 drops, 0.5 g.")
            return (
                Field("what", "what", say("Bottle"), look="choice", options=bottles),
                Field(
                    "amount",
                    "amount",
                    say("How much"),
                    how,
                    value=planned[0] if len(planned) == 1 else "",
                    picks=planned,
                ),
            )
        case "change":
            shares = _shares(trial, tank, day)
            return (
                Field(
                    "amount",
                    "amount",
                    say("How much"),
                    say("A share in %, or litres: 40 % or 20 L."),
                    unit="%",
                    picks=shares,
                ),
            )
        case "top-up":
            return (Field("amount", "amount", say("How much"), say("In litres: 1.4 L."), unit="L"),)
        case "trim":
            return (
                Field("what", "what", say("What"), look="choice", options=(("", say("the whole tank")), *stands)),
                Field(
                    "left", "amount", say("Cut down to"), say("cm; may stay empty"), "number", prefix="to ", unit="cm"
                ),
                Field("wet", "amount", say("Cuttings weighed wet"), say("g; may stay empty"), "number", unit="g"),
                Field("spent", "amount", say("Minutes it took"), say("min; may stay empty"), "number", unit="min"),
            )
        case "reading":
            usual_first = dict.fromkeys((*(of for task in trial.schedule.tasks for of in task.of), *NUTRIENTS))
            tests = tuple((one, NUTRIENTS[one].name) for one in usual_first if one in NUTRIENTS)
            how = say(
                "As the kit shows it: 10, 10-20, over 80 or <5; without a unit it is mg/L of the "
                "whole ion. Behind a comma the method: 10 mg/L, colour card."
            )
            return (
                Field("what", "what", say("What was tested"), look="choice", options=tests),
                Field("amount", "amount", say("It showed"), how),
            )
        case "gauge":
            gauges = tuple((one.key, one.name) for one in GAUGES.values())
            chosen = GAUGES.get(asked.get("what", ""))
            examples = chosen.example if chosen else say("24.5 °C, 6.8, 4 dKH, 60 per min")
            return (
                Field("what", "what", say("What was read"), look="choice", options=gauges),
                Field("amount", "amount", say("It showed"), say("With its unit: {examples}.", examples=examples)),
            )
        case "score":
            chosen_scale = scales().get(asked.get("scale") or asked.get("what", "").split(" ")[0] or "algae")
            scale = chosen_scale or scales()["algae"]
            steps = tuple((str(step), words) for step, words in enumerate(scale.steps))
            looked_at = tuple((one.key, one.name) for one in scales().values())
            return (
                Field("scale", "what", say("What is looked at"), look="links", options=looked_at, value=scale.key),
                Field("stand", "what", say("Where"), look="choice", options=(("", say("the whole tank")), *stands)),
                Field(
                    "amount", "amount", say("Which picture is nearest: {of}", of=scale.of), look="steps", options=steps
                ),
            )
        case "animals" | "plants":
            ways = (("added", say("came in")), ("removed", say("taken out")), ("died", say("died")))
            return (
                Field("what", "what", say("Which {key}", key=key), say("Their trade name.")),
                Field("count", "amount", say("How many"), look="number"),
                Field("way", "amount", say("What became of them"), look="choice", options=ways),
            )
        case "equipment":
            pieces = ("filter", "lamp", "heater", "gas", "pump")
            return (
                Field("what", "what", say("Which"), say("filter, lamp, heater, gas, pump…"), picks=pieces),
                Field("amount", "amount", say("What was done or set"), say("cleaned, replaced, 8 h a day…")),
            )
        case "note":
            return (Field("note", "note", say("What is there to note?"), look="long"),)
        case _:
            return (
                Field(
                    "amount",
                    "amount",
                    say("How long"),
                    say("12 min"),
                    unit="min",
                    picks=("5 min", "10 min", "15 min", "20 min", "30 min"),
                ),
                Field("what", "what", say("Doing what"), say("May stay empty.")),
            )


def what_is_sent(kind: Kind, fields: tuple[Field, ...], sent: Mapping[str, str]) -> dict[str, str]:
    """Return what the act takes of a sent form: parts joined, units added, the circumstances as they are."""
    parts: dict[str, list[str]] = {}
    for field in fields:
        text = " ".join(sent.get(field.name, "").split()) if field.look != "long" else sent.get(field.name, "")
        if text:
            text = f"{text} {field.unit}" if field.unit and _BARE.fullmatch(text) else text
            parts.setdefault(field.of, []).append(field.prefix + text)
    joined = {of: (kind.join if of == "amount" else " ").join(texts) for of, texts in parts.items()}
    told = {name: sent[name] for name in ("trial", "tank", "when", "zone", "who", "note", "id") if sent.get(name)}
    return {"act": kind.act, **told, **joined}


def _planned(trial: Trial, tank: str, bottle: str, day: float) -> tuple[str, ...]:
    """Return the amounts of a bottle that a tank's plan of the day knows, in the person's own units."""
    regime = regime_on(trial, tank, day) if tank in trial.tanks and bottle else None
    doses = regime.doses if regime is not None else ()
    return tuple(dict.fromkeys(one.written for one in doses if one.written and one.of == bottle))


def _shares(trial: Trial, tank: str, day: float) -> tuple[str, ...]:
    regime = regime_on(trial, tank, day) if tank in trial.tanks else None
    changes = regime.changes if regime is not None else ()
    return tuple(dict.fromkeys(f"{100 * one.share:g} %" for one in changes))
