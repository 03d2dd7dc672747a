"""Which backups to keep, and whether another is due: by their moments alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

DUE_AFTER = timedelta(hours=23)
"""A little less than a day, so that a computer started at the same hour each morning makes one each morning."""


@dataclass(frozen=True, slots=True)
class Keeping:
    """How many backups stay: the last of each of so many days, ISO weeks and months that have any."""

    days: int = 7
    weeks: int = 5
    months: int = 12


def is_due(made: Mapping[str, datetime], *, now: datetime) -> bool:
    """Return whether none of the backups {name: moment} was made within a day before `now`.

    One that seems to be made later was made while the clock was wrong, and does not count.
    """
    return not any(now - DUE_AFTER < moment <= now for moment in made.values())


def to_prune(made: Mapping[str, datetime], *, now: datetime, keeping: Keeping) -> tuple[str, ...]:
    """Return the names of the backups {name: moment} that are to go, oldest first.

    Counted back from the newest that is there, not from `now`: a computer that was off for a year loses none by being
    started. The newest always stays. One that seems to be made later than `now` was made while the clock was wrong: it
    stays, and takes no other's place, so that a clock put back or forth never costs a good backup.
    """
    past = sorted(((moment, name) for name, moment in made.items() if moment <= now), reverse=True)
    stays = {name for _, name in past[:1]}
    rules: tuple[tuple[int, Callable[[datetime], object]], ...] = (
        (keeping.days, lambda moment: moment.date()),
        (keeping.weeks, lambda moment: moment.isocalendar()[:2]),
        (keeping.months, lambda moment: (moment.year, moment.month)),
    )
    for count, period_of in rules:
        last_of_each: dict[object, str] = {}
        for moment, name in past:
            last_of_each.setdefault(period_of(moment), name)
        stays |= set(list(last_of_each.values())[:count])
    return tuple(name for _, name in reversed(past) if name not in stays)
