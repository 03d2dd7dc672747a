"""What a worker does with one photo: bytes in, bytes out, and nothing kept there but what all photos share.

The functions are those of one core (`imaging.one_photo`), and what goes back is what `imaging.kept` keeps, so the
result is the same to the last bit. Same versions are made sure of: another OpenCV may round otherwise.
"""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from littoral.findings.machines.photos_at import fetched
from littoral.findings.machines.refused import OtherVersionsError

if TYPE_CHECKING:
    from littoral.imaging.greening import Clean
    from littoral.imaging.passes import Rules
    from littoral.imaging.prepare import Reference


@dataclass(frozen=True, slots=True)
class Shared:
    """What all photos of one pass share: the view's shape (pickled), what they are brought to, and the rules.

    `rules` is None in pass one; `versions` are those of who asks.
    """

    view: bytes
    start: bytes
    versions: str
    rules: Rules | None = None


@dataclass(frozen=True, slots=True)
class PhotoToRead:
    """One photo: its bytes, or else where they are read (`findings.machines.photos_at`)."""

    sha256: str
    data: bytes | None
    address: str = ""


@dataclass(frozen=True, slots=True)
class PassedOne:
    """What `kept.first_to_bytes` says of a photo, and its prepared picture as JPEG."""

    passed: bytes
    jpeg: bytes


@dataclass(frozen=True, slots=True)
class PassedTwo:
    """What `kept.second_to_bytes` says of a photo, and what was counted in it as PNG."""

    regions: bytes
    png: bytes


def versions_here() -> str:
    """Return the versions that numbers hang on."""
    import cv2
    import numpy as np

    from littoral.imaging.method import METHOD_VERSION

    return f"measuring method {METHOD_VERSION}, OpenCV {cv2.__version__}, NumPy {np.__version__}"


def pass_one(photo: PhotoToRead, shared: Shared) -> PassedOne | None:
    """Work pass one on a photo; None for one that is refused: who asks looks at it again and says why.

    Raises OtherVersionsError, PhotoAwayError.
    """
    from littoral.findings.view_series import jpeg_of
    from littoral.imaging.kept import first_to_bytes
    from littoral.imaging.one_photo import first_pass
    from littoral.imaging.photo_errors import PhotoError

    view, reference, clean = _ready(shared)
    data = photo.data if photo.data is not None else fetched(photo.address, photo.sha256)
    try:
        prepared, counts = first_pass(data, view, reference, clean)
    except PhotoError:
        return None
    return PassedOne(first_to_bytes(prepared, counts), jpeg_of(prepared.image))


def pass_two(jpeg: bytes, shared: Shared) -> PassedTwo | None:
    """Work pass two on a prepared picture; None where it cannot be read. Raises OtherVersionsError."""
    from littoral.findings.view_series import image_of, png_of
    from littoral.imaging.kept import second_to_bytes
    from littoral.imaging.one_photo import second_pass

    _, reference, _ = _ready(shared)
    image = image_of(jpeg)
    if image is None:
        return None
    assert shared.rules is not None, "pass two has rules"
    rows, marked = second_pass(image, reference.layout, shared.rules, marks=True)
    assert marked is not None, "marks were asked for"
    return PassedTwo(second_to_bytes(rows), png_of(marked))


def _ready(shared: Shared) -> tuple[Any, Reference, dict[int, Clean]]:
    """Return the view's shape, what its photos are brought to and what is clean; photos are the parallel unit."""
    import cv2

    cv2.setNumThreads(1)
    if (here := versions_here()) != shared.versions:
        raise OtherVersionsError(shared.versions, here)
    return _read(shared.view, shared.start)


@lru_cache(maxsize=4)
def _read(view: bytes, start: bytes) -> tuple[Any, Reference, dict[int, Clean]]:
    from littoral.imaging.kept import start_from_bytes

    shape = pickle.loads(view)
    return shape, *start_from_bytes(start, shape)
