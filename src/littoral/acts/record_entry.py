"""Record what was done at a tank, planned or not.

Every act takes typed text with units and collects its mistakes (FaultsError, each with the field it is in). The same
client-made id twice records once. Nothing is ever overwritten: `acts.change_entry` corrects and undoes.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from littoral.acts.recorded import Recorded, book_of, keep
from littoral.acts.told import Told, read_told
from littoral.errors import Fault, FaultsError


def record_dose(
    folder: Path, tank: str, bottle: str, amount: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record a dose: "5 mL", "2 strokes", "8 drops", "0.5 g"."""
    return _free(folder, "dose", tank, bottle, amount, told, now)


def record_change(
    folder: Path, tank: str, amount: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record a water change: "40 %" of the net volume, or "20 L"."""
    return _free(folder, "water change", tank, "", amount, told, now)


def record_top_up(
    folder: Path, tank: str, amount: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record water added against evaporation: "1.4 L"."""
    return _free(folder, "top-up", tank, "", amount, told, now)


def record_trim(
    folder: Path, tank: str, stand: str = "", amount: str = "", *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record a trim of a stand ("": the whole tank): "to 9 cm, 14 g, 6 min", or some of these, or nothing."""
    return _free(folder, "trim", tank, stand, amount, told, now)


def record_reading(
    folder: Path, tank: str, what: str, amount: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record a reading of a nutrient or a gauge: "10 mg/L (7.5-15), colour card", "24.5 °C", "6.8"."""
    return _free(folder, "reading", tank, what, amount, told, now)


def record_score(
    folder: Path, tank: str, scale: str, step: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record a condition judged by eye: scale "algae", "plants" or "plants red-stem", step "0" to "4"."""
    return _free(folder, "score", tank, scale, step, told, now)


def record_living(
    folder: Path,
    tank: str,
    group: str,
    what: str,
    amount: str,
    *,
    told: Told | None = None,
    now: datetime | None = None,
) -> Recorded:
    """Record animals or plants (`group`) that came or went: "5 added", "2 removed", "1 died"."""
    if group not in ("animals", "plants"):
        raise FaultsError([Fault(f'is "{group}".', "Write animals or plants.", "group")])
    return _free(folder, group, tank, what, amount, told, now)


def record_equipment(
    folder: Path, tank: str, what: str, change: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record a change of equipment: which, and what was done or set."""
    return _free(folder, "equipment", tank, what, change, told, now)


def record_note(
    folder: Path, tank: str, text: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record free text."""
    return _free(folder, "note", tank, "", "", replace(told or Told(), note=text), now)


def record_care(
    folder: Path, tank: str, amount: str, what: str = "", *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record time of care: "12 min"; `what` may say what was done."""
    return _free(folder, "care", tank, what, amount, told, now)


def _free(
    folder: Path, kind: str, tank: str, what: str, amount: str, told: Told | None, now: datetime | None
) -> Recorded:
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, told, moment) as (book, trial):
        entry = read_told(trial, kind, tank=tank, what=what, amount=amount, told=told, now=moment)
        return keep(book, trial, (entry,))
