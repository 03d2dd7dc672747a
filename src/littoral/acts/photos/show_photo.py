"""One photo of a logbook as a small picture, and whether a content is in it already."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

from littoral.acts.photos.intake import Intake
from littoral.acts.photos.rows import PhotoRow
from littoral.errors import LittoralError, extras_needed
from littoral.logbook.book import Logbook
from littoral.trial.entries import Photo

SMALL_PX = 360
QUALITY = 80


@extras_needed()
def small_photo(folder: Path, trial_key: str, identity: str) -> bytes | None:
    """Return a photo as a JPEG about SMALL_PX wide, upright, with nothing of its metadata; None where there is none.

    The classes of `imaging.photo_errors` for a photo that rotted; what `Logbook` raises.
    """
    from PIL import Image

    from littoral.imaging.decode import decode_photo

    with Logbook.open(folder) as book:
        try:
            entry, _ = book.entry(identity)
        except LittoralError:
            return None
        if not isinstance(entry.payload, Photo) or entry.trial != trial_key:
            return None
        name = f"{entry.payload.sha256}-{SMALL_PX}.jpg"
        try:
            return book.cache_path("small", name).read_bytes()
        except OSError:
            data = book.original(entry.payload.sha256).read_bytes()
        file = io.BytesIO()
        image = Image.fromarray(decode_photo(data, width_px=SMALL_PX).image)
        image.thumbnail((SMALL_PX, SMALL_PX))
        image.save(file, "JPEG", quality=QUALITY)
        if book.read_only is None:
            book.keep_cached("small", name, file.getvalue())
    return file.getvalue()


def known_photo(folder: Path, trial_key: str, sha256: str, *, now: datetime | None = None) -> PhotoRow | None:
    """Return the row of a content that the trial holds, by its SHA-256; None where it does not. NoTrialError."""
    moment = now or datetime.now(UTC)
    with Logbook.open(folder, clock=lambda: moment) as book:
        return Intake(book, book.trial(trial_key), now=moment).known("", sha256)
