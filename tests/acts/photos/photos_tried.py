"""A trial with two views, and files to take in."""

from __future__ import annotations

import io
import struct
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from tests.photos_made import file_of, shot

from littoral.acts.photos.add_photos import add_photos
from littoral.acts.photos.rows import PhotoFile
from littoral.logbook.book import Logbook
from littoral.trial.entries import Photo
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")


LEFT = WHOLE[WHOLE.index("[views.left]") : WHOLE.index("[[questions]]")]


TEXT = WHOLE.replace(LEFT, LEFT + LEFT.replace("left", "right").replace("top right", "top left"))


TRIAL = read_trial(TEXT, where="trial.toml")[0]


assert TRIAL is not None


NOW = datetime(2026, 3, 30, 12, tzinfo=UTC)


def taken(day: int, clock: str = "18:00:00") -> str:
    return f"2026:03:{2 + day:02} {clock}"


def file(name: str, data: bytes) -> PhotoFile:
    return PhotoFile(name, lambda: data)


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with three photos of each tank, told apart by their folders."""
    folder = tmp_path_factory.mktemp("started") / "logbook"
    with Logbook.create(folder) as book:
        book.take_in(TRIAL, TEXT)
    files = [
        file(f"photos/{tank}/{day}.jpg", file_of(shot(tank, day), taken=taken(day), camera="One"))
        for tank in ("left", "right")
        for day in range(3)
    ]
    done = add_photos(folder, files, now=NOW)
    assert [row.state for row in done.rows] == ["added"] * 6
    assert {row.view_by for row in done.rows} == {"folder"}
    return folder


@pytest.fixture
def folder(started: Path, tmp_path: Path) -> Path:
    import shutil

    return Path(shutil.copytree(started, tmp_path / "logbook"))


def stored(folder: Path) -> list[Photo]:
    with Logbook.open(folder) as book:
        return [entry.payload for entry in book.entries_of(TRIAL.key, (Photo,))]


def one(folder: Path, data: bytes, name: str = "IMG_1.jpg", **options: object):
    (row,) = add_photos(folder, [file(name, data)], now=NOW, **options).rows
    return row


@lru_cache
def bad_files() -> dict[str, bytes]:
    whole = file_of(shot("left", 4), taken=taken(4))
    huge = bytearray(whole)
    at = huge.index(b"\xff\xc0") + 5
    huge[at : at + 4] = struct.pack(">HH", 50_000, 50_000)
    return {
        "empty.jpg": b"",
        "cut.jpg": whole[: len(whole) // 2],
        "text.jpg": b"dear diary, today the plants\n" * 20,
        "huge.jpg": bytes(huge),
        "film.jpg": b"\0\0\0\x18ftypmp42" + bytes(200),
        "zeros.jpg": bytes(5000),
    }


@lru_cache
def odd_files() -> dict[str, bytes]:
    image = Image.fromarray(shot("left", 4))

    def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
        stream = io.BytesIO()
        picture.save(stream, kind, **options)
        return stream.getvalue()

    wide = (np.asarray(image.convert("L")).astype(np.uint16)) * 257
    return {
        "cmyk.jpg": saved(image.convert("CMYK"), "JPEG", quality=92),
        "grey.jpg": saved(image.convert("L"), "JPEG", quality=92),
        "16-bit.png": saved(Image.fromarray(wide), "PNG"),
        "16-bit.tif": saved(Image.fromarray(wide), "TIFF"),
        "animated.webp": saved(image, "WEBP", save_all=True, append_images=[image.rotate(180)], quality=90),
        "animated.png": saved(image, "PNG", save_all=True, append_images=[image.rotate(180)]),
        "phone.heic": file_of(shot("left", 4), kind="HEIC"),
        "plain.webp": file_of(shot("left", 4), kind="WEBP"),
        "plain.tif": file_of(shot("left", 4), kind="TIFF"),
    }
