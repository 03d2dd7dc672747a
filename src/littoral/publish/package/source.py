"""A package's files as they lie in a zip or a folder: hostile until proven otherwise.

Only what datapackage.json lists is read, never more bytes than it says, and each file's SHA-256 is compared. Nothing is
unpacked: no name of the package ever becomes a path on the disk.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import stat
import zipfile
import zlib
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from littoral.errors import LittoralError
from littoral.publish.package.descriptor import DESCRIPTOR
from littoral.publish.package.packed import FORMAT

MAX_FILES = 20_000
"""Files in one package: a photo a day of ten tanks for five years."""
MAX_DESCRIPTOR_BYTES = 20_000_000
MAX_TEXT_BYTES = 100_000_000
"""One table or text of a package, unpacked."""
MAX_TEXTS_BYTES = 300_000_000
"""All tables and texts of a package together, unpacked."""
MAX_PHOTO_BYTES = 100_000_000
PHOTOS = "photos/"
_PATH = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*(?:[./][A-Za-z0-9_-]+)*")
_HASH = re.compile(r"sha256:([0-9a-f]{64})")
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, KeyError)


class NoPackageError(LittoralError):
    """What was named is no data package of Littoral's."""

    def __init__(self, where: str, why: str) -> None:
        self.where, self.why = where, why
        right = "Name one that `littoral package LOGBOOK --to FILE.zip` wrote."
        super().__init__(f"{where} is no data package of Littoral's: {why}. {right}")


class DamagedPackageError(LittoralError):
    """A data package is not whole, or is made to do harm; nothing was changed."""

    def __init__(self, where: str, why: str) -> None:
        self.where, self.why = where, why
        super().__init__(f"{where} is damaged: {why}. Nothing was changed; ask for the package again.")


@dataclass(frozen=True, slots=True)
class Listed:
    """A file as datapackage.json lists it."""

    path: str
    sha256: str
    size_bytes: int


class PackageSource:
    """The files of one package; `where` names it in messages. A context manager."""

    def __init__(self, package: Path | bytes, *, where: str = "") -> None:
        """Open it; NoPackageError or DamagedPackageError where it is none, or not to be trusted."""
        self.where = where or (str(package) if isinstance(package, Path) else "the package")
        self._zip: zipfile.ZipFile | None = None
        self._folder: Path | None = None
        if isinstance(package, Path) and package.is_dir():
            self._folder = package.resolve()
        else:
            self._zip = self._opened(package)
        try:
            self.descriptor, self.files = self._described()
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> PackageSource:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        if self._zip is not None:
            self._zip.close()

    def read(self, path: str) -> bytes:
        """Return a listed file, compared with its hash; DamagedPackageError."""
        listed = self.files.get(path)
        if listed is None:
            raise DamagedPackageError(self.where, f"{DESCRIPTOR} does not list {path}")
        data = self._bytes(path, listed.size_bytes)
        if len(data) != listed.size_bytes or hashlib.sha256(data).hexdigest() != listed.sha256:
            raise DamagedPackageError(self.where, f"{path} has not the hash that {DESCRIPTOR} gives")
        return data

    def _opened(self, package: Path | bytes) -> zipfile.ZipFile:
        try:
            archive = zipfile.ZipFile(io.BytesIO(package) if isinstance(package, bytes) else package)
        except OSError as error:
            raise NoPackageError(self.where, f"it cannot be read ({error.strerror or error})") from None
        except _BROKEN:
            raise NoPackageError(self.where, "it is no zip file") from None
        try:
            self._check_names(archive)
        except BaseException:
            archive.close()
            raise
        return archive

    def _check_names(self, archive: zipfile.ZipFile) -> None:
        names = [info.filename for info in archive.infolist()]
        if len(names) > MAX_FILES:
            raise DamagedPackageError(self.where, f"it holds {len(names):,} files, more than {MAX_FILES:,}")
        if len(set(names)) < len(names):
            raise DamagedPackageError(self.where, "it holds two files of one name")
        for info in archive.infolist():
            parts = info.filename.split("/")
            if info.filename.startswith("/") or ".." in parts or "\\" in info.orig_filename or ":" in info.filename:
                raise DamagedPackageError(self.where, f"it names {info.filename[:80]!r}, a path outside itself")
            if stat.S_ISLNK(info.external_attr >> 16):
                raise DamagedPackageError(self.where, f"{info.filename[:80]!r} is a link")
            if info.flag_bits & 1:
                raise DamagedPackageError(self.where, f"{info.filename[:80]!r} is encrypted")

    def _bytes(self, path: str, most: int) -> bytes:
        """Return at most one byte more than a file may have, whatever its header says."""
        try:
            if self._zip is not None:
                with closing(self._zip.open(path)) as stream:
                    return stream.read(most + 1)
            assert self._folder is not None
            file = self._folder / path
            if file.resolve() != file or not file.is_file():
                raise DamagedPackageError(self.where, f"{path} is missing, or a link")
            with file.open("rb") as stream:
                return stream.read(most + 1)
        except KeyError:
            raise DamagedPackageError(self.where, f"{path} is missing") from None
        except OSError as error:
            raise DamagedPackageError(self.where, f"{path} cannot be read ({error.strerror or error})") from None
        except _BROKEN as error:
            raise DamagedPackageError(self.where, f"{path} cannot be unpacked ({error})") from None

    def _described(self) -> tuple[Mapping[str, Any], Mapping[str, Listed]]:
        try:
            data = self._bytes(DESCRIPTOR, MAX_DESCRIPTOR_BYTES)
        except DamagedPackageError as error:
            raise NoPackageError(self.where, f"it has no {DESCRIPTOR} ({error.why})") from None
        try:
            said = json.loads(data[: MAX_DESCRIPTOR_BYTES + 1])
            ours = said.get("littoral")
        except (ValueError, RecursionError, AttributeError):
            raise DamagedPackageError(self.where, f"its {DESCRIPTOR} cannot be read") from None
        if not isinstance(ours, dict):
            raise NoPackageError(self.where, "it is a data package of something else")
        if ours.get("format") != FORMAT:
            what = f"its format is {str(ours.get('format'))[:40]!r}, where {FORMAT!r} is read"
            raise NoPackageError(self.where, what)
        return said, self._listed(said)

    def _listed(self, said: Mapping[str, Any]) -> Mapping[str, Listed]:
        found: dict[str, Listed] = {}
        texts = 0
        for resource in said.get("resources") or ():
            try:
                path, size = str(resource["path"]), int(resource["bytes"])
                sha256 = _HASH.fullmatch(str(resource["hash"]))
            except (KeyError, TypeError, ValueError):
                raise DamagedPackageError(
                    self.where, f"{DESCRIPTOR} lists a file without path, bytes or hash"
                ) from None
            if not _PATH.fullmatch(path) or path in found:
                raise DamagedPackageError(self.where, f"{DESCRIPTOR} lists {path[:80]!r}, which cannot be a file of it")
            limit = MAX_PHOTO_BYTES if path.startswith(PHOTOS) else MAX_TEXT_BYTES
            texts += 0 if path.startswith(PHOTOS) else max(0, size)
            if sha256 is None or not 0 <= size <= limit or texts > MAX_TEXTS_BYTES:
                raise DamagedPackageError(self.where, f"{path} would have {size:,} bytes, more than are read")
            found[path] = Listed(path, sha256[1], size)
        if len(found) > MAX_FILES:
            raise DamagedPackageError(self.where, f"it lists more than {MAX_FILES:,} files")
        return found
