"""Decoding: every kind of pixel a keeper's camera may write, and every refusal."""

from __future__ import annotations

import io
import re
import struct
import zlib
from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from littoral.imaging.decode import MAX_JPEG_PIXELS, decode_photo, read_header
from littoral.imaging.photo_errors import (
    DamagedPhotoError,
    EmptyPhotoError,
    NotAPhotoError,
    PhotoError,
    TooManyPixelsError,
    UnsupportedPixelsError,
)


def scene(height: int = 90, width: int = 120) -> np.ndarray:
    y, x = np.mgrid[0:height, 0:width]
    return np.stack([x * 200 / width + 20, y * 180 / height + 30, 128 - 60 * x / width], axis=-1).astype(np.uint8)


def saved(image: Image.Image, format_name: str, **options: object) -> bytes:
    stream = io.BytesIO()
    image.save(stream, format_name, **options)
    return stream.getvalue()


def huge_jpeg(width: int, height: int) -> bytes:
    data = bytearray(saved(Image.fromarray(scene()), "JPEG"))
    at = data.index(b"\xff\xc0") + 5
    data[at : at + 4] = struct.pack(">HH", height, width)
    return bytes(data)


def huge_png(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + chunk(b"IDAT", b"")
    )


@pytest.mark.parametrize("format_name", ["PNG", "TIFF", "WEBP"])
def test_lossless_formats_give_the_same_pixels(format_name: str) -> None:
    options = {"lossless": True} if format_name == "WEBP" else {}
    decoded = decode_photo(saved(Image.fromarray(scene()), format_name, **options))
    np.testing.assert_array_equal(decoded.image, scene())
    assert decoded.notes == ()


def test_jpeg_is_decoded_reduced_but_never_enlarged() -> None:
    data = saved(Image.fromarray(scene(900, 1200)), "JPEG", quality=95)
    assert decode_photo(data).image.shape == (900, 1200, 3)
    assert decode_photo(data, width_px=300).image.shape == (225, 300, 3)
    assert decode_photo(data, width_px=5000).image.shape == (900, 1200, 3)
    small = decode_photo(data, width_px=300).image.astype(float)
    whole = np.asarray(Image.fromarray(scene(900, 1200)).reduce(4), dtype=float)
    assert np.abs(small - whole).mean() < 1.5


def test_png_is_shrunk_too() -> None:
    assert decode_photo(saved(Image.fromarray(scene(900, 1200)), "PNG"), width_px=300).image.shape == (225, 300, 3)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_exif_orientation_comes_out_upright(orientation: int) -> None:
    """The stored pixels are turned so that applying EXIF's rule (CIPA DC-008, tag 0x0112) must give the scene back."""
    undo = {
        1: lambda p: p,
        2: lambda p: p[:, ::-1],
        3: lambda p: p[::-1, ::-1],
        4: lambda p: p[::-1],
        5: lambda p: p.transpose(1, 0, 2),
        6: lambda p: np.rot90(p, 1),
        7: lambda p: p[::-1, ::-1].transpose(1, 0, 2),
        8: lambda p: np.rot90(p, -1),
    }[orientation]
    exif = Image.Exif()
    exif[0x0112] = orientation
    stored = np.ascontiguousarray(undo(scene()))
    data = saved(Image.fromarray(stored), "TIFF", exif=exif)
    np.testing.assert_array_equal(decode_photo(data).image, scene())
    header = read_header(data)
    assert (header.width, header.height, header.orientation) == (120, 90, orientation)
    turned = saved(Image.fromarray(stored).resize((stored.shape[1] * 8, stored.shape[0] * 8)), "JPEG", exif=exif)
    assert decode_photo(turned, width_px=240).image.shape == (180, 240, 3)


def test_camera_clock_and_offset_are_read() -> None:
    exif = Image.Exif()
    exif[0x0132] = "2020:01:01 00:00:00"
    inner = exif.get_ifd(0x8769)
    inner[0x9003] = "2026:03:02 18:30:05"
    inner[0x9011] = "+01:00"
    header = read_header(saved(Image.fromarray(scene()), "JPEG", exif=exif))
    assert header.exif_taken == datetime(2026, 3, 2, 18, 30, 5)
    assert header.exif_offset == timedelta(hours=1)


@pytest.mark.parametrize(
    ("clocks", "taken", "offset"),
    [
        # UTC is an offset too, and not a missing one
        ({0x9003: "2026:03:02 18:30:05", 0x9011: "+00:00", 0x9012: "+02:00"}, 18, timedelta(0)),
        ({0x9003: "2026:03:02 18:30:05", 0x9011: "Z", 0x9010: "+02:00"}, 18, timedelta(0)),
        # an offset of another time, as an editor elsewhere writes it, says nothing about the time taken
        ({0x9003: "2026:03:02 18:30:05", 0x9010: "+09:00"}, 18, None),
        ({0x9003: "2026:03:02 18:30:05", 0x9011: "   :  ", 0x9012: "+02:00"}, 18, None),
        ({0x9004: "2026:03:02 19:30:05", 0x9011: "+05:00", 0x9012: "-03:30"}, 19, timedelta(hours=-3.5)),
        ({0x9003: "    :  :     :  :  ", 0x9011: "+05:00", 0x9010: "+02:00"}, 20, timedelta(hours=2)),
    ],
)
def test_each_clock_has_its_own_offset(clocks: dict[int, str], taken: int, offset: timedelta | None) -> None:
    """EXIF 2.31 (CIPA DC-008-2016), tags 0x9010 to 0x9012: offsets of DateTime, ...Original and ...Digitized."""
    exif = Image.Exif()
    exif[0x0132] = "2026:03:02 20:30:05"
    exif.get_ifd(0x8769).update(clocks)
    header = read_header(saved(Image.fromarray(scene()), "JPEG", exif=exif))
    assert header.exif_taken == datetime(2026, 3, 2, taken, 30, 5)
    assert header.exif_offset == offset
    assert header.format == "JPEG"


@pytest.mark.parametrize("text", ["0000:00:00 00:00:00", "yesterday", "", "2026-13-45"])
def test_nonsense_dates_are_no_dates(text: str) -> None:
    exif = Image.Exif()
    exif[0x0132] = text
    assert read_header(saved(Image.fromarray(scene()), "JPEG", exif=exif)).exif_taken is None


def test_wide_gamut_profile_is_converted() -> None:
    """A patch in linear-light primaries of sRGB with gamma 1 must come out encoded (values from the sRGB curve)."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    lab = Image.new("LAB", (8, 8), (128, 128, 128))
    grey = ImageCms.profileToProfile(lab, profile, ImageCms.createProfile("sRGB"), outputMode="RGB")
    data = saved(lab, "TIFF", icc_profile=profile.tobytes())
    np.testing.assert_array_equal(decode_photo(data).image[0, 0], np.asarray(grey)[0, 0])


def test_broken_profile_is_said_not_fatal() -> None:
    decoded = decode_photo(saved(Image.fromarray(scene()), "PNG", icc_profile=b"not a profile"))
    np.testing.assert_array_equal(decoded.image, scene())
    assert "colour profile could not be used" in decoded.notes[0]


def test_grey_cmyk_palette_and_transparent() -> None:
    grey = Image.fromarray(scene()[..., 0])
    assert (decode_photo(saved(grey, "PNG")).image == scene()[..., :1]).all()
    cmyk = decode_photo(saved(Image.fromarray(scene()).convert("CMYK"), "JPEG", quality=95))
    assert np.abs(cmyk.image.astype(int) - scene()).mean() < 4
    assert "CMYK" in cmyk.notes[0]
    palette = Image.fromarray((scene() // 64) * 64).quantize(200)
    assert np.abs(decode_photo(saved(palette, "PNG")).image.astype(int) - (scene() // 64) * 64).mean() < 2
    clear = Image.fromarray(np.dstack([scene(), np.zeros((90, 120), np.uint8)]))
    decoded = decode_photo(saved(clear, "PNG"))
    assert decoded.image.max() == 0
    assert decoded.notes == ("transparent parts are taken as black",)


@pytest.mark.parametrize("format_name", ["PNG", "TIFF"])
def test_sixteen_bit_is_measured_as_what_it_is(format_name: str) -> None:
    """A 12-bit photo in a 16-bit file stays dark: 4095 of 65535 is 16 of 255."""
    image = Image.fromarray(np.full((8, 8), 4095, np.uint16))
    assert (decode_photo(saved(image, format_name)).image == 16).all()


def test_animation_uses_its_first_picture() -> None:
    frames = [Image.new("RGB", (20, 10), colour) for colour in ("red", "blue")]
    for format_name in ("PNG", "WEBP", "TIFF"):
        options = {"lossless": True} if format_name == "WEBP" else {}
        data = saved(frames[0], format_name, save_all=True, append_images=frames[1:], **options)
        decoded = decode_photo(data)
        assert (decoded.image == (255, 0, 0)).all()
        assert "2 pictures" in decoded.notes[0]


def refusal(data: bytes) -> str:
    with pytest.raises(PhotoError) as refused:
        decode_photo(data)
    return str(refused.value)


def test_an_empty_file_is_refused() -> None:
    with pytest.raises(EmptyPhotoError):
        decode_photo(b"")
    assert refusal(b"") == "The file is empty (0 bytes). Copy the photo from the camera again."


@pytest.mark.parametrize(
    ("data", "looks_like"),
    [
        (b"hello not an image", "it looks like text"),
        ("Blätter; Größe\n".encode() * 50, "it looks like text"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "it looks like a web page or a drawing (HTML or SVG)"),
        (b"\0\0\0\x18ftypavif\0\0\0\0", "it looks like a photo in AVIF format"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0", "it looks like a film"),
        (saved(Image.new("RGB", (4, 4)), "GIF"), "it looks like a GIF"),
        (saved(Image.new("RGB", (4, 4)), "BMP"), "it looks like a BMP image"),
        (b"%PDF-1.7\n\xe2\xe3", "it looks like a PDF document"),
        (b"\x89PNG\n\n\x1a\n" + b"\0" * 20, "it looks like a PNG image whose beginning is damaged"),
        (b"\0" * 4096, "it looks like nothing but zeros, as after a broken copy"),
        (b"\x01\x9c\xfe\0\x07", "what it is instead cannot be told"),
    ],
)
def test_what_is_no_photo_is_called_what_it_looks_like(data: bytes, looks_like: str) -> None:
    with pytest.raises(NotAPhotoError):
        decode_photo(data)
    said = f"This is not a JPEG, HEIC, PNG, TIFF or WebP image; {looks_like}. Export the photo as JPEG."
    assert refusal(data) == said


@pytest.mark.parametrize("format_name", ["JPEG", "PNG", "TIFF", "WebP"])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.9])
def test_a_photo_cut_short_is_called_that(format_name: str, share: float) -> None:
    rng = np.random.default_rng(1)
    data = saved(Image.fromarray(rng.integers(0, 256, (90, 120, 3), dtype=np.uint8)), format_name)
    said = f"The {format_name} image is cut short: its end is missing. Copy the photo from the camera again."
    assert refusal(data[: int(share * len(data))]) == said


def overwritten(format_name: str, at: int, put: bytes) -> bytes:
    data = saved(Image.fromarray(scene()), format_name)
    return data[:at] + put + data[at + len(put) :]


@pytest.mark.parametrize(
    ("format_name", "at", "put"),
    [("PNG", 20, b"\1"), ("PNG", 12, b"IHDX"), ("JPEG", 2, b"\xff\xc0\0\x11\x0d"), ("WebP", 12, b"VP8?"),
     ("TIFF", 8, b"\0\0")],
    ids=["checksum", "unknown part", "13 bits", "unknown picture", "no directory"],
)  # fmt: skip
def test_a_damaged_photo_is_refused_without_the_decoders_words(format_name: str, at: int, put: bytes) -> None:
    assert refusal(overwritten(format_name, at, put)) == (
        f"The {format_name} image is damaged, or written in a way that is not read here. "
        "Copy the photo from the camera again, or export it as JPEG."
    )


def test_a_header_of_no_pixels_is_said() -> None:
    data = overwritten("WebP", 26, b"\0\0")  # the width in the frame header of VP8 (RFC 6386 section 9.1)
    assert refusal(data).startswith("The WebP image is damaged: its header says 0 x 90 pixels. Copy the photo")


@pytest.mark.parametrize(
    "data",
    [huge_jpeg(65_500, 65_500), huge_png(400_000, 250_000), huge_png(50_000, 50_000)],
    ids=["jpeg", "100 gigapixels", "50,000 square"],
)
def test_header_over_the_cap_is_refused_before_decoding(data: bytes) -> None:
    for read in (read_header, decode_photo):
        with pytest.raises(TooManyPixelsError, match="megapixels"):
            read(data)


def test_webp_over_the_cap_is_refused_before_its_canvas_is_made() -> None:
    body = b"\0\0\0\0" + (16_000).to_bytes(3, "little") + (16_000).to_bytes(3, "little")
    data = b"RIFF" + struct.pack("<I", 22) + b"WEBPVP8X" + struct.pack("<I", 10) + body
    with pytest.raises(TooManyPixelsError):
        read_header(data)


def test_a_phone_with_200_megapixels_is_not_refused() -> None:
    assert read_header(huge_jpeg(16_320, 12_240)).width == 16_320
    assert MAX_JPEG_PIXELS > 16_320 * 12_240


def test_png_text_bomb_and_float_pixels_are_refused() -> None:
    bomb = zlib.compress(b"\0" * 100_000_000, 9)
    body = b"comment\0\0" + bomb
    chunk = struct.pack(">I", len(body)) + b"zTXt" + body + struct.pack(">I", zlib.crc32(b"zTXt" + body))
    data = saved(Image.fromarray(scene()), "PNG")
    with pytest.raises(DamagedPhotoError):
        decode_photo(data[:33] + chunk + data[33:])
    with pytest.raises(UnsupportedPixelsError, match="floating-point numbers, of which none is defined as white"):
        decode_photo(saved(Image.fromarray(scene()[..., 0].astype(np.float32)), "TIFF"))


@pytest.mark.filterwarnings("ignore::UserWarning")  # PIL warns about broken tags; the photo may still be fine
@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["JPEG", "PNG", "TIFF", "WEBP"]), st.data())
def test_any_damage_is_refused_or_decoded_never_a_crash(format_name: str, draw: st.DataObject) -> None:
    data = bytearray(saved(Image.fromarray(scene(30, 40)), format_name))
    for _ in range(draw.draw(st.integers(1, 6))):
        data[draw.draw(st.integers(4, len(data) - 1))] = draw.draw(st.integers(0, 255))
    try:
        decoded = decode_photo(bytes(data), width_px=64)
    except PhotoError as error:
        said = str(error)
    else:
        said = ""
    assert not re.search(r"b'|b\"|\\x|checksum|chunk|layer|decoder|buffer|Error|\(\d+\)", said)
    if said:
        return
    assert decoded.image.dtype == np.uint8
    assert decoded.image.ndim == 3
