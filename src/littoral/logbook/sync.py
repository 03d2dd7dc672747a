"""What reading a trial's files again changes: entries are only ever added, and some take the place of others.

A row of a file has an id made from what it says. An entry that corrects a row supersedes it, one that corrects the
correction supersedes that, and so on: the last of such a line is in force, or says that the row was withdrawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from littoral.trial.entries import Entry, Photo, Withdrawn
from littoral.trial.identity import next_id


@dataclass(frozen=True, slots=True)
class Changes:
    """The entries to add: new ones, corrections of others, and withdrawals (payload `Withdrawn`)."""

    new: tuple[Entry, ...] = ()
    corrected: tuple[Entry, ...] = ()
    withdrawn: tuple[Entry, ...] = ()

    def added(self) -> tuple[Entry, ...]:
        """Return all of them, each after the one that it supersedes."""
        return (*self.new, *self.corrected, *self.withdrawn)


def changes(stored: Sequence[Entry], read: Sequence[Entry], *, file: str | None) -> Changes:
    """Compare what a logbook holds of one trial, superseded or not, with what was read of the trial's files.

    `file` is the `origin` that was read whole, None where none was: its entries that were not read again are withdrawn.
    Photos never are. What a person corrected or withdrew in the logbook itself (an `origin` of "") stands.
    """
    by_id = {entry.id: entry for entry in stored}
    successor = {entry.supersedes: entry for entry in stored if entry.supersedes is not None}
    new: list[Entry] = []
    corrected: list[Entry] = []
    kept: set[str] = set()
    for entry in {one.id: one for one in reversed(read)}.values():  # of a photo twice in a folder, the first counts
        if entry.id not in by_id:
            new.append(entry)
            continue
        last = _last(by_id[entry.id], successor)
        kept.add(last.id)
        by_hand = last.id != entry.id and not last.origin
        if isinstance(last.payload, Photo):  # its date and view may be mended in its file, until a person decided
            by_hand = bool(last.payload.decided)
        if by_hand or _says(last) == _says(entry):
            continue
        follower = replace(entry, id=next_id(last.id, entry.payload), supersedes=last.id)
        (new if isinstance(last.payload, Withdrawn) else corrected).append(follower)
    withdrawn = [
        _withdrawal(entry)
        for entry in stored
        if entry.origin == file
        and file
        and entry.id not in successor
        and entry.id not in kept
        and not isinstance(entry.payload, Photo | Withdrawn)
    ]
    return Changes(tuple(reversed(new)), tuple(reversed(corrected)), tuple(withdrawn))


def _last(entry: Entry, successor: dict[str, Entry]) -> Entry:
    while entry.id in successor:
        entry = successor[entry.id]
    return entry


def _says(entry: Entry) -> tuple[object, ...]:
    """Return what makes an entry another one: not who noted it, nor a side note, nor what a photo's file is called."""
    payload = replace(entry.payload, file_name="") if isinstance(entry.payload, Photo) else entry.payload
    return entry.at, entry.tank, payload


def _withdrawal(entry: Entry) -> Entry:
    gone = Withdrawn(f"no longer in {entry.origin}")
    return replace(entry, id=next_id(entry.id, gone), payload=gone, who="", note="", supersedes=entry.id)
