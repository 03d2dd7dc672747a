"""What a person needs to frame the next photo like the last: the views of a trial, and the last photo of each."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from littoral.errors import extras_needed
from littoral.logbook.book import Logbook
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial

OVERLAY_WIDTH_PX = 1280
QUALITY = 82


@dataclass(frozen=True, slots=True)
class Frame:
    """One view to be photographed: its tanks' short names, and its last photo (`last` None without one).

    `last` is the photo's entry id, `last_at` when it was taken (UTC); `width`:`height` is the shape of the frame.
    """

    view: str
    name: str
    tanks: tuple[str, ...]
    width: int
    height: int
    camera_locked: bool
    last: str | None
    last_at: datetime | None


def frames(folder: Path, trial_key: str) -> tuple[Trial, tuple[Frame, ...]]:
    """Return a trial and its views in the order of the trial file. NoLogbookError, NoTrialError."""
    with Logbook.open(folder) as book:
        trial = book.trial(trial_key)
        last = _last(book.entries(trial_key))
    return trial, tuple(
        Frame(
            view=view.key,
            name=view.name,
            tanks=tuple(dict.fromkeys(pane.tank for pane in view.panes)),
            width=view.frame_px[0],
            height=view.frame_px[1],
            camera_locked=view.camera_locked,
            last=last[view.key].id if view.key in last else None,
            last_at=last[view.key].at if view.key in last else None,
        )
        for view in trial.views.values()
    )


@extras_needed()
def overlay(folder: Path, trial_key: str, view: str) -> bytes | None:
    """Return the last photo of a view as a JPEG about 1280 px wide, upright; None without one.

    NoLogbookError, NoTrialError, NoOriginalError, and the classes of `imaging.photo_errors` for a photo that rotted.
    """
    from PIL import Image

    from littoral.imaging.decode import decode_photo

    with Logbook.open(folder) as book:
        entry = _last(book.entries(trial_key)).get(view)
        if entry is None:
            return None
        assert isinstance(entry.payload, Photo)
        data = book.original(entry.payload.sha256).read_bytes()
    file = io.BytesIO()
    Image.fromarray(decode_photo(data, width_px=OVERLAY_WIDTH_PX).image).save(file, "JPEG", quality=QUALITY)
    return file.getvalue()


def _last(entries: tuple[Entry, ...]) -> dict[str, Entry]:
    """Return the last photo of each view; entries come by time."""
    return {entry.payload.view: entry for entry in entries if isinstance(entry.payload, Photo)}
