"""All photos of a trial by day and view, with what is marked on each; and one photo with what was measured on it."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from littoral.acts.photos.list_photos import ListedPhoto, PhotoState, list_photos
from littoral.acts.photos.photo_figures import Figure, Halves, figures_of, halves_of
from littoral.errors import extras_needed
from littoral.findings.measured import MeasuredPhoto
from littoral.findings.measuring import measured_so_far
from littoral.imaging.results import RegionMeasure
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError
from littoral.publish.flags import single_flags, usual_kinds
from littoral.speech.say import later
from littoral.trial.entries import Photo
from littoral.trial.model import Pane, Point, Trial, View

Show = str
SHOWS: Mapping[Show, str] = {
    "all": later("all"),
    "marked": later("marked"),
    "to decide": later("to decide"),
    "set aside": later("set aside"),
}


@dataclass(frozen=True, slots=True)
class GalleryPhoto:
    """One photo; `marks` are what is wrong with it and not with most, `left_out` why it is in no series ("": it is)."""

    photo: str
    view: str
    day: int
    local: str
    state: PhotoState
    marks: tuple[str, ...]
    left_out: str
    measured: bool


@dataclass(frozen=True, slots=True)
class GalleryView:
    """A column: a view, the arms whose tanks it shows, and the place of the first of them among the trial's arms."""

    key: str
    name: str
    arms: str
    arm_place: int


@dataclass(frozen=True, slots=True)
class Gallery:
    """Rows of photos by day, a column for each view; `counts` by what may be asked for; `usual` is wrong with most."""

    trial: Trial
    views: tuple[GalleryView, ...]
    days: tuple[tuple[int, Mapping[str, tuple[GalleryPhoto, ...]]], ...]
    counts: Mapping[Show, int]
    usual: tuple[str, ...]
    measured: int


def gallery(folder: Path, trial_key: str, *, show: Show = "all") -> Gallery:
    """Return a trial's photos, all or some (SHOWS). NoLogbookError, NoTrialError."""
    listed = list_photos(folder, trial_key)
    with Logbook.open(folder) as book:
        trial = book.trial(trial_key)
        measured = measured_so_far(book, trial)
    usual = {view: usual_kinds([one for one in measured.values() if one.view == view]) for view in trial.views}
    photos = [_photo(one, measured.get(one.photo), usual[one.view]) for one in listed.photos]
    shown = [one for one in photos if _is_shown(one, show)]
    by_day: dict[int, dict[str, tuple[GalleryPhoto, ...]]] = {}
    for one in shown:
        row = by_day.setdefault(one.day, {})
        row[one.view] = (*row.get(one.view, ()), one)
    return Gallery(
        trial=trial,
        views=tuple(_column(trial, view) for view in trial.views.values()),
        days=tuple(sorted(by_day.items())),
        counts={one: sum(_is_shown(photo, one) for photo in photos) for one in SHOWS},
        usual=tuple(sorted({kind for kinds in usual.values() for kind in kinds})),
        measured=sum(one.measured for one in photos),
    )


def _photo(one: ListedPhoto, measured: MeasuredPhoto | None, usual: frozenset[str]) -> GalleryPhoto:
    flags = single_flags(measured.flags, usual) if measured is not None else ()
    left_out = measured.excluded if measured is not None else ""
    if one.state != "in use":
        left_out = "set aside" if one.state == "set aside" else "waits for a decision"
    return GalleryPhoto(
        photo=one.photo,
        view=one.view,
        day=math.floor(one.day),
        local=one.local,
        state=one.state,
        marks=tuple(dict.fromkeys((*one.doubts, *flags))),
        left_out=left_out,
        measured=measured is not None,
    )


def _is_shown(photo: GalleryPhoto, show: Show) -> bool:
    match show:
        case "marked":
            return bool(photo.marks or photo.left_out)
        case "to decide" | "set aside":
            return photo.state == show
        case _:
            return True


def _column(trial: Trial, view: View) -> GalleryView:
    arms = list(dict.fromkeys(trial.arm_of(pane.tank) for pane in view.panes))
    place = trial.arms.index(arms[0]) if arms else 0
    return GalleryView(view.key, view.name, " and ".join(arm.name for arm in arms), place)


@dataclass(frozen=True, slots=True)
class SeenRegion:
    """A region of a photo: its outline in pixels of the view's frame, what was measured on it, and its flags."""

    key: str
    name: str
    tank: str
    kind: str
    polygon_px: tuple[Point, ...]
    figures: tuple[Figure, ...]
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SeenPhoto:
    """One photo with all that was measured on it; `before` and `after` are its neighbours in its view (entry ids)."""

    trial: Trial
    view: View
    listed: ListedPhoto
    glass: tuple[tuple[str, tuple[Point, ...]], ...]
    regions: tuple[SeenRegion, ...]
    measured: bool
    correction: str
    residual: str
    aligned: str
    marks: tuple[str, ...]
    left_out: str
    counted: bool
    before: str | None
    after: str | None
    place: int
    of: int


COUNTED_RGBA = {"stand": (255, 64, 200, 120), "algae": (64, 220, 255, 150)}
"""How counted plant and counted algae are laid over a photo: colours that no plant and no algae have."""


@extras_needed()
def counted_picture(folder: Path, trial_key: str, identity: str) -> bytes | None:
    """Return a PNG to lay over a photo's frame: what was counted as plant or algae; None where it is not at hand.

    NoLogbookError, NoTrialError.
    """
    import numpy as np
    from PIL import Image

    with Logbook.open(folder) as book:
        trial = book.trial(trial_key)
        photo = measured_so_far(book, trial).get(identity)
    if photo is None or photo.counted is None or not photo.counted.exists():
        return None
    panes = trial.views[photo.view].panes_on(photo.day)
    kinds = [region.kind for pane in panes for region in pane.regions]
    colours = [(0, 0, 0, 0), *(COUNTED_RGBA["stand" if kind == "stand" else "algae"] for kind in kinds)]
    with Image.open(photo.counted) as opened:
        places = np.asarray(opened.convert("L"))
    table = np.zeros((256, 4), dtype=np.uint8)
    table[: len(colours)] = colours
    file = io.BytesIO()
    Image.fromarray(table[places], "RGBA").save(file, "PNG", compress_level=1)
    return file.getvalue()


def see_photo(folder: Path, trial_key: str, identity: str) -> SeenPhoto:
    """Return one photo by its entry's id. NoLogbookError, NoTrialError; NoEntryError where the trial has none such."""
    listed = list_photos(folder, trial_key).photos
    mine = next((one for one in listed if one.photo == identity), None)
    if mine is None:
        raise NoEntryError(identity)
    row = [one for one in listed if one.view == mine.view]
    place = row.index(mine)
    with Logbook.open(folder) as book:
        trial = book.trial(trial_key)
        every = measured_so_far(book, trial)
        measured = every.get(identity)
        halves = halves_of(trial, every, book.entries(trial_key), identity, mine.view)
    view = trial.views[mine.view]
    panes = view.panes_on(mine.day)
    return SeenPhoto(
        trial=trial,
        view=view,
        listed=mine,
        glass=tuple((trial.tanks[pane.tank].name, pane.corners_px) for pane in panes if pane.corners_px is not None),
        regions=tuple(_region(trial, pane, measured, at, halves) for pane in panes for at in range(len(pane.regions))),
        measured=measured is not None,
        correction="" if measured is None else measured.correction,
        residual=_residual(measured),
        aligned=_aligned(measured),
        marks=tuple(dict.fromkeys((*mine.doubts, *(measured.flags if measured is not None else ())))),
        left_out="" if measured is None else measured.excluded,
        counted=measured is not None and measured.counted is not None and measured.counted.exists(),
        before=row[place - 1].photo if place else None,
        after=row[place + 1].photo if place + 1 < len(row) else None,
        place=place + 1,
        of=len(row),
    )


def present_id(folder: Path, trial_key: str, identity: str) -> str | None:
    """Return the entry that stands for a photo now, by the id of any version of it; None where it is no photo in use.

    Each decision about a photo is an entry of its own, so an address that somebody kept names an earlier one.
    NoLogbookError.
    """
    with Logbook.open(folder) as book:
        try:
            entry, ahead = book.entry(identity)
            while ahead is not None:
                entry, ahead = book.entry(ahead.id)
        except NoEntryError:
            return None
    return entry.id if isinstance(entry.payload, Photo) and entry.trial == trial_key else None


def _region(trial: Trial, pane: Pane, measured: MeasuredPhoto | None, at: int, halves: Halves) -> SeenRegion:
    region = pane.regions[at]
    found: Sequence[RegionMeasure] = measured.regions if measured is not None else ()
    row = next((one for one in found if (one.pane, one.region) == (pane.tank, region.key)), None)
    return SeenRegion(
        key=region.key,
        name=trial.stands[region.key].name if region.key in trial.stands else region.key,
        tank=trial.tanks[pane.tank].name,
        kind=region.kind,
        polygon_px=region.polygon_px,
        figures=() if row is None else figures_of(row, halves),
        flags=() if row is None else row.flags,
    )


def _residual(measured: MeasuredPhoto | None) -> str:
    if measured is None or measured.colour_residual is None:
        return ""
    return f"{measured.colour_residual:.1f} ΔE00 left on what should look the same in every photo"


def _aligned(measured: MeasuredPhoto | None) -> str:
    if measured is None or measured.align_residual_px is None:
        return ""
    return f"{measured.align_residual_px:.1f} px left on the frame"
