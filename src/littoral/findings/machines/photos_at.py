"""Originals that lie elsewhere: a folder, an object store, whatever fsspec reads; each is what its hash says."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from littoral.errors import extras_needed
from littoral.findings.machines.refused import PhotoAwayError


@dataclass(frozen=True, slots=True)
class PhotosAt:
    """A copy of a logbook's folder `originals`: a path, or an address (s3://bucket/originals, memory://originals)."""

    url: str

    def address(self, original: Path) -> str:
        """Return where the copy of an original (`Logbook.original`) lies."""
        return f"{self.url.rstrip('/')}/{original.parent.name}/{original.name}"


@extras_needed()
def fetched(address: str, sha256: str) -> bytes:
    """Return a photo's bytes; PhotoAwayError where it cannot be read or is another one."""
    import fsspec

    try:
        with fsspec.open(address, "rb") as file:
            data: bytes = file.read()
    except ModuleNotFoundError:
        raise
    except (OSError, ImportError, ValueError) as error:
        raise PhotoAwayError(address, str(error) or type(error).__name__) from error
    if hashlib.sha256(data).hexdigest() != sha256:
        raise PhotoAwayError(address, "its content is not what its name says")
    return data
