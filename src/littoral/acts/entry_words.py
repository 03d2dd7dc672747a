"""An entry as a person reads it: one line of plain words."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from littoral.acts.trial_page import Event, EventKind
from littoral.publish.override_words import override_words
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
            amount = f"{_figure(payload.ml)} mL" if payload.ml is not None else f"{_figure(payload.g or 0)} g"
            if payload.written and not payload.written.casefold().endswith(("ml", "g", "l")):
                amount = f"{amount} ({payload.written})"
            name = trial.bottles[payload.of].name if payload.of in trial.bottles else payload.of
            return ("dose", f"dosed {amount} {name}") if payload.given else ("missed dose", f"missed {amount} {name}")
        case WaterChange():
            return "water change", f"changed {_figure(100 * payload.share)} % of the water"
        case TopUp():
            return "top-up", f"topped up {_figure(payload.litres)} L"
        case Trim():
            return "trim", _trim(payload, trial)
        case Reading():
            return "reading", f"{payload.nutrient} {payload.shown}{_by(payload.method)}"
        case GaugeReading():
            return "reading", f"{GAUGES[payload.gauge].name} {payload.shown}{_by(payload.method)}"
        case Score():
            scale = scales()[payload.scale]
            stand = trial.stands.get(payload.stand or "")
            of = f" on {stand.name}" if stand is not None else ""
            return "score", f"{scale.name}{of}: {payload.step}, {scale.words(payload.step)}"
        case Living():
            verb = {"added": "came in", "removed": "taken out", "died": "died"}[payload.change]
            return payload.group, f"{payload.count} {payload.what} {verb}"
        case Equipment():
            return "equipment", f"{payload.what}: {payload.change}"
        case Skipped():
            return "skipped", f"skipped {payload.task}"
        case Care():
            return "care", f"{_figure(payload.minutes)} min of care"
        case Note():
            return "note", payload.text
        case Overridden():
            return "override", override_words(payload, trial)
        case Drawn(view=view, from_day=from_day):
            name = trial.views[view].name if view in trial.views else view
            since = f"from day {from_day:g} on" if from_day > 0 else "for the whole trial"
            return "drawing", f"regions of {name} drawn anew, {since}"
        case Taught(view=view, stand=stand, from_day=from_day):
            names = (
                trial.stands[stand].name if stand in trial.stands else stand,
                trial.views[view].name if view in trial.views else view,
            )
            since = f"from day {from_day:g} on" if from_day > 0 else "for the whole trial"
            return "drawing", f"{names[0]} shown by brush strokes in {names[1]}, {since}"
        case Photo() | Withdrawn():
            raise TypeError("a photo shows itself, and what was withdrawn is never in force")


def _figure(number: float) -> str:
    """Return a number to three figures as a person writes it: never with a power of ten, whole ones whole."""
    text = f"{number:.3g}"
    if "e" not in text and number < 1000:
        return text
    return f"{number:.0f}" if number >= 1 else f"{float(text):.12f}".rstrip("0").rstrip(".")


def _by(method: str) -> str:
    return f" by {method}" if method else ""


def _trim(trim: Trim, trial: Trial) -> str:
    if trim.stand is None:
        what = "the whole tank"
    else:
        what = trial.stands[trim.stand].name if trim.stand in trial.stands else trim.stand
    parts = [f"trimmed {what}"]
    if trim.left_cm is not None:
        parts.append(f"to {_figure(trim.left_cm)} cm")
    if trim.wet_g is not None:
        parts.append(f"({_figure(trim.wet_g)} g wet)")
    if trim.minutes is not None:
        parts.append(f"in {_figure(trim.minutes)} min")
    return " ".join(parts)
