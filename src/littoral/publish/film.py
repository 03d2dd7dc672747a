"""The film of a trial: its arms side by side, day by day, gaps held and marked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from littoral.findings.measured import Measured
from littoral.progress import Progress
from littoral.publish.encode import FPS, Encoded, encode, encoder_here
from littoral.publish.flags import usual_words
from littoral.publish.moments import Moment, moments, step_days
from littoral.publish.panes import photos_by_tank, shown_tanks
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim, WaterChange
from littoral.trial.model import Trial

if TYPE_CHECKING:
    from av import VideoFrame

    from littoral.publish.frames import Events

FRAMES_A_MOMENT = 7
"""30 frames a second show a little over four days a second."""
SHORTEST_S = 8.0
LONGEST_MOMENT = 20
LAST_HOLD_S = 2.0

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Film:
    """A written film, and at how many of its moments a tank had no photo of its own."""

    encoded: Encoded
    moments: tuple[Moment, ...]
    held: int


def make_film(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    path: Path,
    *,
    progress: Progress | None = None,
) -> Film | None:
    """Write the film of a trial to `path`, 1920 x 1080 H.264; None where no tank has a photo.

    Raises EncoderError where PyAV has no H.264 encoder.
    """
    tanks = shown_tanks(trial)
    made = moments(trial, photos_by_tank(trial, measured, tanks))
    if not made:
        return None
    encoded = encode(path, pictures(trial, tanks, made, entries, progress=progress))
    return Film(encoded, made, sum(one.held for moment in made for one in moment.shown.values()))


def pictures(
    trial: Trial,
    tanks: Sequence[str],
    made: Sequence[Moment],
    entries: Sequence[Entry],
    *,
    progress: Progress | None = None,
) -> Iterator[tuple[VideoFrame, int]]:
    """Yield each moment's frame, yuv420p in BT.709, with the number of film frames it stands.

    The next one is made while the one before is encoded.
    """
    encoder_here()  # says what is missing before any work is done
    from av import VideoFrame
    from av.video.reformatter import ColorRange, Colorspace

    from littoral.publish.frames import FrameMaker

    step = made[1].day - made[0].day if len(made) > 1 else step_days([made[0].day])
    shown = {one.photo.entry_id: one.photo for moment in made for one in moment.shown.values() if one.photo is not None}
    remark = usual_words(shown.values())
    maker = FrameMaker(trial, tanks, _events(trial, tanks, entries), step=step, remark=remark)

    def compose(moment: Moment) -> VideoFrame:
        rgb = VideoFrame.from_numpy_buffer(np.asarray(maker.frame(moment)), format="rgb24")
        return rgb.reformat(
            format="yuv420p", dst_colorspace=Colorspace.ITU709, dst_color_range=ColorRange.MPEG
        )  # fmt: skip

    stands = frames_a_moment(len(made))
    for done, frame in enumerate(_one_ahead(compose, made), start=1):
        last = round(LAST_HOLD_S * FPS) if done == len(made) else 0
        yield frame, stands + last
        if progress is not None:
            progress(done, len(made), "film")


def frames_a_moment(count: int) -> int:
    """Return how many frames each of `count` moments stands: seven, more where the film would be very short."""
    return max(FRAMES_A_MOMENT, min(LONGEST_MOMENT, round(SHORTEST_S * FPS / max(1, count))))


def _events(trial: Trial, tanks: Sequence[str], entries: Sequence[Entry]) -> Events:
    from littoral.publish.frames import Events

    trims: dict[str, list[float]] = {tank: [] for tank in tanks}
    changes: dict[str, list[float]] = {tank: [] for tank in tanks}
    for entry in entries:
        if entry.tank in trims:
            if isinstance(entry.payload, Trim):
                trims[entry.tank].append(day_of(entry.at, trial))
            elif isinstance(entry.payload, WaterChange):
                changes[entry.tank].append(day_of(entry.at, trial))
    return Events(trims, changes)


def _one_ahead(make: Callable[[Moment], T], made: Iterable[Moment]) -> Iterator[T]:
    with ThreadPoolExecutor(max_workers=1) as worker:
        coming = None
        for moment in made:
            following = worker.submit(make, moment)
            if coming is not None:
                yield coming.result()
            coming = following
        if coming is not None:
            yield coming.result()
