"""Make the film of a trial, or look at one of its frames before."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from littoral.acts.choosing import chosen_trial
from littoral.errors import LittoralError, extras_needed
from littoral.findings.answers import answer
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import make_folders
from littoral.progress import Progress
from littoral.publish.film.options import SUFFIXES, FilmOptionError, FilmOptions, film_options
from littoral.speech.say import say

if TYPE_CHECKING:
    from littoral.publish.film.make import Film, FilmPlan

PREVIEW_PX = 540
"""The shorter side of a frame looked at before."""


class NoFilmError(LittoralError):
    """A trial without photos has no film."""

    def __init__(self) -> None:
        super().__init__("No tank of this trial has a photo yet, so there is no film to make.")


@extras_needed()
def film_trial(
    folder: Path,
    trial_key: str | None,
    out: Path,
    options: Mapping[str, Any],
    *,
    progress: Progress | None = None,
) -> Film:
    """Write a trial's film to `out` (a file, or a folder for film.mp4 and its like), and its captions beside it.

    `options` are those of `publish.film.options.FilmOptions`. Raises NoFilmError, FilmOptionError, EncoderError.
    """
    from littoral.publish.film.make import write_film

    chosen = film_options(options)
    path = _file(out, chosen)
    plan = _plan(folder, trial_key, chosen, progress=progress)
    make_folders(path.parent)
    return write_film(plan, path, progress=progress)


@extras_needed()
def film_frame(folder: Path, trial_key: str | None, options: Mapping[str, Any], *, share: float) -> bytes:
    """Return a small JPEG of the frame at `share` (0 to 1) of the film's length, as it will look.

    Raises NoFilmError, FilmOptionError.
    """
    chosen = film_options({**options, "height_px": PREVIEW_PX})
    plan = _plan(folder, trial_key, chosen, answered=share > 0.8 and chosen.cards)
    at = min(1.0, max(0.0, share)) * (plan.script.frames - 1)
    place = max(place for place, start in enumerate(plan.script.starts()) if start <= at)
    buffer = io.BytesIO()
    plan.picture(place).save(buffer, "JPEG", quality=88)
    return buffer.getvalue()


def _plan(
    folder: Path,
    trial_key: str | None,
    options: FilmOptions,
    *,
    answered: bool = True,
    progress: Progress | None = None,
) -> FilmPlan:
    from littoral.publish.film.make import FilmPlan

    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        if not measured.photos:
            raise NoFilmError
        if answered and progress is not None:
            progress(0, 1, say("answering the questions"))
        plan = FilmPlan(
            trial,
            measured,
            book.entries(trial.key),
            findings=answer(book, trial, measured=measured) if answered and options.cards else (),
            options=options,
            originals={photo.sha256: book.original(photo.sha256) for photo in measured.photos}.__getitem__,
        )
    if not plan.moments:
        raise NoFilmError
    return plan


def _file(out: Path, options: FilmOptions) -> Path:
    """Return the file to write; FilmOptionError where its name's ending is not that of the codec."""
    suffix = SUFFIXES[options.codec]
    if out.suffix in SUFFIXES.values():
        if out.suffix != suffix:
            raise FilmOptionError(f"{out.name} does not end in {suffix}, as a film in {options.codec} does.")
        return out
    return out / f"film{suffix}"
