"""Measuring a logbook's photos: the cache, and what becomes of a bad photo. The pictures are drawn here."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from littoral.findings.measured import Measured
from littoral.findings.measuring import measure_photos, measured_already
from littoral.findings.photo_series import places, taken
from littoral.findings.view_series import UNUSABLE, shape_of
from littoral.imaging import prepare
from littoral.imaging.regions import ViewShape
from littoral.imaging.series import measure_series
from littoral.logbook.whole_files import UnwrittenFileError, write_whole
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Pane, Question, Region, Trial, View

Make = Callable[..., Any]
FRAME = (400, 300)
CORNERS = ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0))
STAND = ((150.0, 40.0), (250.0, 40.0), (250.0, 280.0), (150.0, 280.0))


def picture(height_px: int) -> bytes:
    """A grey wall with a fixed pattern, a green plant `height_px` high at the bottom of the stand, a sensor's noise."""
    rng = np.random.default_rng(1)
    image = cv2.resize(rng.integers(90, 170, (38, 50, 1), dtype=np.uint8), FRAME, interpolation=cv2.INTER_NEAREST)
    image = cv2.GaussianBlur(np.repeat(image[:, :, None], 3, axis=2), (5, 5), 0)
    image[40:280, 150:250] = (128, 126, 124)
    image[280 - height_px : 280, 170:230] = (40, 140, 60)
    noisy = image + np.random.default_rng(height_px).normal(0, 4, image.shape)
    return bytes(cv2.imencode(".png", np.clip(noisy, 0, 255).astype(np.uint8))[1])


@dataclass
class PhotoBook:
    """A book of photos in a folder, counting how often an original is asked for."""

    folder: Path
    trial: Trial
    photos: list[Entry]

    def entries(self, trial_key: str) -> tuple[Entry, ...]:
        return tuple(self.photos)

    def entries_of(self, trial_key: str, payloads: tuple[type, ...]) -> tuple[Entry, ...]:
        return tuple(one for one in self.photos if isinstance(one.payload, payloads))

    def original(self, sha256: str) -> Path:
        return self.folder / sha256

    def measured_elsewhere(self, trial_key: str) -> tuple[()]:
        return ()

    def cache_path(self, kind: str, name: str) -> Path:
        return self.folder / "cache" / kind / name

    def keep_cached(self, kind: str, name: str, data: bytes) -> Path:
        write_whole(self.cache_path(kind, name), data)
        return self.cache_path(kind, name)

    def add(self, day: float, data: bytes) -> str:
        sha256 = hashlib.sha256(data).hexdigest()
        (self.folder / sha256).write_bytes(data)
        at: datetime = instant_of(day, self.trial) + timedelta(microseconds=len(self.photos))
        photo = Photo(sha256, "front", "file name", "x.png")
        self.photos.append(Entry(f"p{len(self.photos)}", at, "UTC", None, photo))
        return sha256


@pytest.fixture
def book(make_trial: Make, tmp_path: Path) -> PhotoBook:
    regions = (Region("red-stem", "stand", STAND),)
    view = View(
        "front", "front view", "photos", "*", FRAME, (Pane("left", regions, corners_px=CORNERS, width_cm=40.0),)
    )
    trial = replace(make_trial(Question("q", "Q?", "height growth")), views={"front": view})
    book = PhotoBook(tmp_path, trial, [])
    for day in range(6):
        book.add(day + 0.5, picture(60 + 15 * day))
    return book


def test_heights_come_out_as_drawn_and_become_a_series(book: PhotoBook) -> None:
    measured = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    place = places(book.trial, book.trial.questions[0], "left")[0]
    series = taken(book.trial, measured, "height growth", place).series
    assert (series.unit, series.name) == ("cm", "red stem plant, left tank")
    assert series.day == pytest.approx([day + 0.5 for day in range(6)], abs=1e-6)
    # 400 px are 40 cm; one pixel either way
    assert series.value == pytest.approx([6.0 + 1.5 * day for day in range(6)], abs=0.11)
    assert all(photo.prepared is not None and photo.prepared.is_file() for photo in measured.photos)


def test_a_second_call_measures_nothing(book: PhotoBook, monkeypatch: pytest.MonkeyPatch) -> None:
    first = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    for sha256 in {photo.sha256 for photo in first.photos}:
        (book.folder / sha256).unlink()  # no original can be read any more
    assert measure_photos(book, book.trial, workers=1) == first  # type: ignore[arg-type]


def test_a_moved_polygon_or_a_new_photo_is_measured_anew(book: PhotoBook) -> None:
    first = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    view = book.trial.views["front"]
    narrow = ((150.0, 40.0), (200.0, 40.0), (200.0, 280.0), (150.0, 280.0))
    moved = replace(view, panes=(replace(view.panes[0], regions=(Region("red-stem", "stand", narrow),)),))
    other = measure_photos(book, replace(book.trial, views={"front": moved}), workers=1)  # type: ignore[arg-type]
    assert other.photos[0].regions != first.photos[0].regions
    book.add(8.5, picture(180))
    assert len(measure_photos(book, book.trial, workers=1).photos) == 7  # type: ignore[arg-type]


def test_a_deleted_or_broken_cache_is_made_again(book: PhotoBook) -> None:
    first = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    assert first.photos[0].prepared is not None
    first.photos[0].prepared.unlink()
    assert measure_photos(book, book.trial, workers=1) == first  # type: ignore[arg-type]
    for file in (book.folder / "cache" / "measures").iterdir():
        file.write_text(file.read_text()[:100])
    assert measure_photos(book, book.trial, workers=1) == first  # type: ignore[arg-type]


def test_bad_photos_are_kept_with_the_reason_and_left_out_of_series(book: PhotoBook) -> None:
    book.add(8.5, picture(180)[:400])
    book.add(9.5, bytes(cv2.imencode(".png", np.zeros((300, 400, 3), np.uint8))[1]))
    book.add(10.5, picture(190))
    measured = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    assert len(measured.photos) == 9
    truncated, black = measured.photos[6], measured.photos[7]
    assert "cut short: its end is missing" in truncated.excluded
    assert (truncated.prepared, truncated.regions) == (None, ())
    assert black.excluded in UNUSABLE
    assert black.regions == ()
    assert black.prepared is not None
    place = places(book.trial, book.trial.questions[0], "left")[0]
    assert 9.5 not in taken(book.trial, measured, "height growth", place).series.day
    assert measured.photos[8].excluded == ""


def test_a_view_without_one_usable_photo_says_so_on_each(make_trial: Make, book: PhotoBook) -> None:
    book.photos.clear()
    for day in range(3):
        book.add(day + 0.5, b"not an image %d" % day)
    measured = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    assert [photo.regions for photo in measured.photos] == [(), (), ()]
    assert all("can serve as the reference" in photo.excluded for photo in measured.photos)


def test_progress_counts_up_to_its_total(book: PhotoBook) -> None:
    told: list[tuple[int, int, str]] = []
    measure_photos(book, book.trial, workers=1, progress=lambda *step: told.append(step))  # type: ignore[arg-type]
    assert [step[0] for step in told] == sorted(step[0] for step in told)
    assert told[-1][0] == told[-1][1]
    assert "front view" in told[0][2]


def test_measures_are_those_of_imaging_itself(book: PhotoBook) -> None:
    """Nothing is lost or mixed up between the two rooms; the JPEG between the passes costs a point of cover at most."""
    photos = [
        (book.folder / entry.payload.sha256).read_bytes() for entry in book.photos if isinstance(entry.payload, Photo)
    ]
    kept: dict[int, Any] = {}
    shape: ViewShape = shape_of(book.trial.views["front"])
    frames = measure_series(
        photos.__getitem__, len(photos), shape, store=kept.__setitem__, load=kept.__getitem__, workers=1
    )
    measured = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    for photo, frame in zip(measured.photos, frames, strict=True):
        assert photo.regions[0].cover == pytest.approx(frame.regions[0].cover, abs=0.01)
        assert photo.regions[0].a == pytest.approx(frame.regions[0].a, abs=0.5)
        assert photo.colour_residual == frame.colour_residual


def test_json_of_the_measures_holds_every_photo(book: PhotoBook) -> None:
    plain: Mapping[str, Any] = json.loads(json.dumps(measure_photos(book, book.trial, workers=1).as_json()))  # type: ignore[arg-type]
    assert len(plain["photos"]) == 6
    assert plain["photos"][0]["regions"][0]["region"] == "red-stem"


def test_a_cache_that_cannot_be_written_is_named_and_no_part_is_left(
    book: PhotoBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(UnwrittenFileError, match=r"could not be written \(No space left on device\)"):
        measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    assert [path for path in (book.folder / "cache").rglob("*") if path.is_file()] == []


def test_what_is_measured_already_is_read_and_nothing_is_measured_for_it(book: PhotoBook) -> None:
    assert measured_already(book, book.trial) is None  # type: ignore[arg-type]
    for day in range(5):
        book.add(day + 0.5, picture(100 + 10 * day))
    assert measured_already(book, book.trial) is None  # type: ignore[arg-type]
    measured = measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    assert measured_already(book, book.trial) == measured  # type: ignore[arg-type]
    book.add(6.5, picture(170))
    assert measured_already(book, book.trial) is None  # type: ignore[arg-type]


def numbers(measured: Measured) -> list[Any]:
    """What was measured, without where the pictures lie and in what order the photos were added."""
    return [replace(one, prepared=None, counted=None, entry_id="") for one in measured.photos]


@pytest.fixture
def three_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three photos say what all are brought to, in place of sixteen: the same, in less time."""
    monkeypatch.setattr(prepare, "FIRST_PHOTOS", 3)


@pytest.fixture
def fresh(book: PhotoBook, tmp_path: Path) -> Callable[[], list[Any]]:
    """Measure the same photos with an empty cache."""

    def measure() -> list[Any]:
        other = PhotoBook(tmp_path / f"fresh {len(book.photos)}", book.trial, book.photos)
        for entry in book.photos:
            assert isinstance(entry.payload, Photo)
            write_whole(other.original(entry.payload.sha256), book.original(entry.payload.sha256).read_bytes())
        return numbers(measure_photos(other, other.trial, workers=1))  # type: ignore[arg-type]

    return measure


@pytest.mark.usefixtures("three_first")
def test_one_photo_more_measures_one_photo(book: PhotoBook, fresh: Callable[[], list[Any]]) -> None:
    measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
    book.add(8.5, picture(200))
    anew = fresh()
    for entry in book.photos[:-1]:
        assert isinstance(entry.payload, Photo)
        book.original(entry.payload.sha256).unlink()  # no earlier photo can be read any more
    assert numbers(measure_photos(book, book.trial, workers=1)) == anew  # type: ignore[arg-type]


@pytest.mark.usefixtures("three_first")
@pytest.mark.parametrize("order", [(5, 3, 0, 4, 1, 2), (2, 0, 1, 5, 4, 3)])
def test_the_order_of_adding_changes_nothing(
    book: PhotoBook, fresh: Callable[[], list[Any]], order: tuple[int, ...]
) -> None:
    every = list(book.photos)
    anew = fresh()
    for count in range(2, len(order) + 1):
        book.photos[:] = [every[at] for at in sorted(order[:count])]
        found = numbers(measure_photos(book, book.trial, workers=1))  # type: ignore[arg-type]
    assert found == anew
    book.photos[:] = every[:4] + every[5:]  # one taken away again
    assert numbers(measure_photos(book, book.trial, workers=1)) == fresh()  # type: ignore[arg-type]


@pytest.mark.usefixtures("three_first")
def test_what_is_kept_of_photos_may_be_broken_or_gone(book: PhotoBook, fresh: Callable[[], list[Any]]) -> None:
    anew = fresh()
    for kind in ("starts", "passed", "regions", "prepared", "counted"):
        measure_photos(book, book.trial, workers=1)  # type: ignore[arg-type]
        for path in (book.folder / "cache" / "measures").iterdir():
            path.unlink()
        for path in sorted((book.folder / "cache" / kind).iterdir())[::2]:
            if path.suffix in (".npz", ".json"):
                path.write_bytes(path.read_bytes()[:80])
            else:
                path.unlink()
        assert numbers(measure_photos(book, book.trial, workers=1)) == anew  # type: ignore[arg-type]
