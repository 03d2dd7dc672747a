"""Draw a view: the corners of its tanks and the regions that are measured, for the whole trial or from a day on.

A drawing is an entry. It can be undone, and then the one before it holds again; photos of earlier days keep the drawing
that they had.
"""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from littoral.acts.recorded import Recorded, book_of, keep
from littoral.acts.told import Told, new_id, read_id
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.findings.measuring import prepared_picture
from littoral.logbook.book import Logbook
from littoral.trial.days import day_of
from littoral.trial.entries import Drawn, Entry, Photo
from littoral.trial.model import Trial, View
from littoral.trial.written.drawings import read_drawing, write_drawing
from littoral.trial.written.report import suggest

QUALITY = 88


@dataclass(frozen=True, slots=True)
class DrawingPhoto:
    """A photo that a view can be drawn on: entry id and day."""

    entry: str
    day: float


@dataclass(frozen=True, slots=True)
class ViewToDraw:
    """A view as it is drawn on a day: `panes` as plain data, the photos to draw on, and which drawings there are.

    `since` holds, for each drawing that is in force, the day from which on it holds (None: from the beginning) and the
    entry that made it (None: the trial file).
    """

    trial: Trial
    view: View
    from_day: float
    panes: dict[str, Any]
    photos: tuple[DrawingPhoto, ...]
    since: tuple[tuple[float | None, str | None], ...]


def see_view(folder: Path, trial_key: str, view_key: str, *, day: float | None = None) -> ViewToDraw:
    """Return a view as it is drawn on a day (the last one unless given). NoLogbookError, NoTrialError, FaultsError."""
    with Logbook.open(folder) as book:
        trial = book.trial(trial_key)
        view = _view(trial, view_key)
        photos = _photos(book.entries_of(trial_key, (Photo,)), trial, view_key)
        made = [one for one in book.entries_of(trial_key, (Drawn,)) if _of(one).view == view_key]
    by_day: dict[float, str] = {}
    for entry in made:
        since = max(_of(entry).from_day, 0.0)
        by_day = {day: one for day, one in by_day.items() if day < since} | {since: entry.id}
    days = [until for until, _ in view.earlier]
    panes = next((panes for until, panes in view.earlier if day is not None and day < until), view.panes)
    first = by_day.get(0.0)
    return ViewToDraw(
        trial=trial,
        view=view,
        from_day=max((one for one in days if day is None or one <= day), default=0.0),
        panes=json.loads(write_drawing(panes)),
        photos=photos,
        since=((None, first), *((one, by_day.get(one)) for one in days)),
    )


def draw_view(
    folder: Path,
    trial_key: str,
    view_key: str,
    panes: str,
    *,
    from_day: float = 0.0,
    told: Told | None = None,
    now: datetime | None = None,
) -> Recorded:
    """Record how a view is drawn, from a day of the trial on (0: for all of it); `panes` is JSON (`trial.written`).

    The same drawing as the one that holds is not recorded again. All mistakes are collected (FaultsError).
    """
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, Told(trial=trial_key), moment) as (book, trial):
        view = _view(trial, view_key)
        read, faults = read_drawing(panes, trial, view)
        found = [*faults]
        if not 0 <= from_day < trial.length_days:
            right = f"The trial has the days 0 to {trial.length_days - 1:g}."
            found.append(Fault(f"is {from_day:g}.", right, "from_day"))
        if found:
            raise FaultsError(found)
        days = [0.0, *(until for until, _ in view.earlier)]
        if read == view.panes and from_day == days[-1]:
            return Recorded(trial.key, (), 0, ())
        entry = Entry(
            id=new_id() if told.id is None else read_id(told.id),
            at=moment.astimezone(UTC),
            zone=trial.zone,
            tank=None,
            payload=Drawn(view_key, float(from_day), write_drawing(read)),
            who=told.who,
            note=told.note,
            trial=trial.key,
        )
        return keep(book, trial, (entry,))


@extras_needed()
def view_picture(folder: Path, trial_key: str, view_key: str, entry_id: str) -> bytes | None:
    """Return one photo of a view as a JPEG of its frame: aligned where it was measured, else as it was taken.

    None where the view has no such photo. NoOriginalError, and the classes of `imaging.photo_errors`.
    """
    from PIL import Image

    from littoral.imaging.decode import decode_photo

    with Logbook.open(folder) as book:
        trial = book.trial(trial_key)
        view = _view(trial, view_key)
        entries = [one for one in book.entries_of(trial_key, (Photo,)) if _photo(one).view == view_key]
        entry = next((one for one in entries if one.id == entry_id), None)
        if entry is None:
            return None
        prepared = prepared_picture(book, trial, entry_id)
        if prepared is not None:
            return prepared.read_bytes()
        data = book.original(_photo(entry).sha256).read_bytes()
    image = Image.fromarray(decode_photo(data, width_px=view.frame_px[0]).image)
    file = io.BytesIO()
    image.resize(view.frame_px).save(file, "JPEG", quality=QUALITY)
    return file.getvalue()


@extras_needed()
def propose_corners(folder: Path, trial_key: str, view_key: str, entry_id: str, *, tanks: int) -> Any:
    """Return corners for `tanks` tanks in a photo, from left to right, in pixels of the frame, each as four points.

    Fewer come back where fewer outlines are clear enough; none is better than wrong ones.
    """
    import numpy as np
    from PIL import Image

    from littoral.imaging.outline import tank_outlines

    data = view_picture(folder, trial_key, view_key, entry_id)
    if data is None:
        return []
    with Image.open(io.BytesIO(data)) as opened:
        picture = np.asarray(opened.convert("RGB"))
    with Logbook.open(folder) as book:
        frame = _view(book.trial(trial_key), view_key).frame_px
    scale = np.array([frame[0] / picture.shape[1], frame[1] / picture.shape[0]])
    return [(one * scale).round(1).tolist() for one in tank_outlines(picture, tanks=tanks)]


def _view(trial: Trial, key: str) -> View:
    if key not in trial.views:
        raise FaultsError([Fault(f'is "{key[:60]}".', suggest(key[:60], trial.views, "views"), "view")])
    return trial.views[key]


def _photos(entries: tuple[Entry, ...], trial: Trial, view: str) -> tuple[DrawingPhoto, ...]:
    return tuple(DrawingPhoto(one.id, day_of(one.at, trial)) for one in entries if _photo(one).view == view)


def _photo(entry: Entry) -> Photo:
    assert isinstance(entry.payload, Photo)
    return entry.payload


def _of(entry: Entry) -> Drawn:
    assert isinstance(entry.payload, Drawn)
    return entry.payload
