"""An entry as a person reads it: one line of plain words."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from littoral.acts.trial_page import Event, EventKind
from littoral.publish.override_words import override_words
from littoral.quantities.amounts import factor_of
from littoral.quantities.preferred import unit_for
from littoral.speech.numbers import numeral
from littoral.speech.say import say
from littoral.trial.days import day_of
from littoral.trial.entries import (
    AT_A_DESK,
    Care,
    Dose,
    Drawn,
    Entry,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Overridden,
    Payload,
    Photo,
    Reading,
    Score,
    Skipped,
    Taught,
    TopUp,
    Trim,
    WaterChange,
    Withdrawn,
)
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Trial
from littoral.trial.scales import scales


def event_of(entry: Entry, trial: Trial) -> Event | None:
    """Return an entry as an event with its words; None for a photo (which shows itself)."""
    if isinstance(entry.payload, Photo) or (entry.tank is None and not isinstance(entry.payload, AT_A_DESK)):
        return None
    kind, text = payload_words(entry.payload, trial)
    if entry.note:
        text = f"{text} ({entry.note})" if text else entry.note
    clock = entry.at.astimezone(ZoneInfo(trial.zone)).strftime("%H:%M")
    return Event(entry.id, day_of(entry.at, trial), clock, entry.tank or "", kind, text)


def payload_words(payload: Payload, trial: Trial) -> tuple[EventKind, str]:
    """Return an entry's kind and its words; TypeError for a photo and for what was withdrawn."""
    match payload:
        case Dose():
            if payload.ml is not None:
                amount = _amount(payload.ml, kind="dose volume")
            else:
                amount = _amount(payload.g or 0, kind="mass")
            if payload.written and not payload.written.casefold().endswith(("ml", "g", "l")):
                amount = f"{amount} ({payload.written})"
            name = trial.bottles[payload.of].name if payload.of in trial.bottles else payload.of
            return (
                ("dose", say("dosed {amount} {name}", amount=amount, name=name))
                if payload.given
                else ("missed dose", say("missed {amount} {name}", amount=amount, name=name))
            )
        case WaterChange():
            return "water change", say("changed {figure} % of the water", figure=_numeral(100 * payload.share))
        case TopUp():
            return "top-up", say("topped up {amount}", amount=_amount(payload.litres, kind="volume"))
        case Trim():
            return "trim", _trim(payload, trial)
        case Reading():
            return "reading", f"{payload.nutrient} {payload.shown}{_by(payload.method)}"
        case GaugeReading():
            return "reading", f"{GAUGES[payload.gauge].name} {payload.shown}{_by(payload.method)}"
        case Score():
            scale = scales()[payload.scale]
            stand = trial.stands.get(payload.stand or "")
            of = say(" on {name}", name=stand.name) if stand is not None else ""
            return "score", f"{scale.name}{of}: {payload.step}, {scale.words(payload.step)}"
        case Living():
            verb = {"added": say("came in"), "removed": say("taken out"), "died": say("died")}[payload.change]
            return payload.group, f"{payload.count} {payload.what} {verb}"
        case Equipment():
            return "equipment", f"{payload.what}: {payload.change}"
        case Skipped():
            return "skipped", say("skipped {task}", task=payload.task)
        case Care():
            return "care", say("{figure} min of care", figure=_numeral(payload.minutes))
        case Note():
            return "note", payload.text
        case Overridden():
            return "override", override_words(payload, trial)
        case Drawn(view=view, from_day=from_day):
            name = trial.views[view].name if view in trial.views else view
            since = say("from day {from_day:g} on", from_day=from_day) if from_day > 0 else say("for the whole trial")
            return "drawing", say("regions of {name} drawn anew, {since}", name=name, since=since)
        case Taught(view=view, stand=stand, from_day=from_day):
            names = (
                trial.stands[stand].name if stand in trial.stands else stand,
                trial.views[view].name if view in trial.views else view,
            )
            since = say("from day {from_day:g} on", from_day=from_day) if from_day > 0 else say("for the whole trial")
            return "drawing", say(
                "{value} shown by brush strokes in {value_2}, {since}", value=names[0], value_2=names[1], since=since
            )
        case Photo() | Withdrawn():
            raise TypeError("a photo shows itself, and what was withdrawn is never in force")


def _figure(number: float) -> str:
    """Return a number to three figures as a person writes it: never with a power of ten, whole ones whole."""
    text = f"{number:.3g}"
    if "e" not in text and number < 1000:
        return text
    return f"{number:.0f}" if number >= 1 else f"{float(text):.12f}".rstrip("0").rstrip(".")


def _numeral(number: float) -> str:
    return numeral(_figure(number))


def _amount(value: float, *, kind: str) -> str:
    """Return an amount (canonical unit of the kind) to three figures, in the unit that is preferred."""
    unit = unit_for(kind)
    factor = factor_of(unit, kind=kind)
    return f"{_numeral(value / factor)} {unit}"


def _by(method: str) -> str:
    return say(" by {method}", method=method) if method else ""


def _trim(trim: Trim, trial: Trial) -> str:
    if trim.stand is None:
        what = say("the whole tank")
    else:
        what = trial.stands[trim.stand].name if trim.stand in trial.stands else trim.stand
    parts = [say("trimmed {what}", what=what)]
    if trim.left_cm is not None:
        parts.append(say("to {length}", length=_amount(trim.left_cm, kind="length")))
    if trim.wet_g is not None:
        parts.append(say("({mass} wet)", mass=_amount(trim.wet_g, kind="mass")))
    if trim.minutes is not None:
        parts.append(say("in {figure} min", figure=_numeral(trim.minutes)))
    return " ".join(parts)
