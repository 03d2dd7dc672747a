"""Write the open data package of a trial: everything needed to check or to pool it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.findings.answers import answer
from littoral.findings.levels import levels_of
from littoral.findings.measured import Measured
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.logbook.originals import sha256_of
from littoral.logbook.refused import NoOriginalError
from littoral.progress import Progress
from littoral.publish.findings_json import findings_text
from littoral.publish.package.anonymous import anonymised
from littoral.publish.package.descriptor import trial_id_of
from littoral.publish.package.files import PackageWriter, package_at
from littoral.publish.package.packed import LICENCES, PHOTO_MODES, About, PackedTrial, PhotoMode
from littoral.publish.package.pictures import UncutPhotoError, stripped
from littoral.publish.package.write import write_package
from littoral.tank.events import BalanceError
from littoral.trial.entries import Photo


@dataclass(frozen=True, slots=True)
class Packaged:
    """A package that was written: what is in it, and photos that were left out (why, by file)."""

    path: Path
    identity: str
    trial: str
    entries: int
    photos: int
    pictures: int
    anonymous: bool
    left_out: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return asdict(self) | {"path": str(self.path)}


def about_of(
    licence: str, *, version: str = "1.0.0", author: str = "", institution: str = "", country: str = "", site: str = ""
) -> About:
    """Return what is said of a package; FaultsError for a licence that is not known, or an empty version."""
    known = {name.casefold(): name for name in LICENCES}
    name = known.get(licence.strip().casefold())
    faults = []
    if name is None:
        right = f"Choose one: {', '.join(LICENCES)}. CC0-1.0 gives all rights up, CC-BY-4.0 asks to be named."
        faults.append(Fault(f'is "{licence[:40]}".' if licence.strip() else "is not given.", right, "licence"))
    if not version.strip():
        faults.append(Fault("is empty.", 'Write a version, such as "1.0.0".', "version"))
    if faults or name is None:
        raise FaultsError(faults)
    return About(name, version.strip(), author.strip(), institution.strip(), country.strip(), site.strip())


@extras_needed()
def package_trial(
    folder: Path,
    trial_key: str | None,
    target: Path,
    *,
    about: About,
    photos: str = "none",
    anonymous: bool = False,
    hide: Sequence[str] = (),
    keep_notes: bool = False,
    now: datetime | None = None,
    progress: Progress | None = None,
) -> Packaged:
    """Write the package of a trial of the logbook at `folder` to `target`, a new .zip file or a new folder.

    `photos` is "none", "measured" (the corrected pictures, which have no metadata) or "originals" (with place, time and
    device taken out of the files). An anonymous one has no names, places or dates (`publish.package.anonymous`); of
    `about` only licence and version go into it. `progress` may raise to cancel: nothing is left behind then.

    PackageThereError, FaultsError, AnonymityError, UnwrittenFileError, and what `measure_photos` raises.
    """
    mode = next((one for one in PHOTO_MODES if one == photos), None)
    if mode is None:
        raise FaultsError([Fault(f'is "{photos[:40]}".', f"Choose {', '.join(PHOTO_MODES)}.", "photos")])
    with Logbook.open(folder) as book:
        key = chosen_trial(book, trial_key)
        packed, measured = _packed(book, key, progress)
        files = _Pictures(book, mode, progress)
        with package_at(target) as writer:
            packed = files.write(writer, packed)
            if anonymous:
                about = About(about.licence, about.version)
                packed = anonymised(packed, secret=_secret(book, key), hide=hide, keep_notes=keep_notes)
                packed, text = _answered_anew(packed)
            else:
                text = findings_text(packed.trial, answer(book, packed.trial, measured=measured))
            identity = write_package(
                writer, packed, text, about, photos=mode, pictures=files.by_photo(packed), now=now or datetime.now(UTC)
            )
    shown = sum(isinstance(entry.payload, Photo) for entry in packed.entries)
    return Packaged(
        target, identity, packed.trial.key, len(packed.entries), shown, files.count, anonymous, tuple(files.left_out)
    )


def _packed(book: Logbook, key: str, progress: Progress | None) -> tuple[PackedTrial, Measured]:
    trial = book.trial(key)
    measured = measure_photos(book, trial, progress=progress)
    packed = PackedTrial(
        trial=trial,
        texts=book.texts(key),
        entries=book.all_entries(key),
        photos=measured.photos,
        method=measured.method,
        trial_id=trial_id_of(_secret(book, key)),
    )
    with suppress(BalanceError):  # entries contradict the tank: said where levels are asked for
        packed = replace(packed, levels=levels_of(book, trial))
    return packed, measured


def _secret(book: Logbook, key: str) -> str:
    """Return what only this logbook knows of a trial, and always the same: the microsecond that it was written down."""
    return f"{book.first_written(key).isoformat(timespec='microseconds')} {key}"


def _answered_anew(packed: PackedTrial) -> tuple[PackedTrial, str]:
    """Return an anonymous trial's levels and findings, worked out in a logbook made of it: what others will find."""
    from littoral.acts.import_package import elsewhere_of

    with TemporaryDirectory() as place, Logbook.create(Path(place) / "logbook") as book:
        book.take_over(packed.trial, packed.texts, packed.entries, kept={}, elsewhere=elsewhere_of(packed, {}, ""))
        found = answer(book, packed.trial, measured=Measured(packed.photos, packed.method))
        with suppress(BalanceError):
            packed = replace(packed, levels=levels_of(book, packed.trial))
    return packed, findings_text(packed.trial, found)


class _Pictures:
    """The pictures that go into a package."""

    def __init__(self, book: Logbook, mode: PhotoMode, progress: Progress | None) -> None:
        self._book, self._mode, self._progress = book, mode, progress
        self._path: dict[str, str] = {}
        self.left_out: list[str] = []

    @property
    def count(self) -> int:
        return len(set(self._path.values()))

    def by_photo(self, packed: PackedTrial) -> Mapping[str, str]:
        """Return the path of each photo entry's corrected picture; nothing where the photos themselves went in."""
        if self._mode != "measured":
            return {}
        return {photo.entry_id: self._path[photo.sha256] for photo in packed.photos if photo.sha256 in self._path}

    def write(self, writer: PackageWriter, packed: PackedTrial) -> PackedTrial:
        """Write the pictures and return the trial whose photos are those of the package."""
        if self._mode == "measured":
            return self._corrected(writer, packed)
        return self._originals(writer, packed) if self._mode == "originals" else packed

    def _corrected(self, writer: PackageWriter, packed: PackedTrial) -> PackedTrial:
        for number, photo in enumerate(packed.photos):
            self._tell(number, len(packed.photos))
            if photo.prepared is None:
                self.left_out.append(f"{photo.sha256[:12]}…: it could not be brought to its view")
            elif photo.sha256 not in self._path:
                self._add(writer, photo.sha256, stripped(photo.prepared.read_bytes()), ".jpg")
        return packed

    def _originals(self, writer: PackageWriter, packed: PackedTrial) -> PackedTrial:
        """Write the photos without what their files say; entries and measures then name the files as they went in."""
        found: dict[str, str] = {}
        own = {entry.payload.sha256: None for entry in packed.entries if isinstance(entry.payload, Photo)}
        for number, sha256 in enumerate(own):
            self._tell(number, len(own))
            try:
                path = self._book.original(sha256)
                data = stripped(path.read_bytes())
            except (UncutPhotoError, NoOriginalError, FileNotFoundError) as error:
                self.left_out.append(f"{sha256[:12]}…: {error}")
                continue
            found[sha256] = self._add(writer, sha256_of(data), data, path.suffix)
        entries = [
            replace(entry, payload=replace(entry.payload, sha256=found.get(entry.payload.sha256, entry.payload.sha256)))
            if isinstance(entry.payload, Photo)
            else entry
            for entry in packed.entries
        ]
        photos = [replace(photo, sha256=found.get(photo.sha256, photo.sha256)) for photo in packed.photos]
        return replace(packed, entries=tuple(entries), photos=tuple(photos))

    def _add(self, writer: PackageWriter, sha256: str, data: bytes, suffix: str) -> str:
        if sha256 not in self._path:
            self._path[sha256] = f"photos/{sha256}{suffix}"
            writer.add(self._path[sha256], data)
        return sha256

    def _tell(self, number: int, total: int) -> None:
        if self._progress is not None:
            self._progress(number, total, "packing photos")
