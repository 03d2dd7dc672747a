"""Gather everything the page of a trial shows."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from littoral.acts.bench_spread import spreads_before
from littoral.acts.entry_words import event_of
from littoral.acts.page_charts import charts_by_width
from littoral.acts.published_files import published_files
from littoral.acts.trial_page import Event, Moment, Shown, TrialPage, TwinPhoto, TwinTank
from littoral.acts.twin_pictures import WIDTH_PX
from littoral.errors import extras_needed
from littoral.findings.answers import answer
from littoral.findings.costs import costs_of
from littoral.findings.feeding import feeding_of
from littoral.findings.levels import levels_of
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.account import account_of
from littoral.publish.cautions import cautions_of
from littoral.publish.charts import charts_of
from littoral.publish.findings_json import findings_json
from littoral.publish.look import on_dark
from littoral.publish.moments import Moment as FilmMoment
from littoral.publish.moments import moments, step_days
from littoral.publish.override_words import overrides_of
from littoral.publish.panes import crop_box, pane_of, photos_by_tank
from littoral.publish.sheet_words import design_words, draw_words, lead_words, order_words
from littoral.speech.say import say
from littoral.trial.days import date_of
from littoral.trial.model import Trial


@extras_needed()
def view_trial(folder: Path, key: str, *, progress: Progress | None = None) -> TrialPage:
    """Return the page of the trial `key` in the logbook at `folder`; photos not measured yet are measured first."""
    with Logbook.open(folder) as book:
        trial = book.trial(key)
        entries = book.entries(key)
        measured = measure_photos(book, trial, progress=progress)
        if progress is not None:
            progress(0, 1, say("answering the questions"))
        findings = answer(book, trial, measured=measured, seen=spreads_before(book, trial))
        events = tuple(event for entry in entries if (event := event_of(entry, trial)) is not None)
        steps, tanks = _twin(book, trial, measured, events)
        feeding, levels, costs = feeding_of(book, trial), levels_of(book, trial), costs_of(book, trial)
        draw = partial(
            charts_of,
            trial,
            measured=measured,
            findings=findings,
            levels=levels,
            feeding=feeding,
            entries=entries,
        )
        return TrialPage(
            trial=trial,
            lead=lead_words(trial),
            design=f"{design_words(trial)} {draw_words(trial)} {order_words(trial)}".rstrip(),
            moments=steps,
            tanks=tanks,
            events=events,
            findings=findings,
            findings_json=findings_json(trial, findings),
            charts=charts_by_width(lambda width_px: draw(width_px=width_px)),
            on_dark=on_dark(),
            tables=account_of(trial, feeding=feeding, levels=levels, costs=costs).tables,
            cautions=(*cautions_of(trial), *overrides_of(trial, entries)),
            published=tuple(published_files(folder, key)),
            pictures=book.cache_path("twin", "pictures").parent,
            left_out=sum(photo.prepared is None and bool(photo.regions) for photo in measured.photos),
        )


def _twin(
    book: Logbook, trial: Trial, measured: Measured, events: Sequence[Event]
) -> tuple[tuple[Moment, ...], tuple[TwinTank, ...]]:
    # In the order in which the file names the tanks, so that "left" can stand on the left.
    in_arms = {tank for arm in trial.arms for tank in arm.tanks}
    seen = [tank for tank in trial.tanks if tank in in_arms and pane_of(trial, tank) is not None]
    photos = photos_by_tank(trial, measured, seen)
    days = [photo.day for some in photos.values() for photo in some]
    filmed = moments(trial, photos)
    if step_days(days) < 1:
        steps = tuple(_moment(trial, one.day, one.label) for one in filmed)
    else:
        # Whole days from the first, up to the last on which anything was recorded: days without photos count too.
        last = max([0.0, *days, *(event.day for event in events if event.kind not in ("override", "drawing"))])
        steps = tuple(_moment(trial, float(day), say("day {day}", day=day)) for day in range(math.floor(last) + 1))
    return steps, tuple(_tank(book, trial, tank, steps, filmed) for tank in seen)


def _moment(trial: Trial, day: float, label: str) -> Moment:
    return Moment(day, label[:1].upper() + label[1:], date_of(day, trial))


def _tank(book: Logbook, trial: Trial, tank: str, steps: Sequence[Moment], filmed: Sequence[FilmMoment]) -> TwinTank:
    found = pane_of(trial, tank)
    assert found is not None  # only tanks that a view shows are asked for
    view, pane = found
    across, down = view.frame_px
    left, top, right, bottom = crop_box(view, pane, view.frame_px)
    box = (left / across, top / down, right / across, bottom / down)
    own = {one.day: one.shown[tank] for one in filmed}
    shown: list[Shown] = []
    before = Shown(None, "", held=True)
    for step in steps:
        film = own.get(step.day)
        if film is not None and film.photo is not None and not film.held:
            before = Shown(_photo(book, film.photo, box), step.label, held=False)
            shown.append(before)
        else:
            shown.append(Shown(before.photo, before.from_label, held=True))
    arm = trial.arm_of(tank)
    shape = (WIDTH_PX, max(1, round(WIDTH_PX * (bottom - top) / (right - left))))
    return TwinTank(
        key=tank,
        name=trial.tanks[tank].name,
        arm=arm.key,
        arm_name=trial.tanks[tank].name if trial.plan.kind == "crossover" else arm.name,
        arm_place=trial.arms.index(arm),
        box=box,
        shape_px=shape,
        shown=tuple(shown),
    )


def _photo(book: Logbook, photo: MeasuredPhoto, box: tuple[float, ...]) -> TwinPhoto:
    flags = (*photo.flags, photo.excluded) if photo.excluded else photo.flags
    content = (photo.sha256, photo.prepared.name if photo.prepared else "", str(box))
    return TwinPhoto(
        entry_id=photo.entry_id,
        day=photo.day,
        stamp=hashlib.sha256("\0".join(content).encode()).hexdigest()[:16],
        original=_original(book, photo),
        prepared=photo.prepared,
        flags=flags,
    )


def _original(book: Logbook, photo: MeasuredPhoto) -> Path:
    """Return the photo as it came; the corrected picture where a package brought no other."""
    if photo.prepared is not None and not book.has_original(photo.sha256):
        return photo.prepared
    return book.original(photo.sha256)
