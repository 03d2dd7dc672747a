"""Take a data package back: a trial with all its entries, and with the measures of photos that were left out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from littoral.logbook.book import Logbook
from littoral.logbook.elsewhere import ElsewhereView, drawn_hash
from littoral.logbook.originals import SUFFIXES
from littoral.logbook.space import need_room
from littoral.progress import Progress
from littoral.publish.package.descriptor import DESCRIPTOR
from littoral.publish.package.packed import PackedTrial
from littoral.publish.package.read import read_package
from littoral.publish.package.source import DamagedPackageError, Listed, PackageSource
from littoral.trial.entries import Photo


@dataclass(frozen=True, slots=True)
class ImportedPackage:
    """What importing a package added; all 0 where it was here already."""

    trial: str
    package: str
    new_entries: int
    new_photos: int
    new_texts: int
    views_measured_elsewhere: int
    pictures: int
    photos_left_out: int

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return asdict(self)


def is_package(path: Path) -> bool:
    """Tell whether a path names a data package: a file that ends in .zip, or a folder with a descriptor."""
    return path.suffix.lower() == ".zip" or (path.is_dir() and (path / DESCRIPTOR).is_file())


def import_package(folder: Path, package: Path, *, progress: Progress | None = None) -> ImportedPackage:
    """Take a package (a .zip or a folder) into the logbook at `folder`, which is made if missing: all or nothing.

    Every file is compared with its hash first. The same package twice changes nothing. `progress` may raise to cancel.
    NoPackageError, DamagedPackageError, FaultsError, OtherTrialError where the logbook holds another trial of that key,
    NoRoomError, UnwrittenFileError.
    """
    with PackageSource(package) as source:
        read = read_package(source)
        wanted = [*read.photos.values()]
        for listed in wanted:
            if not listed.path.lower().endswith(SUFFIXES):
                raise DamagedPackageError(source.where, f"{listed.path} is no photo by its name")
        kept: dict[str, tuple[str, int]] = {}
        with Logbook.create(folder, shared=True) as book:
            need_room(book.folder, sum(listed.size_bytes for listed in wanted if not book.has_original(listed.sha256)))
            for number, listed in enumerate(wanted):
                if progress is not None:
                    progress(number, len(wanted), "taking in photos")
                suffix = Path(listed.path).suffix.lower()
                kept[book.keep_bytes(source.read(listed.path), suffix)] = suffix, listed.size_bytes
            packed = read.packed
            done = book.take_over(
                packed.trial,
                packed.texts,
                packed.entries,
                kept=kept,
                elsewhere=elsewhere_of(packed, read.pictures, read.identity),
            )
            shown = {entry.payload.sha256 for entry in packed.in_force() if isinstance(entry.payload, Photo)}
            absent = sum(not book.has_original(sha256) for sha256 in shown)
    photos = sum(isinstance(entry.payload, Photo) for entry in done.entries)
    return ImportedPackage(
        trial=packed.trial.key,
        package=read.identity,
        new_entries=len(done.entries) - photos,
        new_photos=photos,
        new_texts=done.texts,
        views_measured_elsewhere=done.views,
        pictures=len(wanted),
        photos_left_out=absent,
    )


def elsewhere_of(packed: PackedTrial, pictures: Mapping[str, Listed], identity: str) -> tuple[ElsewhereView, ...]:
    """Return the measures of a package as a logbook keeps them, a view at a time; `pictures` by photo entry."""
    found = []
    for key, view in packed.trial.views.items():
        rows = [
            {
                "sha256": photo.sha256,
                "picture": pictures[photo.entry_id].sha256 if photo.entry_id in pictures else None,
                "correction": photo.correction,
                "colour_residual": photo.colour_residual,
                "align_residual_px": photo.align_residual_px,
                "flags": list(photo.flags),
                "regions": [asdict(region) for region in photo.regions],
                "excluded": photo.excluded,
            }
            for photo in packed.photos
            if photo.view == key
        ]
        if rows:
            found.append(ElsewhereView(packed.trial.key, identity, key, drawn_hash(view), packed.method, tuple(rows)))
    return tuple(found)
