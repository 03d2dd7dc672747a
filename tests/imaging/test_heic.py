"""HEIC photos, wide colours, and what a header says of camera and place."""

from __future__ import annotations

import io
import re
import struct

import numpy as np
import pillow_heif
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from littoral.imaging import heic
from littoral.imaging.decode import MAX_OTHER_PIXELS, decode_photo, read_header
from littoral.imaging.gamut import P3_PRIMARIES, WHITE_D65, p3_to_srgb, to_xyz
from littoral.imaging.photo_errors import DamagedPhotoError, PhotoError, TooManyPixelsError


def scene(height: int = 180, width: int = 240) -> np.ndarray:
    y, x = np.mgrid[0:height, 0:width]
    return np.stack([x * 150 / width + 50, y * 120 / height + 60, 128 - 40 * x / width], axis=-1).astype(np.uint8)


def as_heic(pixels: np.ndarray, *, orientation: int = 1, quality: int = 95, **options: object) -> bytes:
    stream, exif = io.BytesIO(), Image.Exif()
    exif[0x0112], exif[0x010F], exif[0x0110] = orientation, "Maker", "Maker One"
    exif.get_ifd(0x8769)[0x9003] = "2026:03:02 18:30:05"
    exif.get_ifd(0x8769)[0x9011] = "+01:00"
    image = pillow_heif.from_pillow(Image.fromarray(pixels))
    image.save(stream, quality=quality, chroma=444, exif=exif.tobytes(), **options)
    return stream.getvalue()


def as_png(pixels: np.ndarray) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG")
    return stream.getvalue()


def test_heic_and_png_of_the_same_picture_agree() -> None:
    one, other = decode_photo(as_heic(scene())), decode_photo(as_png(scene()))
    assert one.image.shape == other.image.shape
    assert np.abs(one.image.astype(int) - other.image).mean() < 1.0  # of 255; HEVC at quality 95 is not lossless
    assert one.notes == ()


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_the_container_turns_the_picture_and_nobody_turns_it_again(orientation: int) -> None:
    stored = {1: scene(), 3: scene()[::-1, ::-1], 6: np.rot90(scene(), 1), 8: np.rot90(scene(), -1)}[orientation]
    data = as_heic(np.ascontiguousarray(stored), orientation=orientation)
    header = read_header(data)
    assert (header.width, header.height, header.orientation, header.format) == (240, 180, 1, "HEIC")
    assert np.abs(decode_photo(data).image.astype(int) - scene()).mean() < 1.0


def test_heic_is_shrunk_before_it_leaves_its_process() -> None:
    data = as_heic(scene(900, 1200))
    assert decode_photo(data, width_px=300).image.shape == (225, 300, 3)
    small = decode_photo(data, width_px=300).image.astype(float)
    assert np.abs(small - np.asarray(Image.fromarray(scene(900, 1200)).reduce(4), dtype=float)).mean() < 1.0


def test_what_a_heic_file_says() -> None:
    header = read_header(as_heic(scene()))
    assert (header.camera, header.has_place, str(header.exif_taken)) == ("Maker One", False, "2026-03-02 18:30:05")
    assert header.exif_offset is not None
    assert header.exif_offset.total_seconds() == 3600


@pytest.mark.parametrize("share", [0.01, 0.3, 0.7, 0.95])
def test_heic_cut_short_is_called_that(share: float) -> None:
    data = as_heic(np.random.default_rng(1).integers(0, 256, (120, 160, 3), dtype=np.uint8))
    with pytest.raises(DamagedPhotoError, match="HEIC image is cut short") as refused:
        decode_photo(data[: int(share * len(data))])
    assert refused.value.cut_short


def test_a_heic_header_over_the_cap_is_refused_before_decoding() -> None:
    data = as_heic(scene())
    at = data.index(b"ispe") + 8  # width and height in ImageSpatialExtentsProperty (ISO/IEC 23008-12, section 6.5.3)
    huge = data[:at] + struct.pack(">II", 50_000, 50_000) + data[at + 8 :]
    for read in (read_header, decode_photo):
        with pytest.raises(PhotoError) as refused:
            read(huge)
        assert isinstance(refused.value, TooManyPixelsError | DamagedPhotoError)
    assert MAX_OTHER_PIXELS < 50_000 * 50_000


def test_a_decoder_that_dies_takes_nothing_down() -> None:
    decode_photo(as_heic(scene()))
    worker = heic._WORKERS.borrow()
    worker._process.kill()
    worker._process.wait()
    heic._WORKERS.give_back(worker)
    with pytest.raises(DamagedPhotoError, match="gave up"):
        decode_photo(as_heic(scene()))
    assert decode_photo(as_heic(scene())).image.shape == (180, 240, 3)


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_any_damage_to_heic_is_refused_or_decoded(draw: st.DataObject) -> None:
    data = bytearray(_SMALL)
    for _ in range(draw.draw(st.integers(1, 6))):
        data[draw.draw(st.integers(12, len(data) - 1))] = draw.draw(st.integers(0, 255))
    try:
        decoded = decode_photo(bytes(data), width_px=64)
    except PhotoError as error:
        said = str(error)
    else:
        said = ""
        assert decoded.image.dtype == np.uint8
        assert decoded.image.ndim == 3
    assert not re.search(r"b'|\\x|decoder:|libheif|Error|\(\d+\)", said)


_SMALL = as_heic(scene(48, 64))

# Wide colours


def display_p3_profile() -> bytes:
    """A matrix profile of Display P3, written by ICC.1:2010: D50-adapted columns and the curve of sRGB as a table."""
    bradford = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
    d65, d50 = np.array([0.95046, 1.0, 1.08906]), np.array([0.9642, 1.0, 0.8249])
    adapt = np.linalg.solve(bradford, np.diag(bradford @ d50 / (bradford @ d65)) @ bradford)
    columns = adapt @ to_xyz(P3_PRIMARIES, WHITE_D65)
    at = np.linspace(0, 1, 1024)
    curve = np.where(at <= 0.04045, at / 12.92, ((at + 0.055) / 1.055) ** 2.4)

    def fixed(*values: float) -> bytes:
        return b"".join(struct.pack(">i", round(value * 65536)) for value in values)

    text = b"Display P3 for a test\0"
    trc = b"curv\0\0\0\0" + struct.pack(">I", 1024) + np.round(curve * 65535).astype(">u2").tobytes()
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + bytes(78),
        b"wtpt": b"XYZ \0\0\0\0" + fixed(*d50),
        b"rXYZ": b"XYZ \0\0\0\0" + fixed(*columns[:, 0]),
        b"gXYZ": b"XYZ \0\0\0\0" + fixed(*columns[:, 1]),
        b"bXYZ": b"XYZ \0\0\0\0" + fixed(*columns[:, 2]),
        b"rTRC": trc,
        b"gTRC": trc,
        b"bTRC": trc,
    }
    table, body, at_byte = b"", b"", 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        padded = data + bytes(-len(data) % 4)
        table += name + struct.pack(">II", at_byte + len(body), len(data))
        body += padded
    size = at_byte + len(body)
    head = struct.pack(">I4sI4s4s4s", size, b"none", 0x02400000, b"mntr", b"RGB ", b"XYZ ")
    head += bytes(12) + b"acsp" + bytes(28) + fixed(*d50)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def reference_srgb(pixels: np.ndarray) -> np.ndarray:
    """Display P3 to sRGB by colour-science, clipped."""
    colour = pytest.importorskip("colour")
    with np.errstate(all="ignore"):
        shown = colour.RGB_to_RGB(
            pixels / 255, "Display P3", "sRGB", chromatic_adaptation_transform=None, apply_cctf_decoding=True,
            apply_cctf_encoding=True,
        )  # fmt: skip
    return np.asarray(np.clip(shown * 255, 0, 255))


@pytest.mark.filterwarnings("ignore")  # colour-science warns about optional parts of its own
def test_display_p3_comes_out_as_colour_science_says_by_profile_and_by_code() -> None:
    pixels = np.random.default_rng(3).integers(0, 256, (40, 60, 3), dtype=np.uint8)
    expected = reference_srgb(pixels)
    assert np.abs(p3_to_srgb(pixels) - expected).max() <= 1.5
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG", icc_profile=display_p3_profile())
    by_profile = decode_photo(stream.getvalue())
    assert by_profile.notes == ()
    assert np.abs(by_profile.image - expected).mean() < 1.0
    assert np.abs(decode_photo(as_png(pixels)).image - expected).mean() > 4  # without it the colours would be dull


def test_heic_with_a_profile_is_converted() -> None:
    flat = np.full((64, 64, 3), (200, 60, 40), np.uint8)
    stream = io.BytesIO()
    picture = Image.fromarray(flat)
    picture.info["icc_profile"] = display_p3_profile()
    pillow_heif.from_pillow(picture).save(stream, quality=95, chroma=444)
    red = decode_photo(stream.getvalue()).image[32, 32]
    np.testing.assert_allclose(red, reference_srgb(flat[:1, :1])[0, 0], atol=4)
    assert red[0] > 210  # redder than the number it was written with


def test_the_place_is_seen_and_the_camera_named() -> None:
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Maker\0", "Model 2\n"
    exif.get_ifd(0x8825)[2] = (52.0, 31.0, 0.0)
    stream = io.BytesIO()
    Image.fromarray(scene()).save(stream, "JPEG", exif=exif)
    header = read_header(stream.getvalue())
    assert (header.camera, header.has_place) == ("Maker Model 2", True)


@pytest.mark.parametrize("format_name", ["JPEG", "PNG", "TIFF", "WEBP", "HEIC"])
def test_every_format_of_one_picture_measures_alike(format_name: str) -> None:
    """Smooth scene, shrunk to the size of work: no format moves the mean of any part by more than one of 255."""
    whole = scene(960, 1280)
    if format_name == "HEIC":
        data = as_heic(whole)
    else:
        stream = io.BytesIO()
        Image.fromarray(whole).save(stream, format_name, **({"quality": 95} if format_name in ("JPEG", "WEBP") else {}))
        data = stream.getvalue()
    shrunk = decode_photo(data, width_px=320).image
    assert shrunk.shape == (240, 320, 3)
    means = shrunk.reshape(6, 40, 8, 40, 3).mean(axis=(1, 3))
    expected = whole.reshape(6, 160, 8, 160, 3).mean(axis=(1, 3))
    assert np.abs(means - expected).max() < 1.0
