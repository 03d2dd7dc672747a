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
from littoral.publish.encode import FPS, SIZE, EncoderError, encoder_here
from littoral.publish.film import LAST_HOLD_S, Film, frames_a_moment, make_film, pictures
from littoral.publish.film_layout import BAND, BOTTOM, MARGIN, TOP, film_layout
from littoral.publish.flags import usual_words
from littoral.publish.frames import TRACK_Y, Events, FrameMaker
from littoral.publish.look import DARK
from littoral.publish.moments import Moment, Shown, day_words, moments, step_days
from littoral.publish.panes import photos_by_tank, shown_tanks
from littoral.trial.entries import Entry
from littoral.trial.model import Trial


@pytest.fixture(scope="module")
def film(trial: Trial, measured: Measured, entries: Sequence[Entry], tmp_path_factory: pytest.TempPathFactory) -> Film:
    made = make_film(trial, measured, entries, tmp_path_factory.mktemp("film") / "film.mp4")
    assert made is not None
    return made


@pytest.fixture(scope="module")
def decoded(film: Film) -> list[NDArray[np.uint8]]:
    """The first frame of each moment, as RGB."""
    stands = frames_a_moment(len(film.moments))
    with av.open(film.encoded.path) as container:
        return [
            frame.to_ndarray(format="rgb24")
            for number, frame in enumerate(container.decode(video=0))
            if number % stands == 0 and number // stands < len(film.moments)
        ]


def test_size_rate_frames_and_time_stamps(film: Film) -> None:
    with av.open(film.encoded.path) as container:
        stream = container.streams.video[0]
        assert stream.codec_context.name == "h264"
        assert stream.codec_context.pix_fmt == "yuv420p"
        assert (stream.width, stream.height) == SIZE == (1920, 1080)
        assert stream.average_rate == FPS
        times = [frame.time for frame in container.decode(stream)]
    assert len(times) == film.encoded.frames == 28 * frames_a_moment(28) + LAST_HOLD_S * FPS
    assert all(time is not None for time in times)
    assert np.allclose(np.diff(np.array(times, dtype=float)), 1 / FPS, atol=1e-4)


def test_it_starts_fast(film: Film) -> None:
    """The index (moov) stands before the pictures (mdat), ISO/IEC 14496-12, so that a page can play while it loads."""
    head = film.encoded.path.read_bytes()
    assert 0 < head.index(b"moov") < head.index(b"mdat")


def test_the_same_photos_give_the_same_bytes(
    film: Film, trial: Trial, measured: Measured, entries: Sequence[Entry], tmp_path: Path
) -> None:
    again = make_film(trial, measured, entries, tmp_path / "again.mp4")
    assert again is not None
    assert again.encoded.path.read_bytes() == film.encoded.path.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["again.mp4"]


def _warned(frame: NDArray[np.uint8], side: int) -> bool:
    """Say whether there is anything in the warning's colour under one side's picture."""
    half = SIZE[0] // 2
    box = frame[TOP:BOTTOM, MARGIN if side == 0 else half : half if side == 0 else SIZE[0] - MARGIN].astype(int)
    warning = np.array([int(DARK.warning[i : i + 2], 16) for i in (1, 3, 5)])
    return bool((np.abs(box - warning).max(axis=2) < 40).sum() > BAND)


def test_missing_days_are_held_and_marked(film: Film, decoded: list[NDArray[np.uint8]]) -> None:
    """The left tank, on the left though second among the arms, lacks days 9, 17, 18; the right one day 17.

    Day 20 is flagged in both.
    """
    assert [day for day, frame in enumerate(decoded) if _warned(frame, 0)] == [9, 17, 18, 20]
    assert [day for day, frame in enumerate(decoded) if _warned(frame, 1)] == [17, 20]
    assert film.held == 4
    held = film.moments[18].shown["left"]
    assert held.held
    assert held.photo is not None
    assert held.photo.entry_id == "photo-left-16"


def test_each_moment_looks_different_in_its_day(decoded: list[NDArray[np.uint8]]) -> None:
    counter = [frame[20:110, 1500:1900].astype(int) for frame in decoded]
    assert all(np.abs(one - other).max() > 100 for one, other in itertools.pairwise(counter))


def test_a_demo_says_so_on_every_frame(
    trial: Trial, measured: Measured, entries: Sequence[Entry], decoded: list[NDArray[np.uint8]]
) -> None:
    warning = np.array([int(DARK.warning[i : i + 2], 16) for i in (1, 3, 5)])

    def says(frame: NDArray[np.uint8]) -> bool:
        return bool((np.abs(frame[90:140].astype(int) - warning).max(axis=2) < 40).sum() > 200)

    assert all(says(frame) for frame in decoded)
    real = dataclasses.replace(trial, rendered=False)
    tanks = shown_tanks(real)
    made = moments(real, photos_by_tank(real, measured, tanks))
    frame, _ = next(pictures(real, tanks, made, entries))
    assert not says(frame.to_ndarray(format="rgb24"))


def test_colours_come_back_as_they_went_in(decoded: list[NDArray[np.uint8]]) -> None:
    """BT.709 in, BT.709 out: the paper's colour survives encoding within the steps of limited-range 8 bit."""
    paper = np.array([int(DARK.paper[i : i + 2], 16) for i in (1, 3, 5)])
    assert np.abs(decoded[3][4, 4].astype(int) - paper).max() <= 3


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
    film = make_film(trial, left_only, (), tmp_path / "film.mp4")
    assert film is not None
    assert [one.shown["right"].photo for one in film.moments] == [None, None]


@pytest.mark.parametrize(("day", "step", "words"), [(12.0, 1.0, "day 12"), (2.75, 0.25, "day 2, 18:00")])
def test_day_words(day: float, step: float, words: str) -> None:
    assert day_words(day, step) == words


def _apart(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    """Say whether two boxes (left, top, right, bottom) have no pixel in common."""
    return one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


@pytest.mark.parametrize(
    "ratios", [[2.0], [2.0, 2.0], [2.0] * 3, [0.4, 0.4], [0.09] * 2, [1.0, 2.0, 0.7], [2.0] * 4, [0.3] * 4, [0.09] * 8]
)
def test_pictures_bands_and_labels_do_not_overlap_and_stay_in_the_frame(ratios: list[float]) -> None:
    cells = film_layout(ratios)
    assert len({(cell.width, cell.height) for cell in cells}) == 1
    boxes: list[tuple[float, float, float, float]] = []
    for cell in cells:
        right, foot = cell.label_left + cell.label_width, cell.label_top + 1.1 * cell.name_px
        foot += 0.66 * cell.name_px * 1.25 * cell.regime_lines
        assert MARGIN <= cell.label_left < right <= SIZE[0] - MARGIN
        assert 0 < cell.left < cell.left + cell.width < SIZE[0]
        assert cell.top >= TOP
        assert foot <= BOTTOM
        boxes.append((cell.left, cell.top, cell.left + cell.width, cell.top + cell.height))
        boxes.append((cell.label_left, cell.label_top - BAND, right, foot))
    assert all(_apart(one, other) for one, other in itertools.combinations(boxes, 2))


def test_wide_tanks_fill_the_width_and_tall_ones_the_height() -> None:
    wide, tall = film_layout([2.0, 2.0]), film_layout([0.1, 0.1])
    assert sum(cell.width for cell in wide) > 0.97 * SIZE[0]
    assert tall[0].height == BOTTOM - TOP
    left, right = tall[0].left, tall[1].label_left + tall[1].label_width
    assert left == pytest.approx(SIZE[0] - right, abs=1)


def test_tanks_trimmed_on_one_day_are_both_seen(trial: Trial) -> None:
    tanks = shown_tanks(trial)
    nothing = Moment(0.0, "day 0", {tank: Shown(None, False) for tank in tanks})

    def marks(*trimmed: str) -> int:
        """Count the pixels above the progress line that trims changed."""
        frames = [
            np.asarray(FrameMaker(trial, tanks, Events(dict.fromkeys(of, (20.0,))), step=1.0).frame(nothing))
            for of in (trimmed, ())
        ]
        above = slice(BOTTOM, TRACK_Y - 4)
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
