"""Photos without what their files say of place, time, device and person: the pixels stay as they are, bit by bit.

Of a JPEG (ITU-T T.81) all application segments and comments go but JFIF, the ICC profile and Adobe's colour transform;
of a PNG (ISO/IEC 15948) all chunks but those that decide its pixels. How the picture is turned stays, as an EXIF block
that says nothing else. WebP and TIFF files are not cut: they are left out.
"""

from __future__ import annotations

import struct
import zlib

from littoral.errors import LittoralError

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = (b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP")
_PLAIN_JFIF = b"\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"
"""JFIF without a preview in it."""
_ICC = b"ICC_PROFILE\x00"


class UncutPhotoError(LittoralError):
    """A photo cannot be freed of what its file says besides the picture; it is left out of a package."""


def stripped(data: bytes) -> bytes:
    """Return a JPEG or PNG without metadata; what has none comes back as it is. UncutPhotoError for other files."""
    if data[:2] == b"\xff\xd8":
        return _jpeg(data)
    if data[:8] == _PNG:
        return _png(data)
    raise UncutPhotoError("only JPEG and PNG files are freed of what they say besides the picture")


def _jpeg(data: bytes) -> bytes:
    kept, turned, place = [b"\xff\xd8"], 1, 2
    while True:
        while data[place : place + 2] == b"\xff\xff":  # fill bytes before a marker
            place += 1
        if place + 4 > len(data) or data[place] != 0xFF:
            raise UncutPhotoError("the JPEG file is damaged")
        marker = data[place + 1]
        if marker in (0x01, *range(0xD0, 0xD8)):  # stand alone
            place += 2
            continue
        (length,) = struct.unpack(">H", data[place + 2 : place + 4])
        segment, body = data[place : place + 2 + length], data[place + 4 : place + 2 + length]
        if length < 2 or len(segment) < 2 + length:
            raise UncutPhotoError("the JPEG file is damaged")
        if marker == 0xDA:
            break
        if marker == 0xE1 and body.startswith(b"Exif\x00\x00"):
            turned = _orientation(body[6:])
        if _wanted(marker, body):
            kept.append(b"\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00" if marker == 0xE0 else segment)
        place += 2 + length
    if turned != 1:
        kept.insert(1, _turned_only(turned))
    return b"".join(kept) + _scans(data, place)


def _wanted(marker: int, body: bytes) -> bool:
    if marker == 0xFE:
        return False
    if 0xE0 <= marker <= 0xEF:
        icc = marker == 0xE2 and body.startswith(_ICC)
        return (
            icc or (marker == 0xE0 and body.startswith(b"JFIF\x00")) or (marker == 0xEE and body.startswith(b"Adobe"))
        )
    return True


def _scans(data: bytes, place: int) -> bytes:
    """Return all from the first scan to the end of the picture, without segments of words between the scans."""
    kept = []
    while True:
        (length,) = struct.unpack(">H", data[place + 2 : place + 4])
        marker, body = data[place + 1], data[place + 4 : place + 2 + length]
        if _wanted(marker, body):
            kept.append(data[place : place + 2 + length])
        place += 2 + length
        if marker == 0xDA:
            end = place
            while True:  # entropy-coded data ends at a marker that is neither a stuffed byte nor a restart
                end = data.find(b"\xff", end)
                if end < 0 or end + 1 >= len(data):
                    raise UncutPhotoError("the JPEG file ends within its picture")
                if data[end + 1] == 0 or 0xD0 <= data[end + 1] <= 0xD7:
                    end += 2
                elif data[end + 1] == 0xFF:
                    end += 1
                else:
                    break
            kept.append(data[place:end])
            place = end
        if data[place : place + 2] == b"\xff\xd9":
            return b"".join(kept) + b"\xff\xd9"  # what follows the end is no picture of ours: a preview, a film
        if place + 4 > len(data) or data[place] != 0xFF:
            raise UncutPhotoError("the JPEG file is damaged")


def _orientation(tiff: bytes) -> int:
    """Return EXIF tag 0x0112 of the first directory, 1 where it is not there or cannot be read."""
    try:
        end = {b"II": "<", b"MM": ">"}[tiff[:2]]
        (first,) = struct.unpack(end + "I", tiff[4:8])
        (count,) = struct.unpack(end + "H", tiff[first : first + 2])
        for number in range(count):
            at = first + 2 + 12 * number
            tag, kind = struct.unpack(end + "HH", tiff[at : at + 4])
            if tag == 0x0112 and kind == 3:
                (value,) = struct.unpack(end + "H", tiff[at + 8 : at + 10])
                return value if 1 <= value <= 8 else 1
    except (KeyError, struct.error):
        return 1
    return 1


def _exif(turned: int) -> bytes:
    return b"MM\x00*\x00\x00\x00\x08" + struct.pack(">HHHIHHI", 1, 0x0112, 3, 1, turned, 0, 0)


def _turned_only(turned: int) -> bytes:
    body = b"Exif\x00\x00" + _exif(turned)
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body


def _png(data: bytes) -> bytes:
    kept, place, turned = [_PNG], 8, 1
    while True:
        if place + 12 > len(data):
            raise UncutPhotoError("the PNG file is damaged")
        (length,) = struct.unpack(">I", data[place : place + 4])
        name = data[place + 4 : place + 8]
        if place + 12 + length > len(data):
            raise UncutPhotoError("the PNG file is damaged")
        if name == b"eXIf":
            turned = _orientation(data[place + 8 : place + 8 + length])
        if name in _PNG_KEPT:
            kept.append(data[place : place + 12 + length])
        place += 12 + length
        if name == b"IEND":
            break
    if turned != 1:
        body = b"eXIf" + _exif(turned)
        kept.insert(2, struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body)))
    return b"".join(kept)
