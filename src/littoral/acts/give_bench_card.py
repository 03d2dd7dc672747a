"""Give the bench card of a trial: a page for each tank with a fortnight's plan, boxes to tick, and codes to scan."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from littoral.acts.choosing import chosen_trial
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import write_whole
from littoral.publish.pdf.bench_card import DAYS, BenchCard, CardCode, CardDay, bench_cards_pdf
from littoral.publish.pdf.papers import PAPERS, wrong_paper
from littoral.trial.days import local_date
from littoral.trial.due import bench_order, planned_on
from littoral.trial.model import Trial
from littoral.trial.task_words import task_words

MOST_CODES = 6
"""Codes on a card: the tank's day first, then its bottles; more would not be found again."""
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@extras_needed()
def give_bench_card(
    folder: Path,
    *,
    trial: str | None = None,
    tanks: Sequence[str] = (),
    first: date | None = None,
    address: str = "",
    paper: str = "a4",
    out: Path | None = None,
    now: datetime | None = None,
) -> bytes:
    """Return the card as a PDF: the tanks of the bench, or some, from a local date on (today, or the start if later).

    `address` is where the pages are reached, such as http://192.168.1.20:8765; without it no codes are printed. With
    `out` it is written there as well. Raises FaultsError for a tank or paper that is not there, MissingExtraError.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder) as book:
        found = book.trial(chosen_trial(book, trial))
    faults = [
        Fault(f'is "{tank}".', f"The tanks are {', '.join(found.tanks)}.", "tank")
        for tank in tanks
        if tank not in found.tanks
    ]
    size = next((one for one in PAPERS if one == paper), None)
    if size is None:
        faults.append(wrong_paper(paper))
    if address and not _is_web_address(address):
        right = "Write where the page is reached, such as http://192.168.1.20:8765."
        faults.append(Fault(f'is "{address[:60]}".', right, "address"))
    if faults:
        raise FaultsError(faults)
    assert size is not None
    today = local_date(moment, found.zone)
    begin = first or max(today, found.start)
    shown = [tank for tank in bench_order(found) if not tanks or tank in tanks]
    cards = [_card(found, tank, begin, today, address.rstrip("/")) for tank in shown]
    data = bench_cards_pdf(cards, size)
    if out is not None:
        write_whole(out, data)
    return data


def _is_web_address(address: str) -> bool:
    try:
        parts = urlsplit(address)
        return parts.scheme in ("http", "https") and bool(parts.hostname) and (parts.port or 1) > 0
    except ValueError:
        return False


def _card(trial: Trial, tank: str, first: date, today: date, address: str) -> BenchCard:
    days = [first + timedelta(days=count) for count in range(DAYS)]
    inside = [day for day in days if 0 <= (day - trial.start).days < trial.length_days]
    return BenchCard(
        tank=trial.tanks[tank].name,
        arm=trial.arm_of(tank).name,
        title=trial.title,
        made_on=str(today),
        span=f"{_short(first)} to {_short(days[-1])} {days[-1].year}",
        days=tuple(_day(trial, tank, day) for day in inside),
        codes=_codes(trial, tank, inside, address) if address else (),
    )


def _day(trial: Trial, tank: str, day: date) -> CardDay:
    tasks = tuple(
        (f"{due.clock:%H:%M}" if due.clock is not None else "", task_words(due, trial))
        for due in planned_on(trial, tank, day)
    )
    return CardDay(_short(day), (day - trial.start).days, tasks)


def _codes(trial: Trial, tank: str, days: Sequence[date], address: str) -> tuple[CardCode, ...]:
    bottles = dict.fromkeys(due.of for day in days for due in planned_on(trial, tank, day) if due.kind == "dose")
    of_tank = urlencode({"trial": trial.key, "tank": tank})
    doses = [
        CardCode(
            f"dose {trial.bottles[bottle].name}",
            f"{address}/entry/dose?{of_tank}&{urlencode({'what': bottle})}",
        )
        for bottle in bottles
    ]
    # no #fragment: with one tank asked for, the page holds nothing else
    others = [
        CardCode("water test", f"{address}/entry/reading?{of_tank}"),
        CardCode("a note", f"{address}/entry/note?{of_tank}"),
    ]
    return (CardCode("today's list", f"{address}/today?{of_tank}"), *doses, *others)[:MOST_CODES]


def _short(day: date) -> str:
    return f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"
