"""What lies on disk for a trial: its text, its entries, and the photos of its views, read and checked."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from fnmatch import fnmatch
from pathlib import Path
from zoneinfo import ZoneInfo

from littoral.errors import Fault, LittoralError
from littoral.progress import Progress
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial, View

LARGEST_TEXT = 5_000_000
LARGEST_PHOTO = 100_000_000
PROBE_WIDTH = 160
PHOTO_SUFFIXES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif")
UNREAD_SUFFIXES = (".avif", ".dng", ".raw", ".bmp", ".gif")
"""Pictures all the same, which phones and cameras write: not to be passed over without a word."""


class UnreadableFileError(LittoralError):
    """A file is not there or cannot be read."""

    def __init__(self, file: Path, why: str) -> None:
        self.file, self.why = file, why
        super().__init__(f"{file}: {why}")


@dataclass(frozen=True, slots=True)
class FoundPhoto:
    """A photo on disk that passed: its file, hash, size, and the entry it becomes."""

    path: Path
    suffix: str
    size_bytes: int
    sha256: str
    entry: Entry


def read_small(file: Path) -> bytes:
    """Return the bytes of a text file; UnreadableFileError where it is missing, a folder, or absurdly large."""
    try:
        if file.stat().st_size > LARGEST_TEXT:
            raise UnreadableFileError(
                file, f"is over {LARGEST_TEXT // 1_000_000} MB, which no trial or entries file is."
            )
        return file.read_bytes()
    except OSError as error:
        raise UnreadableFileError(file, f"cannot be read ({error.strerror}). Name a file that is there.") from None


def photos_on_disk(trial: Trial, folder: Path) -> tuple[list[tuple[View, Path]], list[Fault]]:
    """Return (view, file) for every photo of the trial's views, and faults for folders or photos that fit none.

    `folder` is where the trial file lies. A file in several views' folder goes to each view whose `match` fits.
    """
    found: list[tuple[View, Path]] = []
    faults: list[Fault] = []
    claimed: set[Path] = set()
    folders: set[Path] = set()
    for view in trial.views.values():
        place = (folder / view.photos).resolve()
        if not place.is_dir():
            faults.append(
                Fault(f"view {view.key!r} has no folder {view.photos!r}.", "Make it, or mend `photos`.", view.key)
            )
            continue
        try:
            images = _images(place, PHOTO_SUFFIXES)
        except OSError as error:
            right = "Let this user read the folder."
            faults.append(Fault(f"{view.photos!r} cannot be read ({error.strerror}).", right, view.key))
            continue
        folders.add(place)
        for path in images:
            if fnmatch(path.name, view.match):
                found.append((view, path))
                claimed.add(path)
    # A photo that nobody's view takes is a mistake worth hearing of: it would silently be missing from the film.
    own = folder.resolve()
    views = ", ".join(f"{view.key} ({view.photos}/{view.match})" for view in trial.views.values())
    beside = {side for place in folders if place.parent != own for side in _around(place, own)}
    for searched in sorted(folders | beside):
        with suppress(PermissionError):  # a folder beside those of the views need not be ours
            for path in _images(searched, PHOTO_SUFFIXES + UNREAD_SUFFIXES):
                if path.suffix.lower() in UNREAD_SUFFIXES:
                    kind = path.suffix[1:].upper()
                    right = "Export it as JPEG, and move this file out of the folder."
                    faults.append(Fault(f"{kind} is not read yet.", right, _named(path, folder)))
                elif path not in claimed:
                    right = f"The views are: {views}."
                    faults.append(Fault("this photo belongs to no view.", right, _named(path, folder)))
    return found, faults


def read_photos(
    found: Sequence[tuple[View, Path]], trial: Trial, folder: Path, *, now: datetime, progress: Progress | None = None
) -> tuple[list[FoundPhoto], list[Fault]]:
    """Read every photo once: is it whole, when was it taken, what is its hash. Faults name the file."""
    photos: list[FoundPhoto] = []
    faults: list[Fault] = []
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        jobs = pool.map(lambda job: _read_photo(job[0], job[1], trial, folder, now), found)
        for done, result in enumerate(jobs, start=1):
            if isinstance(result, Fault):
                faults.append(result)
            else:
                photos.append(result)
            if progress is not None:
                progress(done, len(found), "reading photos")
    return photos, faults


def _read_photo(view: View, path: Path, trial: Trial, folder: Path, now: datetime) -> FoundPhoto | Fault:
    from littoral.imaging.decode import decode_photo, read_header
    from littoral.imaging.photo_errors import PhotoError
    from littoral.logbook.originals import sha256_of
    from littoral.trial.days import outside_days
    from littoral.trial.identity import photo_id
    from littoral.trial.photo_dates import PhotoDate, date_photo

    where = _named(path, folder)
    try:
        size = path.stat().st_size
        if size > LARGEST_PHOTO:
            return Fault(f"is {size // 1_000_000} MB.", f"A photo may have {LARGEST_PHOTO // 1_000_000} MB.", where)
        data = path.read_bytes()
        header = read_header(data)
        decode_photo(data, width_px=PROBE_WIDTH)  # a reduced decode still finds a file that ends early
    except OSError as error:
        return Fault(f"cannot be read ({error.strerror}).", "Mend the file's rights or copy it again.", where)
    except PhotoError as error:
        return Fault(str(error), "", where)  # its message says what would be right, too
    dated = date_photo(
        path.name, exif_taken=header.exif_taken, exif_offset=header.exif_offset, trial=trial, now=now, where=where
    )
    if not isinstance(dated, PhotoDate):
        return dated
    if outside := outside_days(dated.at, trial):
        taken = dated.at.astimezone(ZoneInfo(trial.zone)).date()
        right = "Move it out of the folder, or correct `start` or `length` in the trial file."
        return Fault(f"is dated {taken}, but {outside}.", right, where)
    sha256 = sha256_of(data)
    entry = Entry(
        id=photo_id(sha256, view.key, trial=trial.key),
        at=dated.at,
        zone=trial.zone,
        tank=view.panes[0].tank if len(view.panes) == 1 else None,
        payload=Photo(sha256=sha256, view=view.key, dated_by=dated.dated_by, file_name=path.name),
        note=dated.note,
        trial=trial.key,
    )
    return FoundPhoto(path, path.suffix.lower(), size, sha256, entry)


def _images(place: Path, suffixes: tuple[str, ...]) -> list[Path]:
    return sorted(path for path in place.iterdir() if path.suffix.lower() in suffixes and path.is_file())


def _around(place: Path, own: Path) -> list[Path]:
    """Return the folder that holds a view's folder, and all in it; nothing outside the trial file's own folder."""
    if own not in place.parents:
        return []
    return [place.parent, *(side for side in place.parent.iterdir() if side.is_dir())]


def _named(path: Path, folder: Path) -> str:
    return os.path.relpath(path, folder)
