"""Refusals of single entries: what is not there, has another's id, or was changed by somebody else meanwhile."""

from __future__ import annotations

from littoral.errors import LittoralError
from littoral.trial.entries import Entry


class NoEntryError(LittoralError):
    """The logbook holds no entry of this id."""

    def __init__(self, identity: str) -> None:
        self.identity = identity
        right = "`littoral today LOGBOOK` shows the ids of what was recorded."
        super().__init__(f"no entry {identity!r} in this logbook. {right}")


class AlreadyRecordedError(LittoralError):
    """Another entry has this id already: `there` is in the logbook, `refused` was not written."""

    def __init__(self, there: Entry, refused: Entry) -> None:
        self.there, self.refused = there, refused
        super().__init__(
            f"the id {there.id} belongs to another entry ({there.tank}, {there.at:%Y-%m-%d %H:%M} UTC). "
            "Nothing was written; record it with an id of its own."
        )


class SupersededError(LittoralError):
    """What was to be corrected or undone was changed meanwhile: `ahead` holds, `refused` was not written."""

    def __init__(self, refused: Entry, ahead: Entry) -> None:
        self.refused, self.ahead = refused, ahead
        super().__init__(
            f"the entry {refused.supersedes} was changed already, by {ahead.who or 'somebody'} with {ahead.id}. "
            "Nothing was written; look at that one and change it, if it is still wrong."
        )


def same_record(there: Entry, again: Entry) -> bool:
    """Tell whether an entry says again what is there; the moment may differ, since "now" passes between two tries."""
    return (there.trial, there.tank, there.payload, there.supersedes, there.who, there.note) == (
        again.trial,
        again.tank,
        again.payload,
        again.supersedes,
        again.who,
        again.note,
    )
