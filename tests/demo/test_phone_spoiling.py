from __future__ import annotations

import io
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from PIL import ExifTags, Image, ImageOps

from littoral.demo.phone import PHONES, Shot, spoil, take, write_jpeg

SIZE = (320, 240)
BERLIN = ZoneInfo("Europe/Berlin")
STILL = Shot(0.0, 1.0, 1.0, 0.0, 0.0, tuple(np.eye(3).ravel()))


@pytest.fixture
def scene() -> np.ndarray:
    y, x = np.mgrid[0:240, 0:320]
    return np.stack([x * 200 // 320 + 20, y * 200 // 240 + 20, np.full_like(x, 90)], axis=-1).astype(np.uint8)


def test_a_plain_phone_without_noise_that_does_nothing_returns_the_scene(scene) -> None:
    phone = replace(PHONES["plain"], noise=0.0, vignette=0.0)
    seen = spoil(scene, phone, STILL, np.random.default_rng(1))
    assert np.abs(seen.astype(int) - scene).max() <= 1


def test_a_stop_more_doubles_the_light(scene) -> None:
    phone = replace(PHONES["plain"], noise=0.0, vignette=0.0)
    grey = np.full((8, 8, 3), 99, dtype=np.uint8)  # linear light 0.1248 by IEC 61966-2-1
    seen = spoil(grey, phone, replace(STILL, ev=1.0), np.random.default_rng(1))
    assert seen[4, 4].tolist() == [137, 137, 137]  # linear 0.2502


@pytest.mark.parametrize("phone", PHONES.values(), ids=PHONES)
def test_spoiling_stays_in_the_stated_ranges(phone) -> None:
    rng = np.random.default_rng(4)
    corners = np.array([[0, 0, 1], [320, 0, 1], [320, 240, 1], [0, 240, 1]], dtype=float).T
    stops = []
    for _ in range(200):
        shot = take(phone, rng, size=SIZE, nominal_framing=False)
        stops.append(shot.ev)
        assert abs(shot.ev) <= 0.7
        assert 0.85 <= shot.gain_red <= 1.15
        assert 0.85 <= shot.gain_blue <= 1.15
        moved = np.asarray(shot.homography).reshape(3, 3) @ corners
        shift = np.abs(moved[:2] / moved[2] - corners[:2])
        assert shift.max() < 0.075 * 320
    assert np.std(stops) > 0.2


def test_the_first_photo_is_framed_as_drawn() -> None:
    shot = take(PHONES["contrasty"], np.random.default_rng(1), size=SIZE, nominal_framing=True)
    assert np.asarray(shot.homography).reshape(3, 3) == pytest.approx(np.eye(3), abs=1e-9)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_turned_as_its_orientation_says_the_photo_is_upright(scene, orientation) -> None:
    data = write_jpeg(scene, taken=datetime(2026, 3, 2, 13, 5, tzinfo=BERLIN), orientation=orientation, quality=95)
    stored = Image.open(io.BytesIO(data))
    assert stored.size == ((320, 240) if orientation in (1, 3) else (240, 320))
    upright = np.asarray(ImageOps.exif_transpose(stored))
    assert np.abs(upright.astype(int) - scene).mean() < 2.0


@pytest.mark.parametrize(("month", "offset"), [(3, "+01:00"), (4, "+02:00")])
def test_exif_tells_the_local_time_and_its_offset_and_no_place(scene, month, offset) -> None:
    data = write_jpeg(scene, taken=datetime(2026, month, 7, 13, 5, 9, tzinfo=BERLIN), orientation=6, quality=85)
    exif = Image.open(io.BytesIO(data)).getexif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    assert details[ExifTags.Base.DateTimeOriginal] == f"2026:{month:02d}:07 13:05:09"
    assert details[ExifTags.Base.OffsetTimeOriginal] == offset
    assert exif[ExifTags.Base.Orientation] == 6
    assert exif[ExifTags.Base.Make] == "demo camera"
    assert not exif.get_ifd(ExifTags.IFD.GPSInfo)


def test_tone_curves_rise_and_keep_black() -> None:
    ramp = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 3, axis=2)
    for phone in PHONES.values():
        quiet = replace(phone, noise=0.0, vignette=0.0)
        seen = spoil(ramp, quiet, replace(STILL, tone_strength=1.0), np.random.default_rng(1))[0, :, 1].astype(int)
        assert np.all(np.diff(seen) >= 0)
        assert seen[0] <= 12  # the glass's faint veil
        assert seen[-1] >= 250
