"""Correct an entry, or undo it. Both write a new entry that takes the place of the old one, which stays to be seen."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from uuid import NAMESPACE_OID, uuid5

from littoral.acts.large_doses import large_dose_remark
from littoral.acts.recorded import Recorded, words_of
from littoral.acts.told import Told, made, read_told
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError, SupersededError
from littoral.trial.days import local_date
from littoral.trial.entries import Dose, Drawn, Entry, Overridden, Photo, Taught, Withdrawn
from littoral.trial.model import Trial
from littoral.trial.written.cells import cells_of


class NotCorrectableError(LittoralError):
    """An entry cannot be corrected by text: a photo, or one that was undone."""

    def __init__(self, entry: Entry, right: str) -> None:
        self.entry = entry
        super().__init__(f"the entry {entry.id} cannot be corrected. {right}")


def can_be_corrected(entry: Entry) -> bool:
    """Tell whether `correct_entry` takes it: photos, undoings, overrides, drawings and strokes are no rows of text."""
    return not isinstance(entry.payload, Photo | Withdrawn | Overridden | Drawn | Taught)


def correct_entry(
    folder: Path,
    identity: str,
    *,
    what: str | None = None,
    amount: str | None = None,
    note: str | None = None,
    when: str | None = None,
    tank: str | None = None,
    who: str = "",
    id: str | None = None,
    now: datetime | None = None,
) -> Recorded:
    """Correct some of an entry; what is None stays. A bare time of day in `when` is of the entry's own date.

    The same correction twice is one. Raises FaultsError, NoEntryError, NotCorrectableError, and SupersededError (with
    both versions) where somebody changed the entry meanwhile.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder, clock=lambda: moment) as book:
        old, ahead = book.entry(identity)
        trial = book.trial(old.trial)
        if ahead is not None and isinstance(old.payload, Photo | Withdrawn):
            raise SupersededError(replace(old, supersedes=old.id), ahead)
        if isinstance(old.payload, Photo):
            raise NotCorrectableError(old, "A photo's date is put right in its file; import it again, or undo it here.")
        if isinstance(old.payload, Withdrawn):
            raise NotCorrectableError(old, "It says that another was undone: undo it to bring that one back.")
        if isinstance(old.payload, Drawn):
            raise NotCorrectableError(old, "Draw the view anew, or undo this drawing: the one before it holds again.")
        if isinstance(old.payload, Taught):
            raise NotCorrectableError(old, "Undo these strokes, and draw others on the photo.")
        if isinstance(old.payload, Overridden):
            raise NotCorrectableError(old, "It says what was decided then: undo it, or write another on its sheet.")
        cells = cells_of(old.payload)
        told = Told(when=when or "", zone=old.zone, who=who or old.who, note=old.note if note is None else note)
        if cells.kind == "note":
            told = replace(told, note=cells.text if note is None else note)
        new = read_told(
            trial,
            cells.kind,
            tank=old.tank or "" if tank is None else tank,
            what=cells.what if what is None else what,
            amount=cells.amount if amount is None else amount,
            told=replace(told, id=id),
            now=moment,
            base=local_date(old.at, old.zone),
        )
        if what is None and amount is None and cells.kind != "note":
            new = replace(new, payload=old.payload)
        elif isinstance(old.payload, Dose) and isinstance(new.payload, Dose):
            new = replace(new, payload=replace(new.payload, for_date=old.payload.for_date))
        if when is None:
            new = replace(new, at=old.at)
        return _put(book, trial, replace(new, supersedes=old.id), given_id=id)


def undo_entry(
    folder: Path, identity: str, *, reason: str = "", who: str = "", now: datetime | None = None
) -> Recorded:
    """Undo an entry. What it had corrected or undone holds again; otherwise it is withdrawn. Twice is once.

    Raises NoEntryError, and SupersededError where somebody changed the entry meanwhile.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder, clock=lambda: moment) as book:
        old, _ = book.entry(identity)
        trial = book.trial(old.trial)
        before = old if old.supersedes is None else book.entry(old.supersedes)[0]
        gone = Withdrawn(reason.strip() or "undone")
        new = made(
            trial,
            gone if old.supersedes is None else before.payload,
            identity="",
            at=before.at,
            zone=before.zone,
            tank=before.tank,
            who=who or before.who,
            note="" if old.supersedes is None else before.note,
        )
        return _put(book, trial, replace(new, supersedes=old.id), given_id=None)


def _put(book: Logbook, trial: Trial, entry: Entry, *, given_id: str | None) -> Recorded:
    """Write an entry that takes the place of another; without a given id it has one made of all that it says."""
    if given_id is None:
        said = (entry.supersedes, entry.at, entry.tank, type(entry.payload).__name__, entry.payload, entry.note)
        entry = replace(entry, id=str(uuid5(NAMESPACE_OID, repr(said))))
    try:
        _, ahead = book.entry(entry.id)
    except NoEntryError:
        ahead = None
    if ahead is not None:  # the same was done before, and changed again since
        raise SupersededError(entry, ahead)
    added = book.add((entry,))
    remark = large_dose_remark(entry, trial)
    return Recorded(trial.key, (entry,), len(added), (words_of(entry, trial),), (remark,) if remark else ())
