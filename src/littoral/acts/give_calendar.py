"""Give the plan of care as a calendar file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path

from littoral.acts.choosing import chosen_trial
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import write_whole
from littoral.trial.days import local_date


@extras_needed()
def give_calendar(
    folder: Path,
    *,
    trial: str | None = None,
    tanks: Sequence[str] = (),
    first: date | None = None,
    out: Path | None = None,
    now: datetime | None = None,
) -> bytes:
    """Return the iCalendar file of some tanks, all unless given, from a local date on, today unless given.

    With `out` it is written there as well. Raises FaultsError for a tank that is not there, MissingExtraError.
    """
    from littoral.publish.calendar_feed import calendar_feed

    moment = now or datetime.now(UTC)
    with Logbook.open(folder) as book:
        found = book.trial(chosen_trial(book, trial))
    wrong = [tank for tank in tanks if tank not in found.tanks]
    if wrong:
        raise FaultsError(
            [Fault(f'is "{tank}".', f"The tanks are {', '.join(found.tanks)}.", "tank") for tank in wrong]
        )
    data = calendar_feed(found, tanks=tanks, first=first or local_date(moment, found.zone), now=moment)
    if out is not None:
        write_whole(out, data)
    return data
