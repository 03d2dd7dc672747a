"""See one day's care at the bench: what is due in each tank, what is done, what earlier days left open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal
from zoneinfo import ZoneInfo

from littoral.acts.choosing import WhichTrialError
from littoral.acts.entry_words import payload_words
from littoral.acts.recent_entries import recent_entries
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.speech.manner import Manner, manner
from littoral.speech.say import later, say
from littoral.trial.days import local_date, span_of
from littoral.trial.due import LOOK_BACK_DAYS, Due, State, TankDay, bench_order, by_tank, tank_day
from littoral.trial.entries import Entry
from littoral.trial.model import Trial
from littoral.trial.task_words import task_words

Running = Literal["not begun", "running", "ended"]
STATE_WORDS: dict[State, str] = {
    "due": later("due"),
    "done": later("done as planned"),
    "done otherwise": later("done otherwise"),
    "missed": later("let go"),
    "overdue": later("open"),
}


class NoTankError(LittoralError):
    """None of the trials asked for has this tank."""

    def __init__(self, tank: str, known: tuple[str, ...]) -> None:
        self.tank = tank
        super().__init__(
            say('no tank is called "{tank}". The tanks are {known}.', tank=tank[:60], known=", ".join(known))
        )


@dataclass(frozen=True, slots=True)
class Task:
    """One planned thing in words. `item` names it for `acts.record_planned`.

    `done` says what was done otherwise, or what a test showed.
    """

    item: str
    kind: str
    words: str
    amount: str
    clock: str
    date: date
    state: State
    entries: tuple[str, ...]
    done: str = ""


@dataclass(frozen=True, slots=True)
class DoneThing:
    """Something recorded today that was not planned: the entry's id, local time and words."""

    entry: str
    clock: str
    words: str


@dataclass(frozen=True, slots=True)
class TankToday:
    """One tank's day in words; `left` counts what is still to be done today."""

    tank: str
    name: str
    arm: str
    tasks: tuple[Task, ...]
    open_before: tuple[Task, ...]
    besides: tuple[DoneThing, ...]
    care_minutes: float
    left: int


@dataclass(frozen=True, slots=True)
class TrialToday:
    """One trial's day: `day` counts from day 0; the tanks are in bench order, none where the trial is not running.

    Until `baseline_days` all tanks get the same, whatever their arm.
    """

    trial: str
    title: str
    date: date
    day: int
    days: int
    running: Running
    baseline_days: int
    tanks: tuple[TankToday, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """The day of every trial asked for. `remarks` are for the person: a clock that was put back."""

    trials: tuple[TrialToday, ...]
    remarks: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data, dates as ISO text."""
        return {"trials": [_plain(one) for one in self.trials], "remarks": list(self.remarks)}


def see_today(
    folder: Path,
    *,
    trial: str | None = None,
    day: date | None = None,
    now: datetime | None = None,
    look_back_days: int = LOOK_BACK_DAYS,
    tank: str | None = None,
) -> Today:
    """Return the care of one local date, today in each trial's zone unless given, of one trial or all, one tank or all.

    Reads only the entries of the dates shown, however long the logbook is. Raises NoLogbookError, NoTrialError,
    WhichTrialError where the logbook holds no trial, and NoTankError where none of the trials has that tank.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder, clock=lambda: moment) as book:
        keys = book.trials() if trial is None else (trial,)
        if not keys:
            raise WhichTrialError(())
        remarks = tuple(
            say(
                "Entries of {key} were written down as late as {ahead:%Y-%m-%d %H:%M} UTC: is this "
                "computer's clock slow?",
                key=key,
                ahead=ahead,
            )
            for key in keys
            if (ahead := book.clock_behind(key)) is not None
        )
        tanks = sorted({one for key in keys for one in book.trial(key).tanks})
        if tank is not None and tank not in tanks:
            raise NoTankError(tank, tuple(tanks))
        return Today(tuple(_trial_today(book, key, day, moment, look_back_days, tank) for key in keys), remarks)


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """A tank's day as it is asked for. The same tank with the same entries has the same day: an id says all of one."""

    trial: Trial
    tank: str
    entries: tuple[Entry, ...]
    first: date
    today: date

    def __hash__(self) -> int:
        return hash((self.tank, self.today, len(self.entries)))

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, _Asked)
            and self.trial is other.trial
            and (self.tank, self.first, self.today) == (other.tank, other.first, other.today)
            and len(self.entries) == len(other.entries)
            and all(mine.id == theirs.id for mine, theirs in zip(self.entries, other.entries, strict=True))
        )


@lru_cache(maxsize=256)
def _seen(asked: _Asked, _manner: Manner) -> TankToday:
    day = tank_day(asked.trial, asked.tank, asked.entries, first=asked.first, today=asked.today)
    return _tank_today(day, asked.trial, asked.entries)


def _trial_today(
    book: Logbook, key: str, day: date | None, now: datetime, look_back_days: int, tank: str | None
) -> TrialToday:
    trial = book.trial(key)
    today = day or local_date(now, trial.zone)
    count = (today - trial.start).days
    running: Running = "not begun" if count < 0 else "ended" if count >= trial.length_days else "running"
    tanks: tuple[TankToday, ...] = ()
    if running == "running":
        first, _ = span_of(today - timedelta(days=look_back_days), trial.zone)
        _, until = span_of(today, trial.zone)
        shown = [one for one in bench_order(trial) if tank in (None, one)]
        entries = (
            recent_entries(book, key, first, until)
            if tank is None
            else book.entries_within(key, first, until, tank=tank)
        )
        of_tank = by_tank(trial, entries)
        begin = today - timedelta(days=look_back_days)
        tanks = tuple(_seen(_Asked(trial, one, tuple(of_tank[one]), begin, today), manner()) for one in shown)
    return TrialToday(key, trial.title, today, count, int(trial.length_days), running, int(trial.baseline_days), tanks)


def _tank_today(day: TankDay, trial: Trial, entries: Sequence[Entry]) -> TankToday:
    by_id = {entry.id: entry for entry in entries}
    return TankToday(
        tank=day.tank,
        name=trial.tanks[day.tank].name,
        arm=trial.arm_of(day.tank).name,
        tasks=tuple(_task(one, trial, by_id) for one in day.due),
        open_before=tuple(_task(one, trial, by_id) for one in day.overdue),
        besides=tuple(
            DoneThing(one.id, _clock(one, trial), payload_words(one.payload, trial)[1]) for one in day.besides
        ),
        care_minutes=day.care_minutes,
        left=day.left,
    )


def _task(due: Due, trial: Trial, by_id: dict[str, Entry]) -> Task:
    entry = by_id.get(due.entries[0]) if due.entries else None
    done = ""
    told = due.state == "done otherwise" or (due.state == "done" and due.kind == "test")
    if entry is not None and told and due.kind != "photo":
        words = payload_words(entry.payload, trial)[1]
        if due.kind == "test":  # the task names it already
            words = words.removeprefix(f"{due.of} ")
        done = f"{words}, {_clock(entry, trial, unless=due.date)}"
    return Task(
        item=due.key,
        kind=due.kind,
        words=task_words(due, trial),
        amount=due.amount,
        clock=f"{due.clock:%H:%M}" if due.clock is not None else "",
        date=due.date,
        state=due.state,
        entries=due.entries,
        done=done,
    )


def _clock(entry: Entry, trial: Trial, *, unless: date | None = None) -> str:
    """Return an entry's local time; with its date where that is another than `unless`."""
    at = entry.at.astimezone(ZoneInfo(trial.zone))
    return f"{at:%H:%M}" if unless in (None, at.date()) else f"{at:%Y-%m-%d %H:%M}"


def _plain(one: TrialToday) -> dict[str, Any]:
    plain: dict[str, Any] = asdict(one)
    plain["date"] = str(one.date)
    for tank in plain["tanks"]:
        for task in (*tank["tasks"], *tank["open_before"]):
            task["date"] = str(task["date"])
    return plain
