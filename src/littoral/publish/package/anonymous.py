"""A trial without names, places and dates: what is left counts from day 0.

Day 0 becomes the same weekday of the first week of 2001, in UTC, and every moment keeps its day of the trial, so that
regimes by weekday, days and findings stay as they are. Only what is in force goes along: no history, no notes unless
they are asked for, nobody's name. Identifiers are made anew from a secret that stays in the logbook, since those of
entries could be guessed back to their date. The trial file is written anew, so that nothing of its comments is left.
A photo's SHA-256 stays: it says nothing without the photo, and proves what was measured to somebody who has it.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import fields, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import tomli_w

from littoral.errors import LittoralError
from littoral.findings.measured import MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.publish.package.descriptor import trial_id_of
from littoral.publish.package.packed import PackedTrial, drawings_of
from littoral.trial.days import day_of, instant_of
from littoral.trial.entries import Dose, Drawn, Entry, Note, Overridden, Payload, Photo, Taught
from littoral.trial.model import Trial
from littoral.trial.written.document import read_document
from littoral.trial.written.drawings import as_drawn
from littoral.trial.written.reader import read_trial

FIRST_MONDAY = date(2001, 1, 1)
ZONE = "UTC"
_ELSEWHERE = re.compile(
    r"(?P<address>[\w.+-]+@[\w-]+(?:\.[\w-]+)+|https?://\S+|www\.\S+)"
    r"|(?P<place>[-+]?\d{1,3}\.\d{3,}°?\s*[NS]?\s*[,;/ ]\s*[-+]?\d{1,3}\.\d{3,}°?\s*[EWO]?)"
    r"|(?P<date>\b(?:\d{1,2}[./-]\d{1,2}[./-])?(?:19|20)\d\d(?:[./-]\d{1,2}[./-]\d{1,2})?\b)"
)
_FREE = frozenset(
    {"name", "how", "held_equal", "stopping", "trimming", "paired_by", "called", "ask", "factor", "title"}
)
"""Keys of a trial file under which a person writes as they like."""
_FREE_FIELDS = frozenset({"text", "what", "change", "reason", "method", "said", "limit"})
"""Fields of entries in which a person writes as they like."""
_NAMED = frozenset({"tanks", "bottles", "regimes", "arms", "stands", "views", "methods"})
"""Tables of a trial file whose keys are a person's."""
_WORD = re.compile(r"[A-Za-z0-9_-]+")


class AnonymityError(LittoralError):
    """The trial file can no longer be read with the names taken out."""

    def __init__(self, fault: str) -> None:
        self.fault = fault
        super().__init__(
            f"with the names taken out, the trial file can no longer be read: {fault} "
            "Leave out of --hide what is also a word of the trial file, or give the tank or arm another short name."
        )


class Redaction:
    """What is taken out of texts: names and their parts, addresses, coordinates, dates."""

    def __init__(self, names: Sequence[str], keys: Collection[str]) -> None:
        """Take names out, each as a whole and by its words; one letter is none. `keys` are the trial's short names."""
        self._keys = keys
        self._number: dict[str, int] = {}
        whole = list({name.strip(): None for name in names if len(name.strip()) > 1})
        for number, name in enumerate(whole, start=1):
            self._number.setdefault(name.casefold(), number)
        for number, name in enumerate(whole, start=1):
            for part in _parts(name):
                self._number.setdefault(part.casefold(), number)
        said = "|".join(re.escape(name) for name in sorted(self._number, key=len, reverse=True))
        self._names = re.compile(rf"(?<![^\W_])({said})(?:['’]?s)?(?![^\W_])", re.IGNORECASE) if said else None

    def names(self, text: str) -> str:
        """Return a text or short name without names of people: each becomes person-1, person-2…"""
        if self._names is None:
            return text
        return self._names.sub(lambda found: f"person-{self._number[found[1].casefold()]}", text)

    def text(self, text: str) -> str:
        """Return free text without names, addresses, coordinates and dates."""
        return _ELSEWHERE.sub("…", self.names(text))

    def references(self, text: str) -> str:
        """Return what is written by rule, such as an amount, with the short names in it as they are called now."""
        if text in self._keys:
            return self.names(text)
        return _WORD.sub(lambda found: self.names(found[0]) if found[0] in self._keys else found[0], text)


def _parts(name: str) -> list[str]:
    """Return the words of a name that are taken out by themselves: not "the" of a club, nor an initial."""
    words = re.split(r"[\s,;/&+]+", name)
    return [word for word in words if len(word) >= 5 or (len(word) >= 3 and word != word.lower())]


def anonymised(packed: PackedTrial, *, secret: str, hide: Sequence[str] = (), keep_notes: bool = False) -> PackedTrial:
    """Return the trial without names, places and dates; `hide` are names besides those in `who`. AnonymityError.

    With `keep_notes` notes go along, with the same taken out of them; nobody can take out what nobody named. `secret`
    is known to the logbook alone and always the same for a trial, so that two packages of it have one identifier.
    """
    redaction = Redaction([*{entry.who: None for entry in packed.entries}, *hide], _keys(packed.trial))
    key = hmac.new(secret.encode(), b"trial", hashlib.sha256).hexdigest()
    text = _text(packed, redaction, f"trial-{key[:10]}")
    trial, faults = read_trial(text, where="trial.toml")
    if trial is None:
        raise AnonymityError(str(faults[0]))
    move = _Move(packed.trial, trial, redaction, secret, keep_notes=keep_notes)
    entries = [move.entry(entry) for entry in packed.in_force() if keep_notes or not isinstance(entry.payload, Note)]
    by_id = {entry.id: entry for entry in entries}
    trial = as_drawn(trial, drawings_of(entries))
    first = packed.texts[0][0]
    written = datetime.combine(move.date(first.date()), time(), UTC)  # to the day: nearer would tell the rest
    return PackedTrial(
        trial=trial,
        texts=((written, text),),
        entries=tuple(sorted(entries, key=lambda entry: (entry.at, entry.id))),
        photos=tuple(move.photo(photo, by_id) for photo in packed.photos),
        method=packed.method,
        trial_id=trial_id_of(key),
        anonymous=True,
    )


class _Move:
    """Moves entries and measures into the trial without dates."""

    def __init__(self, old: Trial, new: Trial, redaction: Redaction, secret: str, *, keep_notes: bool) -> None:
        self._old, self._new, self._redaction = old, new, redaction
        self._secret, self._keep_notes = secret.encode(), keep_notes

    def date(self, day: date) -> date:
        return day + (self._new.start - self._old.start)

    def id(self, identity: str) -> str:
        return hmac.new(self._secret, identity.encode(), hashlib.sha256).hexdigest()[:32]

    def entry(self, entry: Entry) -> Entry:
        return Entry(
            id=self.id(entry.id),
            at=instant_of(day_of(entry.at, self._old), self._new),
            zone=ZONE,
            tank=None if entry.tank is None else self._redaction.names(entry.tank),
            payload=self._payload(entry.payload),
            note=self._redaction.text(entry.note) if self._keep_notes else "",
            trial=self._new.key,
        )

    def photo(self, photo: MeasuredPhoto, entries: Mapping[str, Entry]) -> MeasuredPhoto:
        entry = entries[self.id(photo.entry_id)]
        return replace(
            photo,
            entry_id=entry.id,
            view=self._redaction.names(photo.view),
            day=day_of(entry.at, self._new),
            regions=tuple(self._region(region) for region in photo.regions),
        )

    def _payload(self, payload: Payload) -> Payload:
        said: dict[str, Any] = {
            field.name: (self._redaction.text if field.name in _FREE_FIELDS else self._redaction.references)(value)
            for field in fields(payload)
            if isinstance(value := getattr(payload, field.name), str)
        }
        match payload:
            case Dose(for_date=str(for_date)):
                said["for_date"] = self.date(date.fromisoformat(for_date)).isoformat()
            case Photo():
                doubts = tuple(self._redaction.text(doubt) for doubt in payload.doubts)
                said |= {"file_name": "", "sha256": payload.sha256, "doubts": doubts, "camera": ""}
            case Drawn(panes=panes):
                said["panes"] = json.dumps(
                    _cleaned(json.loads(panes), self._redaction, timedelta(), under="tanks"), ensure_ascii=False
                )
            case Taught():
                said |= {"sha256": payload.sha256, "strokes": payload.strokes}
            case Overridden() if not self._keep_notes:
                said["reason"] = ""
            case _:
                pass
        return replace(payload, **said)

    def _region(self, region: RegionMeasure) -> RegionMeasure:
        return replace(region, pane=self._redaction.names(region.pane), region=self._redaction.names(region.region))


def _text(packed: PackedTrial, redaction: Redaction, key: str) -> str:
    """Return the trial file written anew: no comments, names, places; dates from the first week of 2001."""
    values = read_document(packed.texts[-1][1], where="trial.toml").values
    assert values is not None, "it was read before"
    trial = packed.trial
    start = FIRST_MONDAY + timedelta(days=trial.start.weekday())
    plain = _cleaned(values, redaction, start - trial.start)
    head = plain["trial"]
    head |= {"key": key, "title": f"A trial of {redaction.text(trial.factor)}", "start": start, "zone": ZONE}
    if isinstance(head.get("draw"), dict):
        head["draw"].pop("seed", None)  # often a date; who drew can show it
    if isinstance(plain.get("source"), dict):
        plain["source"].pop("name", None)
    for number, view in enumerate(plain.get("views", {}).values(), start=1):
        view |= {"photos": f"photos/view-{number}"}
        view.pop("match", None)
    return tomli_w.dumps(plain)


def _cleaned(value: Any, redaction: Redaction, moved: timedelta, *, under: str = "") -> Any:
    match value:
        case str():
            return redaction.text(value) if under in _FREE else redaction.references(value)
        case datetime() | date():
            return value + moved
        case Mapping():
            return {
                (redaction.names(key) if under in _NAMED else key): _cleaned(one, redaction, moved, under=key)
                for key, one in value.items()
            }
        case list() | tuple():
            return [_cleaned(one, redaction, moved, under=under) for one in value]
        case _:
            return value


def _keys(trial: Trial) -> frozenset[str]:
    """Return every short name that the person who wrote the trial file chose."""
    tables = (trial.tanks, trial.bottles, trial.regimes, trial.stands, trial.views)
    regions = (region.key for view in trial.views.values() for pane in view.panes for region in pane.regions)
    own = (key for table in tables for key in table)
    return frozenset((*own, *(arm.key for arm in trial.arms), *regions, *(method.key for method in trial.methods)))
