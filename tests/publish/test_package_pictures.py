"""Photos in a package: the same pixels, and nothing that says where, when, with what or by whom they were taken."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms, PngImagePlugin

from littoral.imaging.decode import decode_photo, read_header
from littoral.publish.package.pictures import UncutPhotoError, stripped

PLANTED = (b"Annegret", b"SN-123456", b"2026:03:02", b"Mudville")


def _image() -> Image.Image:
    rng = np.random.default_rng(7)
    return Image.fromarray(rng.integers(0, 255, (48, 64, 3), dtype=np.uint8))


def _exif(turned: int) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = turned
    exif[0x013B] = "Annegret"
    exif[0x0132] = "2026:03:02 10:00:00"
    exif.get_ifd(0x8769)[0xA431] = "SN-123456"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", (52.0, 31.0, 12.0), "E", (13.0, 24.0, 18.0)
    gps[0x1B] = b"ASCII\x00\x00\x00Mudville"
    return exif


def _jpeg(turned: int, **more: object) -> bytes:
    out = io.BytesIO()
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    _image().save(
        out, "JPEG", quality=90, exif=_exif(turned).tobytes(), icc_profile=profile, comment=b"by Annegret", **more
    )
    return out.getvalue()


@pytest.mark.parametrize("turned", [1, 3, 6, 8])
@pytest.mark.parametrize("progressive", [False, True])
def test_a_jpeg_keeps_its_pixels_and_loses_the_rest(turned: int, progressive: bool) -> None:
    data = _jpeg(turned, progressive=progressive) + b"a film of Annegret behind the picture"
    assert all(word in data for word in (*PLANTED[:3],))
    bare = stripped(data)
    assert not any(word in bare for word in PLANTED)
    assert b"GPS" not in bare
    header = read_header(bare)
    assert header.orientation == turned
    assert header.exif_taken is None
    assert not Image.open(io.BytesIO(bare)).getexif().get_ifd(0x8825)
    assert np.array_equal(decode_photo(bare).image, decode_photo(data).image)
    assert stripped(bare) == bare


def test_a_png_keeps_its_pixels_and_loses_the_rest() -> None:
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", "Annegret")
    words.add_itxt("Place", "Mudville", zip=False)
    out = io.BytesIO()
    _image().save(out, "PNG", pnginfo=words, exif=_exif(6).tobytes())
    data = out.getvalue() + b"Annegret"
    bare = stripped(data)
    assert not any(word in bare for word in PLANTED)
    assert read_header(bare).orientation == read_header(data).orientation
    assert np.array_equal(decode_photo(bare).image, decode_photo(data).image)
    assert stripped(bare) == bare


@pytest.mark.parametrize("data", [b"", b"II*\x00", b"RIFF....WEBP", _jpeg(1)[:300], _jpeg(1)[:-400], b"\xff\xd8\xff"])
def test_what_cannot_be_cut_is_refused(data: bytes) -> None:
    with pytest.raises(UncutPhotoError):
        stripped(data)


def test_no_cut_of_a_photo_anywhere_ends_in_anything_but_a_refusal() -> None:
    data = _jpeg(6, progressive=True)
    for end in range(2, len(data) - 2, 37):
        with pytest.raises(UncutPhotoError):
            stripped(data[:end])
