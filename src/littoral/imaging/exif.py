"""What a photo's EXIF says of the shot: when, which way up, by what camera, and whether it holds the place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from PIL import Image


@dataclass(frozen=True, slots=True)
class Said:
    """What a photo's EXIF says; the fields are those of `decode.PhotoHeader`."""

    taken: datetime | None = None
    offset: timedelta | None = None
    orientation: int = 1
    camera: str = ""
    has_place: bool = False


def said_by(exif: Image.Exif) -> Said:
    """Return what is said; raises whatever PIL does on broken metadata."""
    inner = exif.get_ifd(0x8769)
    taken, offset = None, None
    # taken, digitised, changed: each time has its own offset (EXIF 2.31 on), which says nothing about another's
    times = ((inner, 0x9003, 0x9011), (inner, 0x9004, 0x9012), (exif, 0x0132, 0x9010))
    for where, clock_tag, offset_tag in times:
        taken = _moment(where.get(clock_tag))
        if taken is not None:
            offset = _offset(inner.get(offset_tag))
            break
    turned = exif.get(0x0112, 1)
    return Said(
        taken=taken,
        offset=offset,
        orientation=turned if isinstance(turned, int) and 1 <= turned <= 8 else 1,
        camera=_camera(exif),
        has_place=any(tag in exif.get_ifd(0x8825) for tag in (2, 4)),  # GPSLatitude, GPSLongitude
    )


def _camera(exif: Image.Exif) -> str:
    """Return maker and model; many models begin with their maker's name already."""
    maker, model = (
        "".join(sign for sign in str(exif.get(tag, "")) if sign.isprintable()).strip() for tag in (0x010F, 0x0110)
    )
    return (model if model.casefold().startswith(maker.casefold()) else f"{maker} {model}").strip()[:80]


def _moment(text: object) -> datetime | None:
    try:
        return datetime.strptime(str(text).strip("\0 "), "%Y:%m:%d %H:%M:%S")  # naive by design: the camera's own clock
    except ValueError:
        return None


def _offset(text: object) -> timedelta | None:
    try:
        return datetime.strptime(str(text).strip("\0 "), "%z").utcoffset()
    except ValueError:
        return None
