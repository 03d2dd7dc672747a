"""Ids of entries, made from what they say, so that importing a file twice changes nothing.

An id covers what happened: trial, moment, tank, kind and payload. It leaves out who noted it and the side note, so that
adding a remark to a row does not make a second dose of it. A dose counts as it was written (2 strokes), not by the
millilitres it comes to, so that calibrating a pump later does not make a second dose either. Rows that say the very
same are told apart by their number among each other, which does not depend on the order of the file.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import partial

from littoral.trial.days import NaiveTimeError
from littoral.trial.entries import Entry, Payload

ID_LENGTH = 32
"""Hexadecimal digits kept: 128 bits, so that two of a billion entries share an id with probability 1e-21."""


def entry_id(
    *, trial: str, at: datetime, tank: str | None, payload: Payload, written: tuple[str, ...] = (), occurrence: int = 0
) -> str:
    """Return the id of an entry of the trial with the key `trial`.

    `written`, where given, stands for the payload's amount in the person's own measure; `occurrence` counts entries
    that say the very same, from 0. Raises NaiveTimeError for a moment without a zone.
    """
    if at.tzinfo is None:
        raise NaiveTimeError(at)
    content = _content(payload)
    if written:
        content = {"of": content.get("of"), "given": content.get("given"), "written": written}
    said = [trial, at.astimezone(UTC).isoformat(), tank, type(payload).__name__, content, occurrence]
    return _digest(json.dumps(said, sort_keys=True, ensure_ascii=True))


def photo_id(sha256: str, view: str, *, trial: str) -> str:
    """Return the id of a photo's entry: a trial's same original in the same view is the same, whatever its name."""
    return _digest(json.dumps(["photo", trial, sha256, view]))


def next_id(supersedes: str, payload: Payload) -> str:
    """Return the id of an entry that takes the place of another: of what it replaces, and by what."""
    return _digest(json.dumps(["instead", supersedes, type(payload).__name__, _content(payload)]))


def number_alike(entries: Sequence[tuple[Entry, tuple[str, ...]]]) -> tuple[Entry, ...]:
    """Give every entry its id, numbering those that say the same; each comes with its `written`, see `entry_id`."""
    seen: Counter[str] = Counter()
    numbered = []
    for entry, written in entries:
        said = partial(
            entry_id, trial=entry.trial, at=entry.at, tank=entry.tank, payload=entry.payload, written=written
        )
        first = said()
        numbered.append(dataclasses.replace(entry, id=said(occurrence=seen[first])))
        seen[first] += 1
    return tuple(numbered)


_LATER = ("minutes", "written", "for_date", "doubts", "decided", "camera")


def _content(payload: Payload) -> dict[str, object]:
    """Return a payload's fields without those that came later and say nothing: ids of earlier versions stay as made."""
    fields = dataclasses.asdict(payload)
    return {name: value for name, value in fields.items() if not (name in _LATER and value in (None, "", ()))}


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:ID_LENGTH]
