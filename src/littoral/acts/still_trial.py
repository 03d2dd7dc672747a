"""Make a still of a trial: a pair of days, a row of days, the twin still, or a chart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from littoral.acts.choosing import chosen_trial
from littoral.errors import extras_needed
from littoral.findings.answers import answer
from littoral.findings.feeding import feeding_of
from littoral.findings.levels import levels_of
from littoral.findings.measured import Measured
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.still.options import SUFFIXES, StillOptionError, StillOptions, still_options

if TYPE_CHECKING:
    from PIL.Image import Image

    from littoral.trial.model import Trial

PREVIEW_PX = 640
"""The longer side of a still looked at before."""


@dataclass(frozen=True, slots=True)
class WrittenStill:
    """A written still: the picture, its words as text and as JSON, and the words themselves."""

    picture: Path
    words: Path
    data: Path
    alt: str
    width_px: int
    height_px: int

    def as_json(self) -> Mapping[str, Any]:
        """Return what was made as plain data."""
        return {
            "still": str(self.picture),
            "words": str(self.words),
            "data": str(self.data),
            "alt": self.alt,
            "width_px": self.width_px,
            "height_px": self.height_px,
        }


@extras_needed()
def still_trial(
    folder: Path,
    trial_key: str | None,
    out: Path,
    options: Mapping[str, Any],
    *,
    progress: Progress | None = None,
) -> WrittenStill:
    """Write a still to `out` (a file, or a folder), with its words beside it.

    `options` are those of `publish.still.options.StillOptions`. Raises NoPictureError, StillOptionError.
    """
    from littoral.publish.still.saved import write_picture

    chosen = still_options(options)
    path = _file(out, chosen)
    picture, alt, more = _made(folder, trial_key, chosen, progress=progress)
    written = write_picture(path, picture, alt=alt, file=chosen.file, scale=chosen.scale, more=more)
    return WrittenStill(*written, alt, picture.width, picture.height)


@extras_needed()
def still_preview(folder: Path, trial_key: str | None, options: Mapping[str, Any]) -> bytes:
    """Return a small JPEG of a still as it will look. Raises NoPictureError, StillOptionError."""
    from littoral.publish.still.saved import picture_bytes

    picture, alt, _ = _made(folder, trial_key, still_options({**options, "scale": 1}))
    ratio = min(1.0, PREVIEW_PX / max(picture.size))
    small = picture.resize((round(picture.width * ratio), round(picture.height * ratio)), reducing_gap=3.0)
    return picture_bytes(small, alt=alt, file="jpeg")


@extras_needed()
def chart_keys(folder: Path, trial_key: str | None) -> Mapping[str, str]:
    """Return the title of each chart that the trial has, by key."""
    from littoral.publish.charts import charts_of

    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial)
        charts = charts_of(
            trial,
            measured=measured,
            findings=answer(book, trial, measured=measured),
            levels=levels_of(book, trial),
            feeding=feeding_of(book, trial),
            entries=book.entries(trial.key),
        )
        return {key: chart.title for key, chart in charts.items()}


def _made(
    folder: Path, trial_key: str | None, options: StillOptions, *, progress: Progress | None = None
) -> tuple[Image, str, Mapping[str, Any]]:
    """Return the picture, its words, and what else is told of it in plain data."""
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        if options.kind == "chart":
            return _chart(book, trial, measured, options)
        from littoral.publish.still.make import make_still

        still = make_still(trial, measured, options, originals=book.original)
        return still.picture, still.alt, {"trial": trial.title, "kind": options.kind, "days": list(still.days)}


def _chart(
    book: Logbook, trial: Trial, measured: Measured, options: StillOptions
) -> tuple[Image, str, Mapping[str, Any]]:
    from littoral.publish.charts import charts_of
    from littoral.publish.still.chart import chart_still

    draw = partial(
        charts_of,
        trial,
        measured=measured,
        findings=answer(book, trial, measured=measured) if options.chart in ("", "findings") else (),
        levels=levels_of(book, trial),
        feeding=feeding_of(book, trial),
        entries=book.entries(trial.key),
    )
    picture, chart = chart_still(lambda width_px: draw(width_px=width_px), options, title=trial.title)
    demo = "Rendered demo, not a real tank. " if trial.rendered else ""
    more = {"trial": trial.title, "kind": "chart", "chart": chart.key, "caption": chart.caption}
    return picture, f"{demo}{chart.alt}", more


def _file(out: Path, options: StillOptions) -> Path:
    """Return the file to write; StillOptionError where its name's ending is not that of the file asked for."""
    suffix = SUFFIXES[options.file]
    endings: Sequence[str] = tuple(SUFFIXES.values())
    if out.suffix in endings:
        if out.suffix != suffix:
            raise StillOptionError(f"{out.name} does not end in {suffix}, as a {options.file} does.")
        return out
    name = options.chart if options.kind == "chart" else options.kind
    return out / f"{name}-{options.size}{'@2x' if options.scale == 2 else ''}{suffix}"
