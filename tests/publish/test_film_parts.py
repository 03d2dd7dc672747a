"""What a film is made of: layouts, script, captions, codecs, gaps, zoom; small ones, so that they are quick."""

from __future__ import annotations

import dataclasses
import hashlib
import io
import itertools
from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np
import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.publish.film.encode import encode
from littoral.publish.film.happenings import Happening, happenings
from littoral.publish.film.layout import MARGIN, Box, film_layout
from littoral.publish.film.make import Film, FilmPlan, TooManyArmsError, frames, make_film
from littoral.publish.film.options import SIZES, FilmOptionError, FilmOptions, film_options
from littoral.publish.film.script import FPS, LAST_HOLD_S, Script, frames_a_moment, script_of
from littoral.publish.look import DARK
from littoral.publish.moments import Moment, Shown
from littoral.trial.entries import Entry
from littoral.trial.model import Arm, Trial
from littoral.trial.plan import Plan

TINY = FilmOptions(height_px=180, seconds=4.0)


def _apart(one: Box, other: Box) -> bool:
    """Say whether two boxes have nothing in common."""
    slack = 1e-6
    across = one.right <= other.left + slack or other.right <= one.left + slack
    return across or one.bottom <= other.top + slack or other.bottom <= one.top + slack


@pytest.mark.parametrize("format", list(SIZES))
@pytest.mark.parametrize("zoom", [None, 0.5, 1.3])
@pytest.mark.parametrize(
    "ratios", [[2.0], [2.0, 2.0], [2.0] * 3, [0.4, 0.4], [0.09] * 2, [1.0, 2.0, 0.7], [2.0] * 4, [0.3] * 4, [4 / 3] * 2]
)
def test_nothing_overlaps_and_all_stays_in_the_frame(format: str, zoom: float | None, ratios: list[float]) -> None:
    layout = film_layout(ratios, format=format, zoom=zoom)
    assert len({(round(cell.picture.width, 6), round(cell.picture.height, 6)) for cell in layout.cells}) == 1
    boxes = [layout.header, layout.caption, layout.track]
    boxes += [layout.chart] if layout.chart else []
    for cell in layout.cells:
        boxes += [cell.picture, cell.label] + ([cell.zoom] if cell.zoom else [])
        assert cell.label.left >= MARGIN - 1e-6
        assert cell.label.right <= layout.width - MARGIN + 1e-6
        assert cell.label.width >= 200
    for one, other in itertools.combinations(boxes, 2):
        assert _apart(one, other), (one, other)
    for box in boxes:
        assert box.left >= 0
        assert box.top >= 0
        assert box.right <= layout.width
        assert box.bottom <= layout.height


def test_pictures_take_most_of_the_room_they_can() -> None:
    """Two tanks twice as wide as high, as most are: side by side over the whole width, or one over the other."""
    landscape, portrait = film_layout([2.0, 2.0]), film_layout([2.0, 2.0], format="portrait")
    assert sum(cell.picture.width for cell in landscape.cells) > 0.95 * 1920
    assert portrait.cells[0].picture.width > 0.85 * 1080
    assert portrait.cells[0].picture.left == portrait.cells[1].picture.left


def _nothing(days: int) -> list[Moment]:
    return [Moment(float(day), f"day {day}", {"left": Shown(None, True)}) for day in range(days)]


def _script(trial: Trial, days: int, found: Sequence[Happening] = (), **more: object) -> Script:
    return script_of(trial, _nothing(days), found, **({"end_frames": [150]} | more))  # type: ignore[arg-type]


def test_a_film_of_a_year_keeps_its_pace(trial: Trial) -> None:
    long = dataclasses.replace(trial, length_days=390.0)
    trims = [Happening(float(day), "trim", f"Trim {day}.", "left") for day in range(6, 390, 7)]
    script = _script(long, 390, trims)
    assert sum(shot.kind == "moment" for shot in script.shots) == 390
    days = sum(shot.frames for shot in script.shots if shot.kind == "moment")
    assert days < 390 * 7 + 60 * 2 * 7 + 3 * FPS  # a trim each week: one moment's worth longer, no more


def test_it_stops_at_what_happens_and_is_slower_around_it(trial: Trial) -> None:
    script = _script(trial, 28, [Happening(7.0, "regimes begin", "The regimes begin.")])
    frames = [shot.frames for shot in script.shots if shot.kind == "moment"]
    usual = frames_a_moment(28)
    assert frames[3] == usual
    assert frames[6] == frames[8] == round(1.8 * usual)
    assert frames[7] > 3 * usual
    assert frames[-1] == usual + LAST_HOLD_S * FPS
    captions = [shot.caption for shot in script.shots if shot.kind == "moment"]
    assert captions[6] == ""
    assert captions[7] == captions[8] == "The regimes begin."
    assert captions[-1] == ""
    assert [chapter.name for chapter in script.chapters] == [
        "What was compared", "Baseline", "Day 7: the regimes begin", "Findings",
    ]  # fmt: skip
    starts = script.starts()
    assert {chapter.frame for chapter in script.chapters} <= set(starts)


@given(days=st.integers(1, 400), seconds=st.floats(3, 300), happen=st.sets(st.integers(0, 399), max_size=30))
def test_a_film_is_as_long_as_asked_or_has_one_frame_a_day(
    trial: Trial, days: int, seconds: float, happen: set[int]
) -> None:
    found = [Happening(float(day), "trim", "Trim.", "left") for day in sorted(happen)]
    script = _script(trial, days, found, seconds=seconds)
    shown = [shot.frames for shot in script.shots if shot.kind == "moment"]
    assert min(shown) >= 1
    assert all(shot.frames >= 0 for shot in script.shots)
    assert script.frames == round(seconds * FPS) or set(shown) == {1} or script.frames > round(seconds * FPS)
    if script.frames > round(seconds * FPS) + 2:
        assert set(shown) == {1}


def test_what_happens_is_found(trial: Trial, measured: Measured, entries: Sequence[Entry]) -> None:
    looked = dataclasses.replace(trial, plan=Plan(looks_days=(14.0,)))
    found = happenings(looked, measured, entries, ("left", "right"))
    assert [(one.kind, one.tank) for one in found] == [
        ("first algae", "left"), ("first algae", "right"), ("regimes begin", ""), ("look", ""), ("trim", "left"),
    ]  # fmt: skip
    assert found[0].day == pytest.approx(3.52)  # the photos' algae are a hundredth a day, and 0.03 is the first said
    assert found[-1].words == "Trim, left tank: red stem plant to 8 cm."


def test_swaps_of_a_crossover_are_told(trial: Trial, measured: Measured) -> None:
    plan = Plan(kind="crossover", period_days=7.0, swapped=(False, True, True))
    swapped = dataclasses.replace(trial, plan=plan)
    found = [one for one in happenings(swapped, measured, (), ("left", "right")) if one.kind != "first algae"]
    assert [(one.day, one.words) for one in found] == [
        (7.0, "The regimes begin: first period."),
        (14.0, "The tanks swap regimes: period 2 of 3."),
        (21.0, "Period 3 of 3 begins; each tank keeps its regime."),
    ]


@pytest.fixture(scope="module")
def films(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    findings: Sequence[Finding],
    tmp_path_factory: pytest.TempPathFactory,
) -> dict[str, list[Film]]:
    """Each codec's film twice, each in another format."""
    folder = tmp_path_factory.mktemp("codecs")
    formats = {"h264": "portrait", "vp9": "square", "av1": "landscape", "webp": "landscape"}
    made: dict[str, list[Film]] = {}
    for codec, format in formats.items():
        options = dataclasses.replace(TINY, codec=codec, format=format)  # type: ignore[arg-type]
        for place in range(2):
            path = folder / f"{codec}-{place}"
            film = make_film(trial, measured, entries, path, findings=findings, options=options)
            assert film is not None
            made.setdefault(codec, []).append(film)
    return made


@pytest.mark.parametrize(
    ("codec", "name", "size"), [("h264", "h264", (180, 320)), ("vp9", "vp9", (180, 180)), ("av1", "av1", (320, 180))]
)
def test_each_codec_gives_the_same_film_twice_in_its_size_with_chapters(
    films: dict[str, list[Film]], codec: str, name: str, size: tuple[int, int]
) -> None:
    hashes = []
    for film in films[codec]:
        with av.open(film.encoded.path) as container:
            stream = container.streams.video[0]
            assert stream.codec_context.name.endswith(name) or name in stream.codec_context.name
            frames = list(container.decode(stream))
            chapters = [one["metadata"]["title"] for one in container.chapters()]
        assert (frames[0].width, frames[0].height) == size
        assert len(frames) == film.script.frames == 4 * FPS
        times = np.array([float(frame.time or 0) for frame in frames])
        assert np.allclose(np.diff(times), 1 / FPS, atol=2e-3)
        assert chapters == [chapter.name for chapter in film.script.chapters]
        hashes.append([hashlib.sha256(frame.to_ndarray().tobytes()).hexdigest() for frame in frames])
    assert hashes[0] == hashes[1]
    assert films[codec][0].encoded.path.read_bytes() == films[codec][1].encoded.path.read_bytes()


def test_the_animated_webp_is_small_and_lasts_as_long(films: dict[str, list[Film]]) -> None:
    film = films["webp"][0]
    with Image.open(film.encoded.path) as animation:
        assert animation.format == "WEBP"
        assert animation.size == (320, 180)
        lasts = 0
        for place in range(animation.n_frames):
            animation.seek(place)
            animation.load()
            lasts += animation.info["duration"]
    assert lasts == pytest.approx(4000, abs=2)
    assert film.encoded.path.read_bytes() == films["webp"][1].encoded.path.read_bytes()


def test_captions_are_webvtt_that_tells_what_changes(films: dict[str, list[Film]]) -> None:
    """Read again by webvtt-py, which knows nothing of us."""
    film = films["h264"][0]
    captions = webvtt.read(film.captions)
    assert len(captions) == len(film.cues) >= 3
    ends = 0.0
    for caption in captions:
        begin, end = caption.start_in_seconds, caption.end_in_seconds
        assert begin >= ends - 1e-9
        assert end >= begin
        ends = end
    assert ends <= 4
    said = " ".join(caption.text for caption in captions)
    for told in (
        "Rendered demo",
        "Sparing or full feeding",
        "The regimes begin",
        "cm",
        "No photo of",
        "Trim, left tank",
    ):
        assert told.lower() in said.lower(), told
    assert "What may be said of growth." in captions[-1].text


def test_what_webvtt_reads_as_its_own_is_escaped(
    trial: Trial, measured: Measured, entries: Sequence[Entry], tmp_path: Path
) -> None:
    tricky = dataclasses.replace(trial, title="a --> b <c> & d")
    film = make_film(tricky, measured, entries, tmp_path / "film.webp", options=dataclasses.replace(TINY, codec="webp"))
    assert film is not None
    read = webvtt.from_buffer(io.StringIO(film.captions.read_text(encoding="utf-8")))
    assert "a --&gt; b &lt;c&gt; &amp; d" in read[0].raw_text


def _gap(plan: FilmPlan) -> int:
    """The shot of day 17, on which neither tank has a photo."""
    return next(place for place, shot in enumerate(plan.script.shots) if shot.kind == "moment" and shot.place == 17)


def test_a_gap_is_cross_faded_and_still_marked(trial: Trial, measured: Measured, entries: Sequence[Entry]) -> None:
    held = FilmPlan(trial, measured, entries, options=FilmOptions(height_px=360, captions=False))
    faded = FilmPlan(trial, measured, entries, options=FilmOptions(height_px=360, captions=False, gaps="cross-faded"))
    one, other = (np.asarray(plan.picture(_gap(plan))).astype(int) for plan in (held, faded))
    cell = film_layout([140 / 92] * 2).cells[1]
    middle = (slice(int(cell.picture.top / 3), int(cell.picture.bottom / 3) - 20),
              slice(int(cell.picture.left / 3) + 4, int(cell.picture.right / 3) - 4))  # fmt: skip
    assert np.abs(one[middle] - other[middle]).max() > 20
    warning = np.array([int(DARK.warning[i : i + 2], 16) for i in (1, 3, 5)])
    for frame in (one, other):
        mark = frame[int(cell.mark.top / 3) : int(cell.mark.bottom / 3), int(cell.mark.left / 3) :][:, :70]
        assert (np.abs(mark - warning).max(axis=2) < 60).sum() > 40
    usual = next(place for place, shot in enumerate(held.script.shots) if shot.kind == "moment" and shot.place == 5)
    assert np.array_equal(np.asarray(held.picture(usual)), np.asarray(faded.picture(usual)))


def test_a_stand_can_be_shown_enlarged(trial: Trial, measured: Measured, entries: Sequence[Entry]) -> None:
    plan = FilmPlan(trial, measured, entries, options=dataclasses.replace(TINY, zoom="red-stem"))
    assert plan.picture(3).size == (320, 180)
    with pytest.raises(FilmOptionError, match=r"shows 'blue' enlarged; drawn are red-stem\.$"):
        FilmPlan(trial, measured, entries, options=dataclasses.replace(TINY, zoom="blue"))


def test_the_chart_draws_along(trial: Trial, measured: Measured, entries: Sequence[Entry]) -> None:
    plan = FilmPlan(trial, measured, entries, options=FilmOptions(height_px=360, captions=False))
    chart = film_layout([140 / 92] * 2).chart
    assert chart is not None
    right = (slice(int(chart.top / 3), int(chart.bottom / 3)), slice(int(0.75 * 640), 640))
    early, late, end = (np.asarray(plan.picture(1 + day)).astype(int)[right] for day in (3, 12, 27))
    assert np.array_equal(early, late)
    assert np.abs(late - end).max() > 100
    without = FilmPlan(trial, measured, entries, options=FilmOptions(height_px=360, chart="none"))
    assert without.picture(1).size == (640, 360)


def test_two_photos_and_an_arm_without_any_are_a_film(
    trial: Trial, measured: Measured, findings: Sequence[Finding], tmp_path: Path
) -> None:
    two = Measured(tuple(photo for photo in measured.photos if photo.view == "left")[:2], "test 1")
    film = make_film(trial, two, (), tmp_path / "film.mp4", findings=findings, options=TINY)
    assert film is not None
    assert len(film.moments) == 2
    assert "No photo of sparing (right tank) yet." in film.captions.read_text(encoding="utf-8")


def test_four_arms_are_shown_and_five_are_too_many(trial: Trial, measured: Measured) -> None:
    def with_arms(count: int) -> Trial:
        names = [f"tank {place}" for place in range(count)]
        tanks = {name: dataclasses.replace(trial.tanks["left"], key=name, name=name) for name in names}
        return dataclasses.replace(
            trial,
            arms=(*trial.arms, *(Arm(name, name, (name,)) for name in names))[: 2 + count],
            tanks={**trial.tanks, **tanks},
        )

    for format in SIZES:
        plan = FilmPlan(with_arms(2), measured, (), options=dataclasses.replace(TINY, format=format))  # type: ignore[arg-type]
        assert len(plan.tanks) == 4
        plan.picture(1)
    with pytest.raises(TooManyArmsError, match="has 5 arms; a film shows at most 4"):
        FilmPlan(with_arms(3), measured, (), options=TINY)


def test_progress_is_told_and_a_stop_leaves_nothing(
    trial: Trial, measured: Measured, entries: Sequence[Entry], tmp_path: Path
) -> None:
    told: list[tuple[int, int]] = []

    class StoppedError(Exception):
        pass

    def note(done: int, total: int, what: str) -> None:
        told.append((done, total))
        if done == 5:
            raise StoppedError

    for name, codec in (("film.mp4", "h264"), ("film.webp", "webp")):
        told.clear()
        with pytest.raises(StoppedError):
            make_film(
                trial,
                measured,
                entries,
                tmp_path / name,
                options=dataclasses.replace(TINY, codec=codec),
                progress=note,  # type: ignore[arg-type]
            )
        assert told == [(done, 30) for done in range(1, 6)]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ({"format": "round"}, "format is 'round'; it can be landscape, portrait, square."),
        ({"gaps": "hidden"}, "gaps is 'hidden'; it can be held, cross-faded."),
        ({"codec": 3}, "codec is 3; it can be h264, vp9, av1, webp."),
        ({"captions": "yes"}, "captions is 'yes'; it is true or false."),
        ({"seconds": 1}, "seconds is 1; a film lasts 3 to 1800, or leave it out."),
        ({"height_px": 20}, "height_px is 20; the shorter side has 180 to 2160 pixels."),
        ({"zoom": 1}, "zoom is 1; name a stand or region of the trial file."),
        ({"music": "on"}, "A film has no option music; it has "),
    ],
)
def test_wrong_options_are_named(written: dict[str, object], message: str) -> None:
    with pytest.raises(FilmOptionError) as raised:
        film_options(written)
    assert str(raised.value).startswith(message)


def test_options_survive_plain_data() -> None:
    options = FilmOptions("square", "cross-faded", "original", "av1", "root", "none", False, False, 12.5, 720)
    assert film_options(options.as_json()) == options


def test_pictures_alone_are_a_film_without_chapters(
    trial: Trial, measured: Measured, entries: Sequence[Entry], tmp_path: Path
) -> None:
    """As the bench times the bare encoder."""
    ready = list(frames(FilmPlan(trial, measured, entries, options=dataclasses.replace(TINY, seconds=3.0))))
    encoded = encode(tmp_path / "alone.mp4", ready, size=TINY.size)
    assert encoded.frames == 90
    with av.open(encoded.path) as container:
        assert container.chapters() == []
        assert sum(1 for _ in container.decode(video=0)) == 90
