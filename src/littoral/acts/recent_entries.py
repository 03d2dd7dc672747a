"""The entries of some days, kept while the program runs: of a long logbook only what came since is read again."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from datetime import datetime

from littoral.logbook.book import Logbook
from littoral.trial.entries import Entry, Withdrawn

_MOST = 8
_Place = tuple[Hashable, str, datetime, datetime]
_KEPT: dict[_Place, tuple[int, tuple[Entry, ...]]] = {}
"""By the database, the trial and the span: the row up to which it was read, and the entries in force."""


def recent_entries(book: Logbook, trial: str, first: datetime, until: datetime) -> tuple[Entry, ...]:
    """Return what `Logbook.entries_within` does, all of it read only the first time; NoTrialError."""
    place = (book.place, trial, first, until)
    row = book.last_row_of(trial)  # before the entries: what comes between is then read twice, and is one all the same
    kept = _KEPT.pop(place, None)
    if kept is None or kept[0] > row:
        kept = row, book.entries_within(trial, first, until)
    elif kept[0] < row:
        kept = row, merged(kept[1], book.entries_since(trial, after=kept[0]), first=first, until=until)
    _KEPT[place] = kept
    for oldest in list(_KEPT)[:-_MOST]:
        _KEPT.pop(oldest, None)
    return kept[1]


def merged(entries: Iterable[Entry], since: Iterable[Entry], *, first: datetime, until: datetime) -> tuple[Entry, ...]:
    """Return the entries in force, by time, once those written `since` then, in their order, have come to them."""
    by_id = {entry.id: entry for entry in entries}
    for entry in since:
        if entry.supersedes is not None:
            by_id.pop(entry.supersedes, None)
        if first <= entry.at < until and not isinstance(entry.payload, Withdrawn):
            by_id[entry.id] = entry
    return tuple(sorted(by_id.values(), key=lambda entry: (entry.at, entry.id)))
