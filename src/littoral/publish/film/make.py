"""The film of a trial: its arms side by side, day by day, gaps marked, with what happened and what was found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from littoral.errors import LittoralError
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress
from littoral.publish.film.captions import Cue, cues_of, vtt_text
from littoral.publish.film.encode import Encoded, encode, encoder_here
from littoral.publish.film.happenings import happenings
from littoral.publish.film.options import FilmOptions
from littoral.publish.film.script import FPS, Script, script_of
from littoral.publish.flags import usual_words
from littoral.publish.moments import Moment, moments, step_days
from littoral.publish.panes import photos_by_tank, shown_tanks
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

if TYPE_CHECKING:
    from av import VideoFrame
    from PIL.Image import Image

    from littoral.publish.film.pictures import Originals

MOST_TANKS = 4
"""Arms of which a film shows a tank side by side; more would be too small to see anything."""

T = TypeVar("T")
S = TypeVar("S")


class TooManyArmsError(LittoralError):
    """A trial of more arms than a film shows side by side."""

    def __init__(self, arms: int) -> None:
        self.arms = arms
        super().__init__(
            f"The trial has {arms} arms; a film shows at most {MOST_TANKS} side by side. Make stills instead."
        )


@dataclass(frozen=True, slots=True)
class Film:
    """A written film with its captions' file and its script.

    `held` counts the pictures of a tank at a moment that has no photo of its own; `tanks` are shown side by side.
    """

    encoded: Encoded
    captions: Path
    moments: tuple[Moment, ...]
    held: int
    script: Script
    cues: tuple[Cue, ...]
    tanks: int

    def as_json(self) -> Mapping[str, Any]:
        """Return what was made as plain data: files, size in pixels, seconds, frames, encoder, chapters."""
        return {
            "film": str(self.encoded.path),
            "captions": str(self.captions),
            "width_px": self.encoded.size[0],
            "height_px": self.encoded.size[1],
            "seconds": round(self.encoded.frames / FPS, 3),
            "frames": self.encoded.frames,
            "frames_per_second": FPS,
            "encoder": self.encoded.encoder,
            "moments": len(self.moments),
            "without_photo": self.held,
            "chapters": [{"at_s": round(one.frame / FPS, 3), "name": one.name} for one in self.script.chapters],
        }


class FilmPlan:
    """A film thought out but not yet written: its script, and each of its pictures when asked for."""

    def __init__(
        self,
        trial: Trial,
        measured: Measured,
        entries: Sequence[Entry],
        *,
        findings: Sequence[Finding] = (),
        options: FilmOptions | None = None,
        originals: Originals | None = None,
    ) -> None:
        from littoral.publish.film.cards import CardMaker, card_texts
        from littoral.publish.film.chart import chart_of
        from littoral.publish.film.frames import FrameMaker, film_texts, following_photos
        from littoral.publish.film.pictures import PictureMaker
        from littoral.publish.film.track import events_of
        from littoral.publish.lettering import Lettering

        self.options = options or FilmOptions()
        if len(trial.arms) > MOST_TANKS:
            raise TooManyArmsError(len(trial.arms))
        self.trial = trial
        self.tanks = tuple(shown_tanks(trial))
        self.moments = moments(trial, photos_by_tank(trial, measured, self.tanks))
        self.script = Script((), (), ())
        self.cues: tuple[Cue, ...] = ()
        if not self.moments:
            return
        step = self.moments[1].day - self.moments[0].day if len(self.moments) > 1 else step_days([self.moments[0].day])
        shown = {
            one.photo.entry_id: one.photo
            for moment in self.moments
            for one in moment.shown.values()
            if one.photo is not None
        }
        letters = Lettering([*film_texts(trial), *card_texts(trial, findings)])
        self._cards = CardMaker(trial, findings, self.options, letters)
        self._maker = FrameMaker(
            trial,
            self.tanks,
            events_of(trial, self.tanks, entries),
            step=step,
            remark=usual_words(shown.values()),
            options=self.options,
            chart=chart_of(trial, measured, entries, self.tanks, self.options.chart),
            pictures=PictureMaker(self.options.look, originals),
            following=following_photos(self.moments, self.tanks),
            letters=letters,
        )
        self.script = script_of(
            trial,
            self.moments,
            happenings(trial, measured, entries, self.tanks),
            end_frames=self._cards.end_frames,
            cards=self.options.cards,
            seconds=self.options.seconds,
        )
        self.cues = cues_of(trial, measured, self.tanks, self.moments, self.script, self._cards.pages)

    @property
    def held(self) -> int:
        """At how many moments a tank had no photo of its own, counted over the tanks."""
        return sum(one.held for moment in self.moments for one in moment.shown.values())

    def picture(self, place: int) -> Image:
        """Return the picture of the n-th shot of the script, RGB."""
        shot = self.script.shots[place]
        if shot.kind == "title":
            return self._cards.title()
        if shot.kind == "end":
            return self._cards.end(shot.place)
        return self._maker.frame(self.moments[shot.place], shot.caption, shot.place)


def make_film(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    path: Path,
    *,
    findings: Sequence[Finding] = (),
    options: FilmOptions | None = None,
    originals: Originals | None = None,
    progress: Progress | None = None,
) -> Film | None:
    """Write the film of a trial to `path`, and its captions beside it (.vtt); None where no tank has a photo.

    The same trial, photos and options give the same film. `originals` is needed for the originals' look. A `progress`
    that raises ends the work, and leaves nothing behind. Raises EncoderError where PyAV has no encoder for the codec,
    FilmOptionError for a region that is not drawn, TooManyArmsError.
    """
    plan = FilmPlan(trial, measured, entries, findings=findings, options=options, originals=originals)
    if not plan.moments:
        return None
    return write_film(plan, path, progress=progress)


def write_film(plan: FilmPlan, path: Path, *, progress: Progress | None = None) -> Film:
    """Write a film that was thought out; see `make_film`."""
    options = plan.options
    if options.codec == "webp":
        from littoral.publish.film.webp import write_webp

        stands = [shot.frames for shot in plan.script.shots]
        made = _told(map(plan.picture, range(len(stands))), len(stands), progress)
        encoded = write_webp(path, zip(made, stands, strict=True))
    else:
        encoder_here(options.codec)  # says what is missing before any work is done
        encoded = encode(
            path,
            frames(plan, progress=progress),
            size=options.size,
            codec=options.codec,
            chapters=plan.script.chapters,
            total=plan.script.frames,
            title=plan.trial.title,
        )
    captions = path.with_suffix(".vtt")
    write_whole(captions, vtt_text(plan.cues, title=plan.trial.title).encode())
    return Film(encoded, captions, plan.moments, plan.held, plan.script, plan.cues, len(plan.tanks))


def frames(plan: FilmPlan, *, progress: Progress | None = None) -> Iterator[tuple[VideoFrame, int]]:
    """Yield each shot's frame, yuv420p in BT.709, with the number of film frames it stands.

    The next one is made while the one before is encoded.
    """
    from av import VideoFrame
    from av.video.reformatter import ColorRange, Colorspace

    def compose(place: int) -> VideoFrame:
        rgb = VideoFrame.from_numpy_buffer(np.asarray(plan.picture(place)), format="rgb24")
        return rgb.reformat(
            format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG
        )  # fmt: skip

    shots = plan.script.shots
    made = _told(_one_ahead(compose, range(len(shots))), len(shots), progress)
    for frame, shot in zip(made, shots, strict=True):
        yield frame, shot.frames


def _told(made: Iterable[T], total: int, progress: Progress | None) -> Iterator[T]:
    for done, one in enumerate(made, start=1):
        yield one
        if progress is not None:
            progress(done, total, "film")


def _one_ahead(make: Callable[[S], T], places: Iterable[S]) -> Iterator[T]:
    with ThreadPoolExecutor(max_workers=1) as worker:
        coming = None
        for place in places:
            following = worker.submit(make, place)
            if coming is not None:
                yield coming.result()
            coming = following
        if coming is not None:
            yield coming.result()
