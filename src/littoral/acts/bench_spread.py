"""How much equal tanks of a bench differed in its earlier trials, for the answers and the power of a later one."""

from __future__ import annotations

from littoral.errors import LittoralError
from littoral.findings.answers import answer
from littoral.findings.history import last_day
from littoral.findings.measuring import measured_already
from littoral.findings.spread import Spread
from littoral.findings.spread_seen import spreads_seen
from littoral.findings.tank_effects import Result
from littoral.logbook.book import Logbook
from littoral.trial.model import Trial


def spreads_before(book: Logbook, trial: Trial) -> dict[str, Spread]:
    """Return the spreads seen, by measure, in trials that ended before this one began.

    Only trials whose photos are measured already count: looking at one trial must not measure another. One that cannot
    be answered is left out.
    """
    results: list[Result] = []
    for key in book.trials():
        if key == trial.key:
            continue
        other = book.trial(key)
        if last_day(other) >= trial.start:
            continue
        measured = measured_already(book, other)
        if measured is None:
            continue
        try:
            results.append((other, answer(book, other, measured=measured)))
        except LittoralError:  # said where that trial itself is looked at
            continue
    return spreads_seen(results)
