"""Add a photo that a phone or a browser sends: the original is kept by its content, and the entry names its view."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from littoral.acts.photos.file_names import SUFFIXES, plain_name
from littoral.acts.photos.intake import Intake, Looked
from littoral.acts.recorded import Recorded, book_of, keep, words_of
from littoral.acts.told import Faults, Told, check_short, made, read_id, read_when, read_zone
from littoral.errors import extras_needed
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError
from littoral.logbook.originals import sha256_of
from littoral.trial.days import local_date, outside_days
from littoral.trial.entries import Photo, Withdrawn
from littoral.trial.identity import photo_id
from littoral.trial.model import Trial, View
from littoral.trial.photo_dates import date_taken
from littoral.trial.written.report import WrongValueError, suggest


@extras_needed()
def add_photo(
    folder: Path,
    data: bytes,
    view: str,
    *,
    file_name: str = "",
    told: Told | None = None,
    now: datetime | None = None,
) -> Recorded:
    """Keep the bytes of a photo of `view` and record it; the same photo of a view is recorded once, whoever sends it.

    `told.when` is the phone's moment of the shot, which counts where the photo itself holds none that is believed
    (`trial.photo_dates`). It is looked at as many photos at once are (`acts.photos.intake`): a doubtful one is kept and
    waits for `decide_photos`. The entry's id comes from the content, so that a photo that is sent twice, or sent and
    later imported from a folder, is one; `told.id` names the sending only. Raises FaultsError: "photo" (not an image
    that is read here, cut short), "view", "when", "zone", "id", "who", "note"; and what `Logbook` raises.
    """
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, told, moment) as (book, trial):
        faults = Faults()
        if told.id is not None:
            faults.attempt("id", partial(read_id, told.id))
        for field, text in (("who", told.who), ("note", told.note)):
            faults.attempt(field, partial(check_short, text))
        zone = faults.attempt("zone", lambda: read_zone(told.zone or trial.zone)) or trial.zone
        phone_at = faults.attempt("when", lambda: read_when(told.when, trial, now=moment, zone=zone))
        there = faults.attempt("view", lambda: _view(view, trial))
        intake = Intake(book, trial, now=moment)
        looked = intake.look_at(file_name, data)
        if not isinstance(looked, Looked):
            faults.add("photo", WrongValueError("was not taken.", looked.said))
        faults.refuse()
        assert phone_at is not None and there is not None and isinstance(looked, Looked)  # noqa: PT018
        header = looked.header
        dated = date_taken(
            file_name,
            phone_at=phone_at,
            exif_taken=header.exif_taken,
            exif_offset=header.exif_offset,
            trial=trial,
            now=moment,
        )
        if outside := outside_days(dated.at, trial):
            what = f"is {local_date(dated.at, trial.zone)} by the photo itself, but {outside}."
            faults.add("when", WrongValueError(what, "Choose another photo, or take a new one."))
            faults.refuse()
        sha256 = sha256_of(data)
        identity = photo_id(sha256, there.key, trial=trial.key)
        if (known := _known(book, identity, trial)) is not None:
            _put_back(book, sha256, data)
            return known
        suffix = SUFFIXES[header.format]
        doubts = intake.doubts_about(looked, there.key, dated.at)
        entry = made(
            trial,
            Photo(
                sha256,
                there.key,
                dated.dated_by,
                plain_name(file_name) or f"{there.key}{suffix}",
                doubts=doubts,
                camera=header.camera,
            ),
            identity=identity,
            at=dated.at,
            zone=zone,
            tank=there.panes[0].tank if len(there.panes) == 1 else None,
            who=told.who,
            note="; ".join(filter(None, (told.note.strip(), dated.note))),
        )
        book.keep_bytes(data, suffix)
        intake.keep_look(looked)
        return keep(book, trial, (entry,), kept={sha256: (suffix, len(data))})


def _known(book: Logbook, identity: str, trial: Trial) -> Recorded | None:
    """Return the photo that is in the logbook already, with the remark that it is; None where it is not."""
    try:
        entry, ahead = book.entry(identity)
    except NoEntryError:
        return None
    undone = ahead is not None and isinstance(ahead.payload, Withdrawn)
    remark = "This photo was added before and then undone; it stays undone." if undone else ""
    remark = remark or "This photo is in the logbook already."
    return Recorded(trial.key, (entry,), 0, (words_of(entry, trial),), (remark,))


def _put_back(book: Logbook, sha256: str, data: bytes) -> None:
    """Write an original that got lost from the disk; `verify` tells people to send its photo once more."""
    if book.read_only is None and not (path := book.original(sha256)).exists():
        book.keep_bytes(data, path.suffix)


def _view(written: str, trial: Trial) -> View:
    if written not in trial.views:
        what = f'is "{written[:60]}".' if written else "is empty."
        raise WrongValueError(what, suggest(written[:60], trial.views, "views"))
    return trial.views[written]
