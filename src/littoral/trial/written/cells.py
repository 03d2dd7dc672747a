"""An entry written out again as a row would say it: what a form shows before a correction. Reading it gives it back."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.quantities.amounts import AmountError, parse_amount
from littoral.trial.entries import (
    Care,
    Dose,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Payload,
    Reading,
    Score,
    Skipped,
    TopUp,
    Trim,
    WaterChange,
)
from littoral.trial.gauges import GAUGES


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of a row: `kind` is a key of `trial.written.payloads.KINDS`; `text` is what a note's cell holds."""

    kind: str
    what: str = ""
    amount: str = ""
    text: str = ""


def cells_of(payload: Payload) -> Cells:
    """Return the cells of a payload. TypeError for photos and withdrawals, which no row says.

    Amounts are in the units that the logbook keeps, doses as they were measured where that is known.
    """
    match payload:
        case Dose():
            plain = f"{_plain(payload.g)} g" if payload.g is not None else f"{_plain(payload.ml or 0.0)} mL"
            return Cells("dose" if payload.given else "missed dose", payload.of, payload.written or plain)
        case WaterChange(share=share):
            return Cells("water change", amount=f"{_plain(round(100 * share, 10))} %")
        case TopUp(litres=litres):
            return Cells("top-up", amount=f"{_plain(litres)} L")
        case Trim():
            left = f"to {_plain(payload.left_cm)} cm" if payload.left_cm is not None else ""
            wet = f"{_plain(payload.wet_g)} g" if payload.wet_g is not None else ""
            spent = f"{_plain(payload.minutes)} min" if payload.minutes is not None else ""
            return Cells("trim", payload.stand or "", ", ".join(filter(None, (left, wet, spent))))
        case Reading():
            return Cells("reading", payload.nutrient, _level(payload))
        case GaugeReading():
            return Cells("reading", payload.gauge, _gauge(payload))
        case Score():
            return Cells("score", " ".join(filter(None, (payload.scale, payload.stand))), str(payload.step))
        case Living():
            return Cells(payload.group, payload.what, f"{payload.count} {payload.change}")
        case Equipment():
            return Cells("equipment", payload.what, payload.change)
        case Skipped(task=task):
            return Cells("skipped", task)
        case Care(minutes=minutes):
            return Cells("care", amount=f"{_plain(minutes)} min")
        case Note(text=text):
            return Cells("note", text=text)
        case _:
            raise TypeError(f"no row says a {type(payload).__name__}")


def _level(reading: Reading) -> str:
    method = f", {reading.method}" if reading.method else ""
    try:
        value = parse_amount(reading.shown, kind="concentration")
    except AmountError:  # "<5 mg/L" and "10-20 mg/L" say their range themselves
        return reading.shown + method
    if value == reading.low_mg_per_l == reading.high_mg_per_l:
        return reading.shown + method
    ends = f"({_plain(reading.low_mg_per_l)}-{_plain(reading.high_mg_per_l)})"
    return f"{_plain(value)} mg/L {ends}{method}"


def _gauge(reading: GaugeReading) -> str:
    method = f", {reading.method}" if reading.method else ""
    if reading.shown.startswith(("<", ">")) or "-" in reading.shown[1:] or "–" in reading.shown:
        return reading.shown + method
    unit = GAUGES[reading.gauge].unit
    middle = _plain((reading.low + reading.high) / 2)
    if reading.low == reading.high:
        return reading.shown + method
    return f"{middle} {unit}".rstrip() + f" ({_plain(reading.low)}-{_plain(reading.high)}){method}"


def _plain(number: float) -> str:
    """Print a number with all its digits and never with an exponent."""
    written = repr(float(number))
    if "e" in written:
        written = f"{number:.15f}"
    return written.rstrip("0").rstrip(".") if "." in written else written
