"""Measure the photos of a trial once; after that the measures come from the cache (`findings.view_series`)."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from littoral.findings.elsewhere import Elsewhere
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.taught_looks import by_teaching, strokes_of
from littoral.findings.view_series import ViewSeries
from littoral.imaging.method import METHOD_VERSION
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo, Taught
from littoral.trial.model import Trial, View

if TYPE_CHECKING:
    from littoral.findings.machines.cluster import Cluster
    from littoral.findings.machines.photos_at import PhotosAt


def measure_photos(
    book: Logbook,
    trial: Trial,
    *,
    progress: Progress | None = None,
    workers: int | None = None,
    cluster: Cluster | None = None,
    photos_at: PhotosAt | None = None,
) -> Measured:
    """Return the measures of every photo of a trial, by view and day; measures only what the cache does not hold.

    `workers` photos are worked on at a time (None: one per core), and what can be by the workers of `cluster`; the
    result is the same. Originals are read at `photos_at` in place of the logbook's folder. `progress(done, total,
    what)` counts over all views that must be measured. A photo that came with a data package, without its original,
    keeps the measures that came with it (`findings.elsewhere`). A photo that cannot be read or brought to its view
    stays, with `excluded` saying why. Raises NoOriginalError where a photo's original is gone, UnwrittenFileError
    where the cache cannot be written, and the classes of MachinesError; what was measured before that is kept.
    """
    photos: dict[str, list[Entry]] = {view: [] for view in trial.views}
    held: list[MeasuredPhoto] = []
    elsewhere = Elsewhere(book, trial)
    brought: list[MeasuredPhoto] = []
    for entry in book.entries(trial.key):
        if not isinstance(entry.payload, Photo):
            continue
        if not entry.payload.used:
            held.append(_held_back(entry, entry.payload, trial))
        elif (there := elsewhere.photo(entry)) is not None:
            brought.append(there)
        else:
            photos[entry.payload.view].append(entry)
    series = _series(book, trial, photos)
    total = sum(2 * one.count for one in series if one.cached is None)
    done = 0

    def report(step: int, what: str) -> None:
        if progress is not None:
            progress(done + step, total, what)

    measured: list[MeasuredPhoto] = []
    for one in series:
        if one.cached is None:
            one.measure(report, workers=workers or os.cpu_count() or 1, cluster=cluster, photos_at=photos_at)
            done += 2 * one.count
        measured += one.photos()
    if held or brought:
        order = {view: place for place, view in enumerate(trial.views)}
        together = [*measured, *brought, *held]
        measured = sorted(together, key=lambda photo: (order[photo.view], photo.day, photo.entry_id))
    methods = dict.fromkeys([*([METHOD_VERSION] if series or not brought else []), *elsewhere.methods])
    return Measured(tuple(measured), method=" and ".join(methods))


def measured_already(book: Logbook, trial: Trial) -> Measured | None:
    """Return the measures of a trial where the cache holds all of them; None where photos would have to be measured."""
    photos: dict[str, list[Entry]] = {}
    for entry in book.entries_of(trial.key, (Photo,)):
        if isinstance(entry.payload, Photo) and entry.payload.view in trial.views and entry.payload.used:
            photos.setdefault(entry.payload.view, []).append(entry)
    series = _series(book, trial, photos)
    if not series or any(one.cached is None for one in series):
        return None
    return Measured(tuple(photo for one in series for photo in one.photos()), method=METHOD_VERSION)


def _series(book: Logbook, trial: Trial, photos: Mapping[str, Sequence[Entry]]) -> list[ViewSeries]:
    """Return the series of each view that has photos, once for each way it was drawn and taught."""
    made = book.entries_of(trial.key, (Taught,))
    taught = {view: strokes_of(made, trial.views[view]) for view in photos}
    return [
        ViewSeries(book, trial, drawn, entries, mine, teaching)
        for view, entries in photos.items()
        for drawn, those in _by_drawing(trial, trial.views[view], entries)
        for mine, teaching in by_teaching(trial, drawn, entries, those, taught[view])
    ]


def measured_so_far(book: Logbook, trial: Trial) -> Mapping[str, MeasuredPhoto]:
    """Return by entry id the photos whose measures are there already; nothing is measured."""
    elsewhere = Elsewhere(book, trial)
    found: dict[str, MeasuredPhoto] = {}
    photos: dict[str, list[Entry]] = {view: [] for view in trial.views}
    for entry in book.entries_of(trial.key, (Photo,)):
        if not isinstance(entry.payload, Photo) or not entry.payload.used:
            continue
        if (there := elsewhere.photo(entry)) is not None:
            found[entry.id] = there
        else:
            photos[entry.payload.view].append(entry)
    for one in _series(book, trial, photos):
        found |= {photo.entry_id: photo for photo in one.photos()} if one.cached is not None else {}
    return found


def prepared_picture(book: Logbook, trial: Trial, entry_id: str) -> Path | None:
    """Return a photo as it was aligned when it was measured; None where it is not measured yet, or was refused."""
    photo = measured_so_far(book, trial).get(entry_id)
    return None if photo is None else photo.prepared


def _by_drawing(trial: Trial, view: View, entries: Sequence[Entry]) -> list[tuple[View, tuple[bool, ...]]]:
    """Return a view once for each way it was drawn, with which of its photos are measured so.

    Each drawing is measured over the whole series, so that thresholds and the first days' look are the same whichever
    days it holds for.
    """
    days = [day_of(entry.at, trial) for entry in entries]
    found: list[tuple[View, tuple[bool, ...]]] = []
    since = -math.inf
    for until, panes in (*view.earlier, (math.inf, view.panes)):
        those = tuple(since <= day < until for day in days)
        if any(those):
            found.append((replace(view, panes=panes, earlier=()), those))
        since = until
    return found


def _held_back(entry: Entry, photo: Photo, trial: Trial) -> MeasuredPhoto:
    """Return a photo that is not measured: somebody set it aside, or has yet to decide about it."""
    said = "; ".join(photo.doubts)
    why = f"set aside by a person{f': {entry.note}' if entry.note else ''}" if photo.decided else f"to decide: {said}"
    return MeasuredPhoto(
        entry_id=entry.id,
        sha256=photo.sha256,
        view=photo.view,
        day=day_of(entry.at, trial),
        prepared=None,
        colour_residual=None,
        align_residual_px=None,
        correction="",
        flags=photo.doubts,
        regions=(),
        excluded=why,
    )
