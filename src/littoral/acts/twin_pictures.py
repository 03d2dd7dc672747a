"""The pictures of the twin view: cut to a tank once, then kept in the logbook's cache."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path
from typing import TYPE_CHECKING

from littoral.acts.trial_page import Look, TrialPage, TwinPhoto, TwinTank
from littoral.errors import extras_needed
from littoral.logbook.whole_files import write_whole

if TYPE_CHECKING:
    from PIL import Image

VERSION = "1"
"""Raise when the cut or its encoding changes: kept pictures are then made anew."""
WIDTH_PX = 1000
"""Width of a tank's picture: half of a wide screen."""
THUMB_PX = 320
QUALITY = 86


@extras_needed()
def twin_picture(page: TrialPage, *, entry_id: str, tank: str, look: Look) -> Path | None:
    """Return the JPEG of one tank in one photo, made on first asking; None where the trial has no such photo.

    Raises the classes of `imaging.photo_errors` where an original has become unreadable.
    """
    found = page.photo(entry_id, tank)
    if found is None:
        return None
    shown, photo = found
    name = hashlib.sha256("\0".join((VERSION, photo.stamp, shown.key, look)).encode()).hexdigest()[:40]
    path = page.pictures / f"{name}.jpg"
    if not path.exists():
        write_whole(path, _jpeg(_cut(shown, photo, look)))
    return path


def _cut(tank: TwinTank, photo: TwinPhoto, look: Look) -> Image.Image:
    from PIL import Image

    whole = _whole(photo, look)
    left, top, right, bottom = tank.box
    box = (left * whole.width, top * whole.height, right * whole.width, bottom * whole.height)
    width, height = tank.shape_px
    if look == "thumb":
        width, height = THUMB_PX, max(1, round(THUMB_PX * height / width))
    return whole.resize((width, height), Image.Resampling.BICUBIC, box=box, reducing_gap=3.0)


def _whole(photo: TwinPhoto, look: Look) -> Image.Image:
    from PIL import Image

    if photo.prepared is not None and look != "original":
        with Image.open(photo.prepared) as image:
            return image.convert("RGB")
    from littoral.imaging.decode import decode_photo

    return Image.fromarray(decode_photo(photo.original.read_bytes(), width_px=2 * WIDTH_PX).image)


def _jpeg(image: Image.Image) -> bytes:
    file = io.BytesIO()
    image.save(file, "JPEG", quality=QUALITY, optimize=True)
    return file.getvalue()
