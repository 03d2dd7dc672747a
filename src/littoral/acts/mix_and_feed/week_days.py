"""A week day by day: what a person does on which day."""

from __future__ import annotations

from littoral.acts.mix_and_feed.week_form import DayLine
from littoral.acts.mix_and_feed.week_reading import ReadWeek
from littoral.feeding.regimes import falls_on, period_days
from littoral.quantities.preferred import amounts, read_as
from littoral.speech.dates import short_weekday
from littoral.speech.say import say

MOST_DAYS = 14
"""A pattern that repeats more slowly is shown for so long."""


def day_lines(read: ReadWeek) -> tuple[DayLine, ...]:
    """Return a line per day of a period, at most two weeks; the change comes first, then the doses.

    Raises RegimeError where the patterns meet again only after more than a year.
    """
    period = period_days(read.regime)
    count = 7 if 7 % period == 0 else min(period, MOST_DAYS)
    lines = []
    for day in range(count):
        weekday = (read.day_0 + day) % 7
        changes = [one for one in read.regime.changes if falls_on(one, day=day, weekday=weekday)]
        doses = [one for one in read.regime.doses if falls_on(one, day=day, weekday=weekday)]
        lines.append(
            DayLine(
                day=short_weekday(weekday)
                if count <= 7
                else say("{weekday}, day {day}", weekday=short_weekday(weekday), day=day),
                change=say(" and ").join(read_as(100 * one.share, "%") for one in changes),
                doses=tuple(
                    say("{amount} of {name}", amount=amounts(dose.written), name=read.shelf.bottles[dose.of].name)
                    for dose in doses
                ),
            )
        )
    return tuple(lines)
