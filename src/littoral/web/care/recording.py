"""What can be recorded, by name: the fields that each act takes, and how it is asked for. Forms and JSON share it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from littoral.acts import record_entry as free
from littoral.acts import record_planned as plan
from littoral.acts.recorded import Recorded
from littoral.acts.told import Told
from littoral.errors import Fault, FaultsError

TOLD = ("trial", "when", "zone", "who", "note", "id")
"""The circumstances that go with every act (`acts.told.Told`)."""
Fields = Mapping[str, str]
Do = Callable[[Path, Fields, Told, datetime], Recorded]


@dataclass(frozen=True, slots=True)
class RecordAct:
    """One act: what it does in words, its fields, those among them that must say something, and the doing."""

    name: str
    words: str
    needs: tuple[str, ...]
    takes: tuple[str, ...]
    do: Do


def _living(group: str) -> Do:
    return lambda book, of, told, now: free.record_living(
        book, of["tank"], group, of["what"], of["amount"], told=told, now=now
    )


_ALL = (
    RecordAct(
        "planned", "a planned thing was done just as planned", ("item",), ("item",),
        lambda book, of, told, now: plan.record_planned(book, of["item"], told=told, now=now),
    ),
    RecordAct(
        "done", "a planned thing was done with another amount; of a test, its reading",
        ("item", "amount"), ("item", "amount"),
        lambda book, of, told, now: plan.record_done(book, of["item"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "doubled", "a planned dose was given twice over", ("item",), ("item",),
        lambda book, of, told, now: plan.record_doubled(book, of["item"], told=told, now=now),
    ),
    RecordAct(
        "late", "a dose of an earlier day is given now, as planned unless an amount is said", ("item",),
        ("item", "amount"),
        lambda book, of, told, now: plan.record_late(book, of["item"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "missed", "a planned thing was not done and will not be", ("item",), ("item",),
        lambda book, of, told, now: plan.record_missed(book, of["item"], told=told, now=now),
    ),
    RecordAct(
        "skip", "all that earlier days left open is let go, in one tank or all", (), ("tank",),
        lambda book, of, told, now: plan.skip_overdue(book, of["tank"] or None, told=told, now=now),
    ),
    RecordAct(
        "dose", "a dose, planned or not", ("tank", "what", "amount"), ("tank", "what", "amount"),
        lambda book, of, told, now: free.record_dose(book, of["tank"], of["what"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "change", "a water change", ("tank", "amount"), ("tank", "amount"),
        lambda book, of, told, now: free.record_change(book, of["tank"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "top-up", "water added against evaporation", ("tank", "amount"), ("tank", "amount"),
        lambda book, of, told, now: free.record_top_up(book, of["tank"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "trim", "a trim of a stand, or of the whole tank", ("tank",), ("tank", "what", "amount"),
        lambda book, of, told, now: free.record_trim(book, of["tank"], of["what"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "reading", "a reading of a nutrient or a gauge", ("tank", "what", "amount"), ("tank", "what", "amount"),
        lambda book, of, told, now: free.record_reading(book, of["tank"], of["what"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "score", "a condition judged by eye", ("tank", "what", "amount"), ("tank", "what", "amount"),
        lambda book, of, told, now: free.record_score(book, of["tank"], of["what"], of["amount"], told=told, now=now),
    ),
    RecordAct(
        "animals", "animals that came or went", ("tank", "what", "amount"), ("tank", "what", "amount"),
        _living("animals"),
    ),
    RecordAct(
        "plants", "plants that came or went", ("tank", "what", "amount"), ("tank", "what", "amount"), _living("plants")
    ),
    RecordAct(
        "equipment", "a change of equipment", ("tank", "what", "amount"), ("tank", "what", "amount"),
        lambda book, of, told, now: free.record_equipment(
            book, of["tank"], of["what"], of["amount"], told=told, now=now
        ),
    ),
    RecordAct(
        "note", "a note", ("tank", "note"), ("tank",),
        lambda book, of, told, now: free.record_note(book, of["tank"], told.note, told=told, now=now),
    ),
    RecordAct(
        "care", "minutes of care", ("tank", "amount"), ("tank", "amount", "what"),
        lambda book, of, told, now: free.record_care(book, of["tank"], of["amount"], of["what"], told=told, now=now),
    ),
)  # fmt: skip
ACTS = {act.name: act for act in _ALL}


def record(folder: Path, sent: Fields, *, now: datetime) -> Recorded:
    """Do the act that was sent; FaultsError also for an act or a field that there is not, and all that acts raise."""
    act = ACTS.get(sent.get("act", ""))
    if act is None:
        raise FaultsError([Fault(f'is "{sent.get("act", "")[:60]}".', f"The acts are {', '.join(ACTS)}.", "act")])
    known = ("act", *act.takes, *TOLD)
    unknown = [
        Fault(f"is nothing that {act.name} takes.", f"It takes {', '.join((*act.takes, *TOLD))}.", name[:60])
        for name in sent
        if name not in known
    ]
    if unknown:
        raise FaultsError(unknown)
    told = Told(
        trial=sent.get("trial") or None,
        when=sent.get("when", ""),
        zone=sent.get("zone", ""),
        who=sent.get("who", ""),
        note=sent.get("note", ""),
        id=sent.get("id") or None,
    )
    return act.do(folder, {name: sent.get(name, "") for name in act.takes}, told, now)
