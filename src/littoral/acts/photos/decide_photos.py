"""Decide about photos: keep one that looked doubtful, set one aside, or say that it shows another view.

Every decision is an entry that takes the place of the photo's entry before, with who decided and why; the original and
every earlier version stay. A decision can be changed by another one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from uuid import NAMESPACE_OID, uuid5

from littoral.acts.recorded import Recorded, words_of
from littoral.acts.told import Faults, check_short
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial
from littoral.trial.written.report import WrongValueError, suggest

DECISIONS = ("keep", "set aside", "other view")


class NoPhotoError(LittoralError):
    """An entry that was to be decided about is no photo, or was undone."""

    def __init__(self, identity: str) -> None:
        self.identity = identity
        super().__init__(f"{identity[:60]} is no photo in use. `littoral photos list LOGBOOK` shows their ids.")


def decide_photos(
    folder: Path,
    ids: Sequence[str],
    decision: str,
    *,
    view: str = "",
    reason: str = "",
    who: str = "",
    now: datetime | None = None,
) -> Recorded:
    """Decide about photos by their entries' ids (any version's), all or none; the same decision twice is once.

    `decision` is one of DECISIONS: "keep" uses a photo in spite of its doubts, "set aside" leaves it out of every
    measure and needs a `reason`, since leaving photos out changes what is found; "other view" moves it to `view` and
    keeps it. Raises FaultsError ("decision", "view", "reason", "who"), NoPhotoError, and what `Logbook.add` raises.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder, clock=lambda: moment) as book:
        old = [_last(book, identity) for identity in dict.fromkeys(ids)]
        if not old:
            raise NoPhotoError("nothing")
        trial = book.trial(old[0].trial)
        _check(trial, decision, view=view, reason=reason, who=who)
        new = [_decided(entry, decision, view=view, reason=reason.strip(), who=who, trial=trial) for entry in old]
        changed = [one for one, before in zip(new, old, strict=True) if not _same(one, before)]
        added = book.add(changed)
        there = tuple(before if _same(one, before) else one for one, before in zip(new, old, strict=True))
    return Recorded(trial.key, there, len(added), tuple(words_of(one, trial) for one in there))


def _last(book: Logbook, identity: str) -> Entry:
    """Return the version of a photo that is in force; NoPhotoError where there is none."""
    try:
        entry, ahead = book.entry(identity)
    except NoEntryError:
        raise NoPhotoError(identity) from None
    while ahead is not None:
        entry, ahead = book.entry(ahead.id)
    if not isinstance(entry.payload, Photo):
        raise NoPhotoError(identity)
    return entry


def _check(trial: Trial, decision: str, *, view: str, reason: str, who: str) -> None:
    faults = Faults()
    if decision not in DECISIONS:
        faults.add("decision", WrongValueError(f'is "{decision[:40]}".', f"It is one of {', '.join(DECISIONS)}."))
    if decision == "other view" and view not in trial.views:
        what = f'is "{view[:60]}".' if view else "is not said."
        faults.add("view", WrongValueError(what, suggest(view[:60], trial.views, "views")))
    if decision == "set aside" and not reason.strip():
        faults.add("reason", WrongValueError("is empty.", "Say why the photo is left out, such as: blurred."))
    for field, text in (("reason", reason), ("who", who)):
        faults.attempt(field, partial(check_short, text))
    faults.refuse()


def _decided(entry: Entry, decision: str, *, view: str, reason: str, who: str, trial: Trial) -> Entry:
    assert isinstance(entry.payload, Photo)
    payload, tank = replace(entry.payload, decided="set aside" if decision == "set aside" else "kept"), entry.tank
    if decision == "other view":
        shown = trial.views[view]
        payload, tank = replace(payload, view=view), shown.panes[0].tank if len(shown.panes) == 1 else None
    said = (entry.id, decision, payload.view, reason)
    return replace(
        entry,
        id=str(uuid5(NAMESPACE_OID, repr(said))),
        payload=payload,
        tank=tank,
        who=who.strip() or entry.who,
        note=reason or entry.note,
        supersedes=entry.id,
        origin="",
    )


def _same(new: Entry, old: Entry) -> bool:
    one, two = new.payload, old.payload
    assert isinstance(one, Photo)
    assert isinstance(two, Photo)
    return (one.view, one.decided, new.note) == (two.view, two.decided, old.note)
