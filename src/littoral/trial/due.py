"""What is due in each tank on one local date, what was done of it, and what earlier days left open.

A dose is answered by a dose of its bottle on its own date, or by one that says which date it makes up for. A water
change, test, trim or photo is answered by the first of its kind from its date on, before it is planned again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from typing import Literal

from littoral.feeding.calendar import planned
from littoral.feeding.regimes import PlannedDose
from littoral.trial.days import local_date
from littoral.trial.entries import Care, Dose, Entry, GaugeReading, Photo, Reading, Skipped, Trim, WaterChange
from littoral.trial.model import Trial
from littoral.trial.regime_on import regime_on

Kind = Literal["photo", "test", "trim", "water change", "dose"]
State = Literal["due", "done", "done otherwise", "missed", "overdue"]

ORDER: tuple[Kind, ...] = ("photo", "test", "trim", "water change", "dose")
"""The order of one moment's work: look before touching, test before changing, feed last."""
LOOK_BACK_DAYS = 14
"""Open care of earlier days is listed this far back; older care stays open in the logbook and is no longer listed."""
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Due:
    """One planned thing of one tank on one date.

    `of` is the bottle, nutrient, gauge or stand, "" where the kind says all. `amount` is in the person's own units, ""
    where none is planned; `clock` None is any time of the day. `place` counts things alike on one date from 0. `factor`
    is what was done over what was planned, None where either has no amount; `entries` are the ids that answer it.
    """

    tank: str
    date: date
    kind: Kind
    of: str
    amount: str
    clock: time | None
    place: int = 0
    state: State = "due"
    entries: tuple[str, ...] = ()
    factor: float | None = None
    dose: PlannedDose | None = None
    share: float | None = None

    @property
    def task(self) -> str:
        """Say what it is without date and tank: "dose macro", "test nitrate", "water change"."""
        return f"{self.kind} {self.of}".rstrip()

    @property
    def key(self) -> str:
        """Return what names it among everything planned: "2026-03-08/left/dose macro", with "/1" for a second alike."""
        return f"{self.date}/{self.tank}/{self.task}" + (f"/{self.place}" if self.place else "")


@dataclass(frozen=True, slots=True)
class TankDay:
    """One tank's day: what is planned, what earlier days left open, what was done besides, minutes of care so far."""

    tank: str
    due: tuple[Due, ...]
    overdue: tuple[Due, ...]
    besides: tuple[Entry, ...]
    care_minutes: float

    @property
    def left(self) -> int:
        """How many things are still to be done today."""
        return sum(one.state == "due" for one in self.due)


def bench_order(trial: Trial) -> tuple[str, ...]:
    """Return the tanks in the order in which they stand."""
    return trial.schedule.bench or tuple(trial.tanks)


def planned_on(trial: Trial, tank: str, day: date) -> tuple[Due, ...]:
    """Return what is planned for a tank on a date, in the order of the work; nothing outside the trial's days."""
    count = (day - trial.start).days
    if not 0 <= count < trial.length_days:
        return ()
    found = [*_of_regime(trial, tank, day, count), *_of_schedule(trial, tank, day, count)]
    found.sort(key=lambda one: (one.clock or time.max, ORDER.index(one.kind)))
    seen: dict[str, int] = defaultdict(int)
    numbered = []
    for one in found:
        place = seen[one.task]
        numbered.append(replace(one, place=place) if place else one)
        seen[one.task] += 1
    return tuple(numbered)


def find_due(trial: Trial, key: str) -> Due | None:
    """Return the planned thing that a key names; None where nothing of that name is planned."""
    written, _, rest = key.partition("/")
    tank = rest.partition("/")[0]
    try:
        day = date.fromisoformat(written)
    except ValueError:
        return None
    if tank not in trial.tanks:
        return None
    return next((one for one in planned_on(trial, tank, day) if one.key == key), None)


def tank_days(
    trial: Trial, entries: Iterable[Entry], *, today: date, look_back_days: int = LOOK_BACK_DAYS
) -> tuple[TankDay, ...]:
    """Return every tank's day, in bench order.

    `entries` are those in force from the first local date looked back to, up to the end of `today`, by time; more do no
    harm. Photos of earlier days cannot be taken any more, and where only exceptions are noted an earlier dose counts as
    given: neither is overdue.
    """
    first = today - timedelta(days=look_back_days)
    of_tank = by_tank(trial, entries)
    return tuple(tank_day(trial, tank, of_tank[tank], first=first, today=today) for tank in bench_order(trial))


def by_tank(trial: Trial, entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Return the entries of each tank in their order; a photo is of every tank that its view shows."""
    found: dict[str, list[Entry]] = {tank: [] for tank in trial.tanks}
    for entry in entries:
        for tank in _tanks_of(entry, trial):
            found.setdefault(tank, []).append(entry)
    return found


def answered(trial: Trial, tank: str, entries: Sequence[Entry], *, first: date, until: date) -> tuple[Due, ...]:
    """Return everything planned for a tank on first <= date < until with its state by one tank's entries, by date."""
    dates = [first + timedelta(days=count) for count in range((until - first).days)]
    open_ones = [one for day in dates for one in planned_on(trial, tank, day)]
    dated = [(local_date(entry.at, trial.zone), entry) for entry in entries]
    doses = _answer_doses([one for one in open_ones if one.kind == "dose"], dated)
    others = _answer_tasks([one for one in open_ones if one.kind != "dose"], dated)
    by_key = {one.key: one for one in (*doses, *others)}
    return tuple(by_key[one.key] for one in open_ones)


def tank_day(trial: Trial, tank: str, entries: Sequence[Entry], *, first: date, today: date) -> TankDay:
    """Return one tank's day by its own entries in force from the local date `first` on, by time (see `tank_days`)."""
    found = answered(trial, tank, entries, first=first, until=today + timedelta(days=1))
    now = tuple(one for one in found if one.date == today)
    again = {one.task for one in now}
    last = {one.task: one.date for one in found if one.date < today}
    overdue = tuple(
        replace(one, state="overdue")
        for one in found
        if one.date < today and one.state == "due" and _still_open(one, trial, again=again, last=last)
    )
    mine = [entry for entry in entries if local_date(entry.at, trial.zone) == today]
    answering = {identity for one in found for identity in one.entries}
    minutes = 0.0
    for entry in mine:
        match entry.payload:
            case Care(minutes=spent) | Trim(minutes=float(spent)):
                minutes += spent
            case _:
                pass
    besides = tuple(
        entry for entry in mine if entry.id not in answering and not isinstance(entry.payload, Photo | Skipped)
    )
    return TankDay(tank, now, overdue, besides, minutes)


def _still_open(one: Due, trial: Trial, *, again: set[str], last: dict[str, date]) -> bool:
    if one.kind == "dose":
        return trial.doses_noted == "all"
    return one.kind != "photo" and one.task not in again and last[one.task] == one.date


def _of_regime(trial: Trial, tank: str, day: date, count: int) -> Iterator[Due]:
    regime = regime_on(trial, tank, count)
    if regime is None:
        return
    for _, act in planned(regime, start=trial.start, from_day=count, to_day=count + 1):
        if isinstance(act, PlannedDose):
            amount = act.written or _shown(act)
            yield Due(tank, day, "dose", act.of, amount, trial.schedule.doses_at, dose=act)
        else:
            amount = f"{100 * act.share:.10g} %"
            yield Due(tank, day, "water change", "", amount, trial.schedule.changes_at, share=act.share)


def _shown(dose: PlannedDose) -> str:
    if dose.g is not None:
        return f"{dose.g:.10g} g"
    return f"{dose.ml or 0.0:.10g} mL"


def _of_schedule(trial: Trial, tank: str, day: date, count: int) -> Iterator[Due]:
    for task in trial.schedule.tasks:
        if not task.falls_on(day=count, weekday=day.weekday()):
            continue
        if task.kind == "photo":
            yield Due(tank, day, "photo", "", "", task.clock)
        elif task.kind == "test":
            yield from (Due(tank, day, "test", of, "", task.clock) for of in task.of)
        elif not task.of:
            yield Due(tank, day, "trim", "", "", task.clock)
        else:
            here = (stand for stand in task.of if tank in trial.stands[stand].tanks)
            yield from (Due(tank, day, "trim", stand, "", task.clock) for stand in here)


def _answer_doses(planned_doses: Sequence[Due], dated: Sequence[tuple[date, Entry]]) -> list[Due]:
    given: dict[tuple[date, str], list[tuple[date, Entry, Dose]]] = defaultdict(list)
    for day, entry in dated:
        if isinstance(entry.payload, Dose):
            meant = date.fromisoformat(entry.payload.for_date) if entry.payload.for_date else day
            given[meant, entry.payload.of].append((day, entry, entry.payload))
    found = []
    for one in planned_doses:
        those = given[one.date, one.of]
        found.append(_answered_dose(one, *those.pop(0)) if those else one)
    return found


def _answered_dose(one: Due, day: date, entry: Entry, dose: Dose) -> Due:
    if not dose.given:
        return replace(one, state="missed", entries=(entry.id,), factor=0.0)
    assert one.dose is not None
    wanted = one.dose.g if one.dose.g is not None else one.dose.ml
    got = dose.g if one.dose.g is not None else dose.ml
    factor = got / wanted if got is not None and wanted else None
    as_planned = factor is not None and abs(factor - 1) <= _SAME and day == one.date
    return replace(one, state="done" if as_planned else "done otherwise", entries=(entry.id,), factor=factor)


def _answer_tasks(planned_tasks: Sequence[Due], dated: Sequence[tuple[date, Entry]]) -> list[Due]:
    by_task: dict[str, list[int]] = defaultdict(list)
    found = list(planned_tasks)
    for place, one in enumerate(found):
        by_task[one.task].append(place)
    for day, entry in dated:
        for task, places in by_task.items():
            if not _does(entry, found[places[0]]):
                continue
            # on its last planned date at or before; a second one alike on that date takes the next place
            earlier = [place for place in places if found[place].date <= day]
            same_date = [place for place in earlier if found[place].date == found[earlier[-1]].date] if earlier else []
            free = next((place for place in same_date if found[place].state == "due"), None)
            if free is not None and task == found[free].task:
                found[free] = _answered_task(found[free], day, entry)
    return found


def _answered_task(one: Due, day: date, entry: Entry) -> Due:
    if isinstance(entry.payload, Skipped):
        return replace(one, state="missed", entries=(entry.id,))
    factor = entry.payload.share / one.share if isinstance(entry.payload, WaterChange) and one.share else None
    as_planned = day == one.date and (factor is None or abs(factor - 1) <= _SAME)
    return replace(one, state="done" if as_planned else "done otherwise", entries=(entry.id,), factor=factor)


def _does(entry: Entry, one: Due) -> bool:
    """Tell whether an entry is a doing, or a skipping, of a planned task that is no dose."""
    match entry.payload:
        case Skipped(task=task):
            return task == one.task
        case WaterChange():
            return one.kind == "water change"
        case Reading(nutrient=what) | GaugeReading(gauge=what):
            return one.kind == "test" and one.of == what
        case Trim(stand=stand):
            return one.kind == "trim" and (stand is None or one.of in ("", stand))
        case Photo():
            return one.kind == "photo"
        case _:
            return False


def _tanks_of(entry: Entry, trial: Trial) -> tuple[str, ...]:
    if entry.tank is not None:
        return (entry.tank,)
    if isinstance(entry.payload, Photo) and entry.payload.view in trial.views:
        return tuple(pane.tank for pane in trial.views[entry.payload.view].panes)
    return ()
