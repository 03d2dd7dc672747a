"""Writing a picture to be published: sRGB with its profile, its words inside and beside it, and nothing of the camera.

The picture is encoded anew from its pixels alone, so no place, serial number or name of the photo's file is in it.
"""

from __future__ import annotations

import io
import json
import unicodedata
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from PIL import Image, ImageCms, PngImagePlugin

from littoral.logbook.whole_files import write_whole

QUALITY = 93
IMAGE_DESCRIPTION = 0x010E
"""The EXIF tag of a picture's description (CIPA DC-008, table 4)."""
MADE = slice(24, 36)
"""Where an ICC profile says when it was made (ICC.1:2022, table 18): set to one date, so that files are alike."""
ONE_DATE = bytes((7, 208, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0))
"""2000-01-01 00:00:00, as six big-endian numbers of 16 bit."""
PER_INCH_AT_1 = 96


@cache
def srgb_profile() -> bytes:
    """Return the ICC profile of sRGB, the same bytes each time."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[MADE] = ONE_DATE
    return bytes(profile)


def picture_bytes(picture: Image.Image, *, alt: str, file: str, scale: int = 1) -> bytes:
    """Return a picture (RGB) as a PNG or JPEG file with sRGB's profile and `alt` as its description."""
    buffer = io.BytesIO()
    clean = Image.frombytes("RGB", picture.size, picture.convert("RGB").tobytes())  # no metadata comes along
    density = (PER_INCH_AT_1 * scale, PER_INCH_AT_1 * scale)
    if file == "jpeg":
        exif = Image.Exif()
        exif[IMAGE_DESCRIPTION] = _ascii(alt)
        clean.save(
            buffer, "JPEG", quality=QUALITY, subsampling=0, optimize=True, dpi=density,
            icc_profile=srgb_profile(), exif=exif.tobytes(), xmp=_xmp(alt),
        )  # fmt: skip
    else:
        text = PngImagePlugin.PngInfo()
        text.add_itxt("Description", alt)
        text.add_itxt("XML:com.adobe.xmp", _xmp(alt).decode())
        clean.save(buffer, "PNG", dpi=density, icc_profile=srgb_profile(), pnginfo=text)
    return buffer.getvalue()


def write_picture(
    path: Path, picture: Image.Image, *, alt: str, file: str, scale: int = 1, more: Mapping[str, Any] | None = None
) -> tuple[Path, Path, Path]:
    """Write a picture, its words as .txt and, with `more`, as .json beside it; return the three. UnwrittenFileError."""
    write_whole(path, picture_bytes(picture, alt=alt, file=file, scale=scale))
    words, data = path.with_suffix(".txt"), path.with_suffix(".json")
    write_whole(words, f"{alt}\n".encode())
    told = {"file": path.name, "alt": alt, "width_px": picture.width, "height_px": picture.height, **(more or {})}
    write_whole(data, (json.dumps(told, ensure_ascii=False, indent=2) + "\n").encode())
    return path, words, data


def _ascii(text: str) -> str:
    """Return a text in the letters that EXIF has: accents taken off, other signs replaced by what they stand for."""
    plain = text.replace("\u2212", "-").replace("–", "-").replace("“", '"').replace("”", '"').replace("’", "'")
    return unicodedata.normalize("NFKD", plain).encode("ascii", "ignore").decode()


def _xmp(alt: str) -> bytes:
    """Return the words as XMP: Dublin Core's description, and IPTC's alternative text (IPTC Photo Metadata 2021.1)."""
    words = f'<rdf:Alt><rdf:li xml:lang="x-default">{escape(alt)}</rdf:li></rdf:Alt>'
    return (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"'
        ' xmlns:Iptc4xmpCore="http://iptc.org/std/Iptc4xmpCore/1.0/xmlns/">'
        f"<dc:description>{words}</dc:description>"
        f"<Iptc4xmpCore:AltTextAccessibility>{words}</Iptc4xmpCore:AltTextAccessibility>"
        '</rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="r"?>'
    ).encode()
