"""What is kept of a view's photos between two measurings, so that one photo more measures one photo: as plain bytes.

Three things, each of which hangs on less than the whole series: what all photos are brought to (the first photos), what
pass one says of a photo (that, and the photo), what pass two says of it (and the pooled rules).
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable, Sequence
from dataclasses import fields
from typing import Any, Protocol, TypeVar
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.align import AlignReference
from littoral.imaging.frames import lay_out
from littoral.imaging.greening import Clean
from littoral.imaging.measure import Columns
from littoral.imaging.passes import Counts, Raw, Rules
from littoral.imaging.prepare import Reference
from littoral.imaging.regions import ViewShape
from littoral.imaging.results import Prepared
from littoral.imaging.target import Target
from littoral.imaging.taught import TaughtLook

T = TypeVar("T")
NO_IMAGE: NDArray[np.uint8] = np.empty((0, 0, 3), np.uint8)
"""In place of a prepared image that was stored: a slice of it, however small, would keep all of it in memory."""


class Kept(Protocol):
    """Where a caller keeps what was measured before; asked from several threads. None stands for what is not there.

    `start` is what all photos are brought to, of this view and these first photos: as many as `keep_start` says were
    looked at, or all of them, where one photo more could change it. `first` and `second` are of the photo `i`.
    """

    def start(self) -> bytes | None:
        """What all photos are brought to."""

    def keep_start(self, data: bytes, *, tried: int, of_all: bool) -> None:
        """Keep it, with how many photos it was looked for in; `of_all`: in all, and one more could change it."""

    def first(self, i: int) -> bytes | None:
        """What pass one said of a photo, whose prepared image must then be at hand too."""

    def keep_first(self, i: int, data: bytes) -> None:
        """Keep it."""

    def second(self, i: int, rules: str) -> bytes | None:
        """What pass two said of a photo under these rules; what it marked must then be at hand too."""

    def keep_second(self, i: int, rules: str, data: bytes) -> None:
        """Keep it."""


def read_back(read: Callable[[bytes], T], data: bytes | None) -> T | None:
    """Read what was kept; None where there is nothing, or it is broken."""
    try:
        return None if data is None else read(data)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, BadZipFile):
        return None


def start_to_bytes(reference: Reference, clean: dict[int, Clean]) -> bytes:
    """What all photos are brought to, without the photos that it was made of."""
    features, target = reference.features, reference.target
    arrays: dict[str, Any] = {}
    for at, state in clean.items():
        arrays[f"clean {at}"] = state.lab
    for name in ("texture", "points", "corners"):
        arrays[f"features {name}"] = _or_empty(getattr(features, name))
    for name in ("light", "usable", "bumps", "curve", "contrast"):
        arrays[f"target {name}"] = _or_empty(getattr(target, name))
    said = {
        "frame": reference.layout.size_px,
        "features": [features.size_px, features.feature_scale],
        "target": [target.absolute, target.fading, target.mixed],
        "camera_locked": reference.camera_locked,
        "noise": {str(at): state.noise for at, state in clean.items()},
    }
    arrays["said"] = np.frombuffer(json.dumps(said).encode(), dtype=np.uint8)
    file = io.BytesIO()
    np.savez(file, **arrays)
    return file.getvalue()


def start_from_bytes(data: bytes, view: ViewShape) -> tuple[Reference, dict[int, Clean]]:
    """The other way, for the same view."""
    with np.load(io.BytesIO(data), allow_pickle=False) as found:
        arrays: dict[str, Any] = dict(found)
    said = json.loads(arrays["said"].tobytes())
    size_px, scale = said["features"]
    absolute, fading, mixed = said["target"]
    corners, curve = (arrays[name] if arrays[name].size else None for name in ("features corners", "target curve"))
    features = AlignReference(tuple(size_px), scale, arrays["features texture"], arrays["features points"], corners)
    light, usable, bumps, contrast = (arrays[f"target {name}"] for name in ("light", "usable", "bumps", "contrast"))
    target = Target(light, usable, bumps, curve, absolute, contrast, fading, mixed)
    layout = lay_out(view, tuple(said["frame"]))  # a frame's width is never more than its photo's: it stands for it
    clean = {int(at): Clean(arrays[f"clean {at}"], noise) for at, noise in said["noise"].items()}
    return Reference(layout, features, target, said["camera_locked"]), clean


def first_to_bytes(prepared: Prepared, counts: Counts) -> bytes:
    """What pass one says of a photo, without its image."""
    said = {one.name: getattr(prepared, one.name) for one in fields(prepared) if one.name != "image"}
    plain = {str(at): {look: one.tolist() for look, one in looks.items()} for at, looks in counts.items()}
    return json.dumps({"prepared": said, "counts": plain}).encode()


def first_from_bytes(data: bytes) -> tuple[Prepared, Counts]:
    """The other way; the image is empty."""
    found = json.loads(data)
    said = found["prepared"]
    prepared = Prepared(NO_IMAGE, **{**said, "flags": tuple(said["flags"])})
    counts = {
        int(at): {look: np.array(one, dtype=np.int64) for look, one in looks.items()}
        for at, looks in found["counts"].items()
    }
    return prepared, counts


def second_to_bytes(rows: Sequence[Raw]) -> bytes:
    """What pass two says of a photo's regions, in their order."""

    def plain(one: Any) -> Any:
        if isinstance(one, Columns):
            return {"top": one.top.tolist(), "count": one.count.tolist(), "lowest": one.lowest}
        return one.tolist() if isinstance(one, np.ndarray) else one

    return json.dumps([{one.name: plain(getattr(row, one.name)) for one in fields(row)} for row in rows]).encode()


def second_from_bytes(data: bytes) -> list[Raw]:
    """The other way."""
    rows = []
    for said in json.loads(data):
        columns, lab = said["columns"], said["lab"]
        if columns is not None:
            top, count = (np.array(columns[name], dtype=np.int32) for name in ("top", "count"))
            columns = Columns(top, count, columns["lowest"])
        lab = None if lab is None else np.array(lab, dtype=np.float64)
        rows.append(Raw(**{**said, "columns": columns, "lab": lab, "flags": tuple(said["flags"])}))
    return rows


def rules_name(rules: Rules) -> str:
    """A short name of all that pass two takes from the whole series."""
    said = [
        [
            [at, one.look, one.value, one.strong, one.flags, *([] if one.taught is None else [_taught(one.taught)])]
            for at, one in sorted(rules.thresholds.items())
        ],
        sorted(rules.green_from.items()),
    ]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()[:16]


def _taught(look: TaughtLook) -> list[object]:
    """All that a taught look tells pixels by."""
    return [look.weight.tolist(), look.mean.tolist(), look.spread.tolist(), look.offset, look.border]


def _or_empty(array: NDArray[Any] | None) -> NDArray[Any]:
    return np.zeros(0) if array is None else array
