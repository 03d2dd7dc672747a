"""From the bytes of a photo to sRGB pixels, upright, at the size needed and no larger.

Photos are hostile input: only five formats are tried, the pixel count is read from the header and capped before a
pixel is decoded, and every failure has its own class in `photo_errors`.
"""

from __future__ import annotations

import io
import struct
import zlib
from dataclasses import dataclass
from datetime import datetime, timedelta

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, JpegImagePlugin, PngImagePlugin, TiffImagePlugin, WebPImagePlugin

from littoral.imaging.exif import Said, said_by
from littoral.imaging.gamut import DISPLAY_P3, p3_to_srgb
from littoral.imaging.heic import Heic, is_heic, read_heic
from littoral.imaging.photo_errors import (
    DamagedPhotoError,
    EmptyPhotoError,
    NotAPhotoError,
    TooManyPixelsError,
    UnsupportedPixelsError,
)

MAX_JPEG_PIXELS = 220_000_000
"""Largest JPEG read: the 200-megapixel sensors of phones. It is decoded reduced, so memory stays near that of 14 MP."""
MAX_OTHER_PIXELS = 64_000_000
"""Largest PNG, TIFF, WebP or HEIC read: these must be decoded whole before they can be shrunk."""
_ENOUGH = 0.8
"""A reduced decode may fall this far short of the width asked for: a quarter of 4,000 px serves for 1,200 px."""

_BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)
_TRANSPOSE = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}  # EXIF 2.32 (CIPA DC-008), tag 0x0112
_HDR = (16, 18)
"""Curves of high dynamic range, PQ and HLG, in ITU-T H.273, table 3."""


@dataclass(frozen=True, slots=True)
class PhotoHeader:
    """What a photo's header says: `width` and `height` in pixels as shown upright.

    `exif_taken` is the camera's own clock without a zone; `exif_offset` is what the camera says that clock is ahead of
    UTC (0 for UTC itself), None where it does not say.
    `orientation` is EXIF's 1 to 8 (1 for HEIC, whose container turns the picture); `frames` counts pictures in the
    file. `camera` is maker and model as the camera wrote them, "" where it did not; `has_place` says that the file
    holds where it was taken.
    """

    width: int
    height: int
    exif_taken: datetime | None
    exif_offset: timedelta | None
    orientation: int
    format: str
    frames: int = 1
    camera: str = ""
    has_place: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Decoded:
    """An upright photo: sRGB uint8 (height, width, 3), its header, and plain sentences about what was assumed."""

    image: NDArray[np.uint8]
    header: PhotoHeader
    notes: tuple[str, ...]


def read_header(data: bytes) -> PhotoHeader:
    """Header of a photo, without decoding a pixel.

    Raises EmptyPhotoError, NotAPhotoError, DamagedPhotoError (header cut short) or TooManyPixelsError.
    """
    if is_heic(data):
        return _heic_header(_heic(data, None, pixels=False))
    image, format_name = _open(data)
    return _header(image, format_name)


def decode_photo(data: bytes, *, width_px: int | None = None) -> Decoded:
    """Decode a photo to sRGB, upright.

    `width_px` is the width wanted as shown upright: the result is at least 0.8 and at most 1.5 times as wide, or as
    wide as the photo where that is narrower; None decodes the full size. Embedded ICC profiles are converted to sRGB
    (after shrinking); images without one are taken as sRGB. 16-bit values are divided by 257, never stretched.

    Raises the classes of `photo_errors`.
    """
    if is_heic(data):
        return _decode_heic(data, width_px)
    image, format_name = _open(data)
    header = _header(image, format_name)
    notes: list[str] = []
    if header.frames > 1:
        notes.append(_of_several(header.frames))
    try:
        if width_px is not None and isinstance(image, JpegImagePlugin.JpegImageFile):
            least = max(1, round(_ENOUGH * width_px))
            longest = max(1, least * header.height // header.width)
            size = (longest, least) if header.orientation >= 5 else (least, longest)
            # PIL keeps CMYK as it is; for the rest the decoder itself turns YCbCr into RGB
            image.draft("RGB" if image.mode == "RGB" else image.mode, size)
        image.load()
        upright: Image.Image = image
        if header.orientation in _TRANSPOSE and format_name != "TIFF":  # PIL turns TIFF by itself
            upright = image.transpose(_TRANSPOSE[header.orientation])
        pixels = _to_srgb(_shrink(upright, width_px), image.info.get("icc_profile"), format_name, notes)
    except _BROKEN as error:
        raise _damaged(format_name, data, error) from error
    return Decoded(pixels, header, tuple(notes))


def _open(data: bytes) -> tuple[Image.Image, str]:
    if not data:
        raise EmptyPhotoError
    stream = io.BytesIO(data)
    format_name = "?"
    # The plugin classes are called directly: Image.open would try every format and has its own, global, pixel cap.
    try:
        if data[:3] == b"\xff\xd8\xff":
            format_name = "JPEG"
            image: Image.Image = JpegImagePlugin.JpegImageFile(stream)
        elif data[:8] == b"\x89PNG\r\n\x1a\n":
            format_name = "PNG"
            image = PngImagePlugin.PngImageFile(stream)
        elif data[:4] in (b"II*\0", b"MM\0*"):
            format_name = "TIFF"
            image = TiffImagePlugin.TiffImageFile(stream)
        elif data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            format_name = "WebP"
            _cap(*_webp_size(data), format_name)  # opening a WebP already allocates its canvas
            image = WebPImagePlugin.WebPImageFile(stream)
        else:
            raise NotAPhotoError(data)
    except _BROKEN as error:
        raise _damaged(format_name, data, error) from error
    _cap(*image.size, format_name)
    return image, format_name


def _heic(data: bytes, width_px: int | None, *, pixels: bool) -> Heic:
    found = read_heic(data, width_px=width_px, pixels=pixels, max_pixels=MAX_OTHER_PIXELS)
    _cap(*found.full_px, "HEIC")
    return found


def _heic_header(found: Heic) -> PhotoHeader:
    exif = Image.Exif()
    try:
        exif.load(found.exif)
        said = said_by(exif)
    except _BROKEN:
        said = Said()
    width, height = found.full_px
    return PhotoHeader(width, height, said.taken, said.offset, 1, "HEIC", found.frames, said.camera, said.has_place)


def _decode_heic(data: bytes, width_px: int | None) -> Decoded:
    found = _heic(data, width_px, pixels=True)
    header = _heic_header(found)
    notes = [_of_several(found.frames)] if found.frames > 1 else []
    if found.transfer in _HDR:
        notes.append("the photo is coded for bright screens (HDR); its colours are approximate")
    assert found.pixels is not None, "pixels were asked for, and the size is within the cap"
    image = Image.frombytes(found.mode, found.size_px, found.pixels)
    pixels = _to_srgb(image, found.profile or None, "HEIC", notes)
    return Decoded(p3_to_srgb(pixels) if found.primaries == DISPLAY_P3 else pixels, header, tuple(notes))


def _of_several(frames: int) -> str:
    return f"the file holds {frames} pictures; the first is used"


def _cap(width_px: int, height_px: int, format_name: str) -> None:
    limit = MAX_JPEG_PIXELS if format_name == "JPEG" else MAX_OTHER_PIXELS
    if width_px < 1 or height_px < 1:
        raise DamagedPhotoError(format_name, detail=f"its header says {width_px} x {height_px} pixels")
    if width_px * height_px > limit:
        raise TooManyPixelsError(width_px=width_px, height_px=height_px, limit_px=limit, format_name=format_name)


def _webp_size(data: bytes) -> tuple[int, int]:
    """Canvas size from the first chunk (RFC 9649 sections 2.5 to 2.7)."""
    kind, body = data[12:16], data[20:30]
    if len(body) < 10:
        raise EOFError("the header is cut short")
    if kind == b"VP8X":
        return 1 + int.from_bytes(body[4:7], "little"), 1 + int.from_bytes(body[7:10], "little")
    if kind == b"VP8L":
        bits = int.from_bytes(body[1:5], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    return int.from_bytes(body[6:8], "little") & 0x3FFF, int.from_bytes(body[8:10], "little") & 0x3FFF


def _header(image: Image.Image, format_name: str) -> PhotoHeader:
    said, frames = Said(), 1
    try:
        frames = getattr(image, "n_frames", 1)
        said = said_by(image.getexif())
    except _BROKEN:
        pass  # metadata is hostile text: a photo with broken EXIF is still a photo, only undated
    width, height = image.size
    if said.orientation >= 5 and format_name != "TIFF":
        width, height = height, width
    return PhotoHeader(
        width, height, said.taken, said.offset, said.orientation, format_name, frames, said.camera, said.has_place
    )


def _shrink(image: Image.Image, width_px: int | None) -> Image.Image:
    if width_px is None or image.width <= 1.5 * width_px or image.mode not in ("RGB", "L", "CMYK", "RGBA"):
        return image
    factor = max(1, int(image.width / width_px))
    return image.reduce(factor)


def _to_srgb(image: Image.Image, profile: bytes | None, format_name: str, notes: list[str]) -> NDArray[np.uint8]:
    if image.mode.startswith("I"):
        # 16-bit grey; "I" is how PIL opens 16-bit grey PNG. Scaled by the type's white, never stretched.
        return _as_rgb(np.clip(np.asarray(image, dtype=np.float64) / 257.0, 0, 255).round().astype(np.uint8))
    if image.mode == "F":
        raise UnsupportedPixelsError(format_name, pixels="floating-point numbers")
    if image.mode in ("P", "PA", "LA", "RGBA", "1"):
        rgba = image.convert("RGBA")
        if np.asarray(rgba)[..., 3].min() < 255:
            notes.append("transparent parts are taken as black")
        black = Image.new("RGBA", rgba.size, (0, 0, 0, 255))
        image = Image.alpha_composite(black, rgba).convert("RGB")
    if profile:
        image = _convert_profile(image, profile, notes)
    if image.mode == "CMYK":
        notes.append("the image is CMYK without a usable colour profile; its colours are approximate")
    return _as_rgb(np.asarray(image if image.mode in ("RGB", "L") else image.convert("RGB")))


def _convert_profile(image: Image.Image, profile: bytes, notes: list[str]) -> Image.Image:
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if "sRGB" in ImageCms.getProfileDescription(source):
            return image
        changed = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, *_BROKEN):
        notes.append("the embedded colour profile could not be used; the colours are taken as sRGB")
        return image
    return image if changed is None else changed


def _as_rgb(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    if pixels.ndim == 2:
        return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_GRAY2RGB), dtype=np.uint8)
    return np.ascontiguousarray(pixels)


def _damaged(format_name: str, data: bytes, error: BaseException) -> DamagedPhotoError:
    """Return the refusal of a photo that the decoder stumbled over: cut short, where its words or the length say so."""
    said = str(error).lower()
    ends_early = "truncated" in said or "incomplete" in said or isinstance(error, (EOFError, struct.error))
    if format_name == "WebP":  # a RIFF file gives its length behind the first four bytes (RFC 9649 section 2.3)
        ends_early = ends_early or len(data) < 8 + int.from_bytes(data[4:8], "little")
    return DamagedPhotoError(format_name, cut_short=ends_early)
