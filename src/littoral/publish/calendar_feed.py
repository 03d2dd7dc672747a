"""The plan of care as an iCalendar file (RFC 5545): what is due, in the person's own units, with reminders.

Single events and no recurrence rules: a regime changes at the end of the baseline and with every new version of the
trial file, patterns of so many days drift through the week, and one changed day must not touch the others. Each
event's UID is made of trial, tanks, date and kind of work, and of nothing that can be edited, so that a calendar which
reads the file again moves and rewords its events and keeps no doubles.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from itertools import groupby
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event, vText

from littoral import __version__
from littoral.trial.due import ORDER, Due, Kind, bench_order, planned_on
from littoral.trial.model import Trial
from littoral.trial.task_words import task_words

LONGEST_FEED_DAYS = 366
"""Events are written this far ahead: calendars read the file again long before."""
LASTS = timedelta(minutes=15)
"""How long an event stands in the calendar. A wish of ours, no source."""
ALL_DAY_REMINDER = timedelta(hours=9)
"""A thing without a time of day reminds at nine in the morning."""
_NAMESPACE = uuid5(NAMESPACE_URL, "urn:littoral:calendar")
_HEADS: dict[Kind, str] = {
    "photo": "Photo",
    "test": "Test the water",
    "trim": "Trim",
    "water change": "Water change",
    "dose": "Feed the plants",
}
_ONCE = "Look at today's list first, so that nobody gives it twice."


def calendar_feed(trial: Trial, *, tanks: Sequence[str] = (), first: date, now: datetime) -> bytes:
    """Return the plan of some tanks, all unless given, from the local date `first` to the trial's end, as a file.

    At most `LONGEST_FEED_DAYS` are written. `now` (with a zone) is the time stamp. Tanks that are done together, by
    kind of work and time, are one event. KeyError for a tank that the trial does not have.
    """
    chosen = [tank for tank in bench_order(trial) if not tanks or tank in tanks]
    for tank in tanks:
        if tank not in trial.tanks:
            raise KeyError(tank)
    calendar = Calendar()
    calendar.add("prodid", f"-//Littoral//Littoral {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    name = _name(trial, chosen, whole=not tanks)
    calendar.add("name", vText(name))  # RFC 7986; as text, so that it is escaped
    calendar.add("x-wr-calname", vText(name))  # what calendars read before it
    for day in _dates(trial, first):
        for kind, clock, place, those in _occasions(trial, chosen, day):
            calendar.add_component(_event(trial, tanks, day, kind, clock, place, those, now))
    calendar.add_missing_timezones(first_date=trial.start, last_date=trial.start + timedelta(days=_days(trial) + 1))
    return bytes(calendar.to_ical())


def _name(trial: Trial, tanks: Sequence[str], *, whole: bool) -> str:
    return trial.title if whole else f"{trial.title}: {', '.join(trial.tanks[tank].name for tank in tanks)}"


def _days(trial: Trial) -> int:
    return int(-(-trial.length_days // 1))


def _dates(trial: Trial, first: date) -> Iterator[date]:
    begin = max(first, trial.start)
    end = min(trial.start + timedelta(days=_days(trial)), begin + timedelta(days=LONGEST_FEED_DAYS))
    return (begin + timedelta(days=count) for count in range(max(0, (end - begin).days)))


def _occasions(
    trial: Trial, tanks: Sequence[str], day: date
) -> Iterator[tuple[Kind, time | None, int, tuple[Due, ...]]]:
    """Yield what is done together: the kind, its time, its number among those of the kind, and each tank's part."""
    found = [due for tank in tanks for due in planned_on(trial, tank, day)]
    for kind in ORDER:
        of_kind = sorted((one for one in found if one.kind == kind), key=lambda one: one.clock or time.max)
        for place, (clock, those) in enumerate(groupby(of_kind, key=lambda one: one.clock)):
            yield kind, clock, place, tuple(those)


def _event(
    trial: Trial,
    tanks: Sequence[str],
    day: date,
    kind: Kind,
    clock: time | None,
    place: int,
    those: Sequence[Due],
    now: datetime,
) -> Event:
    event = Event()
    scope = ",".join(sorted(tanks))
    event.add("uid", str(uuid5(_NAMESPACE, "\0".join((trial.key, scope, str(day), kind, str(place))))))
    event.add("dtstamp", now)
    event.add("summary", _summary(trial, kind, those))
    event.add("description", "\n".join([*_lines(trial, those), *([_ONCE] if kind == "dose" else [])]))
    event.add("transp", "TRANSPARENT")
    event.add("categories", [kind])
    if clock is None:
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
        reminder = ALL_DAY_REMINDER
    else:
        event.add("dtstart", datetime.combine(day, clock, ZoneInfo(trial.zone)))
        event.add("duration", LASTS)
        reminder = timedelta(0)
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", reminder)
    alarm.add("description", _summary(trial, kind, those))
    event.add_component(alarm)
    return event


def _summary(trial: Trial, kind: Kind, those: Sequence[Due]) -> str:
    """Return one line: the words themselves where they are the same in every tank, else the kind and the tanks."""
    by_tank = {
        tank: [task_words(one, trial) for one in some] for tank, some in groupby(those, key=lambda one: one.tank)
    }
    names = ", ".join(trial.tanks[tank].name for tank in by_tank)
    said = list(by_tank.values())
    if all(words == said[0] for words in said):
        first = "; ".join(said[0])
        return f"{first[:1].upper()}{first[1:]} ({names})"
    return f"{_HEADS[kind]} ({names})"


def _lines(trial: Trial, those: Sequence[Due]) -> Iterator[str]:
    for tank, some in groupby(those, key=lambda one: one.tank):
        yield f"{trial.tanks[tank].name}: {'; '.join(task_words(one, trial) for one in some)}"
