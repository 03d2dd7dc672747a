"""The film is decoded again: size, frames, time stamps, what is held and marked."""

from __future__ import annotations

import dataclasses
import itertools
import sys
from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from littoral.errors import MissingExtraError
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.model import Finding
from littoral.publish.film.encode import EncoderError, encoder_here
from littoral.publish.film.frames import FrameMaker
from littoral.publish.film.layout import Cell, FilmLayout, film_layout
from littoral.publish.film.make import Film, FilmPlan, make_film
from littoral.publish.film.options import FilmOptions
from littoral.publish.film.script import FPS
from littoral.publish.film.track import LINE, Events
from littoral.publish.flags import usual_words
from littoral.publish.look import DARK
from littoral.publish.moments import Moment, Shown, day_words, moments, step_days
from littoral.publish.panes import shown_tanks
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

SMALL = FilmOptions(height_px=360)


def _layout(tanks: int) -> FilmLayout:
    """The layout of the small trial's film: its pictures are 140 x 92 pixels of the view."""
    return film_layout([140 / 92] * tanks)


@pytest.fixture(scope="module")
def film(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    findings: Sequence[Finding],
    tmp_path_factory: pytest.TempPathFactory,
) -> Film:
    path = tmp_path_factory.mktemp("film") / "film.mp4"
    made = make_film(trial, measured, entries, path, findings=findings, options=SMALL)
    assert made is not None
    return made


@pytest.fixture(scope="module")
def decoded(film: Film) -> list[NDArray[np.uint8]]:
    """The first frame of each moment, as RGB."""
    firsts = {
        start for start, shot in zip(film.script.starts(), film.script.shots, strict=True) if shot.kind == "moment"
    }
    with av.open(film.encoded.path) as container:
        return [
            frame.to_ndarray(format="rgb24")
            for number, frame in enumerate(container.decode(video=0))
            if number in firsts
        ]


def test_size_rate_frames_and_time_stamps(film: Film) -> None:
    with av.open(film.encoded.path) as container:
        stream = container.streams.video[0]
        assert stream.codec_context.name == "h264"
        assert stream.codec_context.pix_fmt == "yuv420p"
        assert (stream.width, stream.height) == film.encoded.size == (640, 360)
        assert stream.average_rate == FPS
        times = [frame.time for frame in container.decode(stream)]
    assert len(times) == film.encoded.frames == film.script.frames
    assert all(time is not None for time in times)
    assert np.allclose(np.diff(np.array(times, dtype=float)), 1 / FPS, atol=1e-4)


def test_it_starts_fast(film: Film) -> None:
    """The index (moov) stands before the pictures (mdat), ISO/IEC 14496-12, so that a page can play while it loads."""
    head = film.encoded.path.read_bytes()
    assert 0 < head.index(b"moov") < head.index(b"mdat")


def test_the_same_photos_give_the_same_bytes(
    film: Film,
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    findings: Sequence[Finding],
    tmp_path: Path,
) -> None:
    again = make_film(trial, measured, entries, tmp_path / "again.mp4", findings=findings, options=SMALL)
    assert again is not None
    assert again.encoded.path.read_bytes() == film.encoded.path.read_bytes()
    assert again.captions.read_bytes() == film.captions.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["again.mp4", "again.vtt"]


WARNING = np.array([int(DARK.warning[i : i + 2], 16) for i in (1, 3, 5)])


def _warned(frame: NDArray[np.uint8], cell: Cell, scale: float) -> bool:
    """Say whether there is a mark in the warning's colour over a picture's lower left corner."""
    mark = cell.mark
    across = slice(round(mark.left * scale), round((mark.left + 220) * scale))
    box = frame[round(mark.top * scale) : round(mark.bottom * scale), across].astype(int)
    return bool((np.abs(box - WARNING).max(axis=2) < 60).sum() > 40)


def test_missing_days_are_held_and_marked(film: Film, decoded: list[NDArray[np.uint8]]) -> None:
    """The left tank, on the left though second among the arms, lacks days 9, 17, 18; the right one day 17.

    Day 20 is flagged in both.
    """
    cells, scale = _layout(2).cells, 1 / 3
    assert [day for day, frame in enumerate(decoded) if _warned(frame, cells[0], scale)] == [9, 17, 18, 20]
    assert [day for day, frame in enumerate(decoded) if _warned(frame, cells[1], scale)] == [17, 20]
    assert film.held == 4
    held = film.moments[18].shown["left"]
    assert held.held
    assert held.photo is not None
    assert held.photo.entry_id == "photo-left-16"


def test_each_moment_looks_different_in_its_day(decoded: list[NDArray[np.uint8]]) -> None:
    counter = [frame[6:36, 500:634].astype(int) for frame in decoded]
    assert all(np.abs(one - other).max() > 100 for one, other in itertools.pairwise(counter))


def test_a_demo_says_so_on_every_frame(
    trial: Trial, measured: Measured, entries: Sequence[Entry], decoded: list[NDArray[np.uint8]]
) -> None:

    def says(frame: NDArray[np.uint8]) -> bool:
        return bool((np.abs(frame[30:46].astype(int) - WARNING).max(axis=2) < 60).sum() > 40)

    assert all(says(frame) for frame in decoded)
    plan = FilmPlan(dataclasses.replace(trial, rendered=False), measured, entries, options=SMALL)
    assert not says(np.asarray(plan.picture(1)))


def test_colours_come_back_as_they_went_in(decoded: list[NDArray[np.uint8]]) -> None:
    """BT.709 in, BT.709 out: the paper's colour survives encoding within the steps of limited-range 8 bit."""
    paper = np.array([int(DARK.paper[i : i + 2], 16) for i in (1, 3, 5)])
    assert np.abs(decoded[3][3, 3].astype(int) - paper).max() <= 3


def _photo(day: float, *, flags: tuple[str, ...] = (), excluded: str = "") -> MeasuredPhoto:
    return MeasuredPhoto(f"p{day}", "0", "left", day, Path("p.png"), None, None, "", flags, (), excluded)


def test_a_day_shows_the_photo_nearest_noon_and_rather_one_without_flags(trial: Trial) -> None:
    several = [_photo(3.2), _photo(3.45), _photo(3.9), _photo(4.5, flags=("blurred",)), _photo(4.8)]
    shown = moments(trial, {"left": [*several, *(_photo(day + 0.5) for day in range(5, 10))]})
    days = [one.shown["left"].photo.day for one in shown if one.shown["left"].photo]
    assert days == [3.45, 4.8, 5.5, 6.5, 7.5, 8.5, 9.5]


def test_a_photo_set_aside_is_not_shown(trial: Trial) -> None:
    shown = moments(trial, {"left": [_photo(0.5), _photo(1.5, excluded="not this view"), _photo(2.5)]})
    assert [one.shown["left"].held for one in shown] == [False, True, False]
    assert shown[1].shown["left"].flags == ("photo set aside: not this view",)


def test_a_fast_series_has_a_moment_for_each_photo(trial: Trial) -> None:
    """Every two hours over five days, one photo missing, each a little late."""
    days = [i / 12 + 0.002 for i in range(60) if i != 30]
    shown = moments(trial, {"left": [_photo(day) for day in days]})
    assert step_days(days) == pytest.approx(1 / 12)
    assert len(shown) == 60
    assert [i for i, one in enumerate(shown) if one.shown["left"].held] == [30]
    assert shown[31].label == "day 2, 14:00"


BURSTS = [day + 0.5 + shot / 86400 for day in range(20) for shot in (0, 3, 6)]
DAYLIGHT = [day + hour / 24 for day in range(20) for hour in (8, 10, 13, 16)]


@pytest.mark.parametrize(
    ("days", "step"),
    [([], 1.0), ([4.5], 1.0), ([0.5, 390.2], 1.0), ([0.0, 0.25, 0.5], 0.25), (BURSTS, 1.0), (DAYLIGHT, 1.0)],
)
def test_the_step_is_a_day_unless_photos_come_faster(days: list[float], step: float) -> None:
    assert step_days(days) == step


def test_two_photos_a_year_apart_are_a_film_of_held_days(trial: Trial) -> None:
    long = dataclasses.replace(trial, length_days=390.0)
    shown = moments(long, {"left": [_photo(0.5), _photo(389.5)]})
    assert len(shown) == 390
    assert sum(one.shown["left"].held for one in shown) == 388


def test_no_photos_no_film(trial: Trial, tmp_path: Path) -> None:
    assert make_film(trial, Measured((), "test 1"), (), tmp_path / "film.mp4") is None
    assert list(tmp_path.iterdir()) == []


def test_an_arm_without_photos_keeps_its_place(trial: Trial, measured: Measured, tmp_path: Path) -> None:
    left_only = Measured(tuple(photo for photo in measured.photos if photo.view == "left")[:2], "test 1")
    film = make_film(trial, left_only, (), tmp_path / "film.mp4", options=SMALL)
    assert film is not None
    assert [one.shown["right"].photo for one in film.moments] == [None, None]


@pytest.mark.parametrize(("day", "step", "words"), [(12.0, 1.0, "day 12"), (2.75, 0.25, "day 2, 18:00")])
def test_day_words(day: float, step: float, words: str) -> None:
    assert day_words(day, step) == words


def test_tanks_trimmed_on_one_day_are_both_seen(trial: Trial) -> None:
    tanks = shown_tanks(trial)
    nothing = Moment(0.0, "day 0", {tank: Shown(None, False) for tank in tanks})

    def marks(*trimmed: str) -> int:
        """Count the pixels above the progress line that trims changed."""
        makers = [FrameMaker(trial, tanks, Events(dict.fromkeys(of, (20.0,))), step=1.0) for of in (trimmed, ())]
        frames = [np.asarray(maker.frame(nothing)) for maker in makers]
        top = round(makers[0].layout.track.top)
        above = slice(top, top + LINE - 4)
        return int((frames[0][above].astype(int) != frames[1][above]).any(axis=2).sum())

    one = marks(tanks[0])
    assert one > 100
    assert marks(*tanks) == pytest.approx(one + marks(tanks[1]))


def test_what_is_wrong_with_most_photos_is_said_once_and_not_marked_on_each(trial: Trial) -> None:
    photos = [_photo(day + 0.5, flags=("not aligned: too little structure",)) for day in range(9)]
    photos.append(_photo(9.5, flags=("not aligned: moved by 300 px", "the photo is nearly black")))
    shown = moments(trial, {"left": photos})
    assert [one.shown["left"].flags for one in shown] == [()] * 9 + [("the photo is nearly black",)]
    assert usual_words(photos) == "Most photos here: not aligned."


def test_without_an_encoder_there_is_one_clear_message(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(av, "codecs_available", {"mpeg4"})
    with pytest.raises(EncoderError, match=r"none of the H\.264 encoders libx264, libopenh264"):
        encoder_here()
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(MissingExtraError, match=r'^av is not installed\. pip install "littoral\[film\]"'):
        encoder_here()
