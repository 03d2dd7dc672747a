"""Record that somebody went past a published limit on purpose, in the logbook of the trial that it was done for."""

from __future__ import annotations

from datetime import UTC, datetime, time
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from littoral.acts.choosing import chosen_trial
from littoral.acts.mix_and_feed.figures import Stop, plain
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import AlreadyRecordedError
from littoral.quantities.check_row import CheckRow
from littoral.trial.entries import Entry, Overridden
from littoral.trial.identity import entry_id


def record_override(
    folder: Path,
    key: str | None,
    *,
    act: Literal["mix", "week"],
    of: str,
    stop: Stop | None,
    who: str = "",
    now: datetime | None = None,
) -> bool:
    """Record an override in the logbook at `folder`, for the trial `key` (None: the only one); return whether it was.

    Nothing is recorded where nothing was stopped or the stop still stands, and the very same override (sheet, bottle or
    arm, levels, reason) only once in a local day, so that looking at a result twice is no second decision. Like every
    entry it is never changed or deleted. Raises WhichTrialError, and as `Logbook.open` and `Logbook.note`.
    """
    if stop is None or stop.stands:
        return False
    at = now or datetime.now(UTC)
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, key))
        made = Overridden(
            act=act,
            of=of,
            limit="; ".join(row.what for row in stop.rows),
            said="; ".join(_said(row) for row in stop.rows),
            reason=stop.anyway,
        )
        today = datetime.combine(at.astimezone(ZoneInfo(trial.zone)).date(), time(), UTC)
        once = entry_id(trial=trial.key, at=today, tank=None, payload=made)
        try:
            return bool(book.add([Entry(once, at.astimezone(UTC), trial.zone, None, made, who=who, trial=trial.key)]))
        except AlreadyRecordedError:  # by somebody else
            return False


def _said(row: CheckRow) -> str:
    if row.value is None or row.limit is None:
        return row.what
    return f"{row.what}: {plain(row.value)} {row.unit}, limit {plain(row.limit)} {row.unit}"
