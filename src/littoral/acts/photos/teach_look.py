"""Teach a stand's look by brush strokes on a photo: keep them, see them, take them back, read them from a file.

Strokes are an entry. They can be undone like any other, and photos of days before the one they hold from stay as told.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.acts.recorded import Recorded, book_of, keep
from littoral.acts.told import Told, new_id, read_id
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.findings.judged_strokes import Judged, judged
from littoral.findings.measuring import measured_so_far
from littoral.findings.taught_looks import StrokesOn, Teaching, strokes_of
from littoral.findings.view_series import read_image
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo, Taught
from littoral.trial.model import Trial, View
from littoral.trial.written.brush_strokes import BrushStroke, read_strokes, write_strokes
from littoral.trial.written.report import suggest

KEYS = ("photo", "tank", "stand", "from_day", "strokes")
LATEST_DAY = 100_000
FILE_EXAMPLE = '[{"photo": "2026-03-08.jpg", "tank": "left", "stand": "red-stem", "strokes": […]}]'


@dataclass(frozen=True, slots=True)
class TaughtStrokes:
    """One entry of strokes in force: on which photo (its entry's id, None where it is no longer in use) and day."""

    entry: str
    photo: str | None
    day: float | None
    view: str
    tank: str
    stand: str
    from_day: float
    strokes: tuple[BrushStroke, ...]
    who: str

    @property
    def counts(self) -> tuple[int, int]:
        """How many strokes say "this is the stand", and how many "this is not"."""
        stand = sum(one.is_stand for one in self.strokes)
        return stand, len(self.strokes) - stand

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        plain = {name: getattr(self, name) for name in ("entry", "photo", "day", "view", "tank", "stand", "from_day")}
        return {**plain, "strokes": json.loads(write_strokes(self.strokes)), "who": self.who}


def list_strokes(folder: Path, trial_key: str | None = None, *, view: str = "") -> tuple[TaughtStrokes, ...]:
    """Return the strokes in force of a trial, of one view or all, by when they were made. NoTrialError."""
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        photos = _photos(book, trial)
        made = sorted(book.entries_of(trial.key, (Taught,)), key=lambda one: (one.at, one.id))
    found = []
    for entry in made:
        payload = entry.payload
        assert isinstance(payload, Taught)
        if payload.view not in trial.views or entry.tank is None or (view and payload.view != view):
            continue
        strokes, faults = read_strokes(payload.strokes, trial.views[payload.view], where="strokes")
        if faults:
            continue
        photo = photos.get((payload.view, payload.sha256))
        found.append(
            TaughtStrokes(
                entry=entry.id,
                photo=None if photo is None else photo.id,
                day=None if photo is None else day_of(photo.at, trial),
                view=payload.view,
                tank=entry.tank,
                stand=payload.stand,
                from_day=payload.from_day,
                strokes=strokes,
                who=entry.who,
            )
        )
    return tuple(found)


@extras_needed()
def teach_look(
    folder: Path,
    trial_key: str | None,
    photo_id: str,
    *,
    tank: str,
    stand: str,
    strokes: str,
    from_day: float = 0.0,
    told: Told | None = None,
    now: datetime | None = None,
) -> Recorded:
    """Keep strokes (JSON, `trial.written.brush_strokes`) on a photo for one stand, from a day of the trial on.

    They join those in force on the same stand. Where all of them together cannot be told apart, nothing is kept and
    the message names the strokes that the others contradict. Raises FaultsError with all mistakes, NoEntryError.
    """
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, Told(trial=trial_key), moment) as (book, trial):
        photo = next((one for one in book.entries_of(trial.key, (Photo,)) if one.id == photo_id), None)
        if photo is None:
            raise NoEntryError(photo_id)
        assert isinstance(photo.payload, Photo)
        view = trial.views[photo.payload.view]
        day = day_of(photo.at, trial)
        read, faults = read_strokes(strokes, view, where="strokes")
        found = [*faults, *_wrong(trial, view, day, photo.payload, tank=tank, stand=stand, from_day=from_day)]
        if found:
            raise FaultsError(found)
        new = StrokesOn(tank, stand, photo.payload.sha256, float(from_day), read)
        before = strokes_of(book.entries_of(trial.key, (Taught,)), view)
        if new in before:
            return Recorded(trial.key, (), 0, ())
        every = tuple(one for one in (*before, new) if (one.tank, one.stand) == (tank, stand))
        verdict = _judge(book, trial, view, day, every)
        if verdict.contradict:
            raise FaultsError([_contradiction(book, trial, view, verdict, photo.payload.sha256, len(read))])
        entry = Entry(
            id=new_id() if told.id is None else read_id(told.id),
            at=moment.astimezone(UTC),
            zone=trial.zone,
            tank=tank,
            payload=Taught(view.key, stand, photo.payload.sha256, float(from_day), write_strokes(read)),
            who=told.who,
            note=told.note,
            trial=trial.key,
        )
        done = keep(book, trial, (entry,))
    if not verdict.missing:
        return done
    remark = f"They do not teach yet: {verdict.missing}. Until then the stand is told by its colour as before."
    return Recorded(done.trial, done.entries, done.new, done.words, (*done.remarks, remark))


def _wrong(
    trial: Trial, view: View, day: float, photo: Photo, *, tank: str, stand: str, from_day: float
) -> list[Fault]:
    found = []
    if not photo.used:
        found.append(Fault("is not in use.", "Decide to keep it first, or draw on another.", "photo"))
    stands = {f"{pane.tank}/{one.key}" for pane in view.panes_on(day) for one in pane.regions if one.kind == "stand"}
    if f"{tank}/{stand}" not in stands:
        said = f"{tank}/{stand}"[:60]
        found.append(Fault(f'is "{said}", which is no stand of this view.', suggest(said, stands, "stands"), "stand"))
    if not 0 <= from_day < trial.length_days:
        right = f"The trial has the days 0 to {trial.length_days - 1:g}."
        found.append(Fault(f"is {from_day:g}.", right, "from_day"))
    return found


def _judge(book: Logbook, trial: Trial, view: View, day: float, every: Teaching) -> Judged:
    """Judge strokes by the prepared pictures at hand; where none is, what they teach shows when they are measured."""
    asked = {one.sha256 for one in every}
    measured = measured_so_far(book, trial).values()
    paths = {one.sha256: one.prepared for one in measured if one.sha256 in asked and one.view == view.key}
    pictures = {sha256: read_image(path) for sha256, path in paths.items() if path is not None and path.exists()}
    if not asked <= set(pictures):
        return Judged("", None, False, ())
    return judged(view, day, every, pictures)


def _contradiction(book: Logbook, trial: Trial, view: View, verdict: Judged, mine: str, new: int) -> Fault:
    """Say which strokes the others contradict: those on this photo by their number, others by their day."""
    photos = _photos(book, trial)
    here = [number for sha256, number in verdict.against if sha256 == mine]
    days = sorted({f"{day_of(photos[view.key, sha256].at, trial):.0f}" for sha256, _ in verdict.against
                   if sha256 != mine and (view.key, sha256) in photos})  # fmt: skip
    parts = [f"number {', '.join(map(str, here))} on this photo"] if here else []
    parts += [f"some on the photo of day {', '.join(days)}"] if days else []
    share = 100 * (verdict.agree or 0.0)
    which = f" Most at odds with the others: {' and '.join(parts)}." if parts else ""
    return Fault(
        f"contradict each other: only {share:.0f} % of what you marked can be told as you said, half would be luck."
        f"{which}",
        "Take back the strokes that run over both, and draw short ones well inside the stand and well beside it. "
        "Where stand and ground look the same in colour and shade, strokes cannot part them.",
        "strokes" if new else "",
    )


def strokes_from_file(
    folder: Path, trial_key: str | None, text: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Keep the strokes of a file: a list of objects with KEYS; a photo is named by file name or beginning of its id.

    Each is kept as by `teach_look`; the first that is refused ends it, those before it stay. FaultsError.
    """
    try:
        rows: Any = json.loads(text)
    except (ValueError, RecursionError):
        rows = None
    if not isinstance(rows, list) or not rows or not all(isinstance(row, dict) for row in rows):
        raise FaultsError([Fault("is no list of strokes on photos.", f"Write {FILE_EXAMPLE}.", "file")])
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        photos = book.entries_of(trial.key, (Photo,))
    jobs, faults = [], []
    for place, row in enumerate(rows, start=1):
        where = f"row {place}"
        if unknown := sorted(set(row) - set(KEYS)):
            faults.append(Fault(f'has "{unknown[0][:40]}".', f"It takes {', '.join(KEYS)}.", where))
            continue
        named = str(row.get("photo", ""))
        there = [one for one in photos if named and (_file_of(one) == named or one.id.startswith(named))]
        if len(there) != 1:
            said = f'names the photo "{named[:40]}", which is {"none" if not there else len(there)} of the trial\'s.'
            faults.append(Fault(said, "Name it by its file or its id, as `littoral photos list` shows.", where))
            continue
        since = row.get("from_day", 0.0)
        if isinstance(since, bool) or not isinstance(since, int | float) or not abs(since) < LATEST_DAY:
            faults.append(Fault("has a from_day that is no number.", "Write the day of the trial, such as 21.", where))
            continue
        jobs.append((there[0].id, str(row.get("tank", "")), str(row.get("stand", "")), row.get("strokes"), since))
    if faults:
        raise FaultsError(faults)
    done = [
        teach_look(
            folder, trial.key, photo, tank=tank, stand=stand, strokes=json.dumps(strokes), from_day=since,
            told=told, now=now,
        )
        for photo, tank, stand, strokes, since in jobs
    ]  # fmt: skip
    return _together(trial, done)


def _together(trial: Trial, done: Sequence[Recorded]) -> Recorded:
    return Recorded(
        trial.key,
        tuple(entry for one in done for entry in one.entries),
        sum(one.new for one in done),
        tuple(words for one in done for words in one.words),
        tuple(dict.fromkeys(remark for one in done[-1:] for remark in one.remarks)),
    )


def _photos(book: Logbook, trial: Trial) -> dict[tuple[str, str], Entry]:
    return {
        (one.payload.view, one.payload.sha256): one
        for one in book.entries_of(trial.key, (Photo,))
        if isinstance(one.payload, Photo) and one.payload.used
    }


def _file_of(entry: Entry) -> str:
    assert isinstance(entry.payload, Photo)
    return entry.payload.file_name
