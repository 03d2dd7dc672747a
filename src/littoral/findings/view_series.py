"""One view's photos measured as one series, and kept in the logbook's cache.

A view is measured as one series, because its thresholds are pooled over all photos. So the key of its rows is made of
the method, the view as drawn, and the hashes of all its photos. Under it lies what is kept of each photo
(`findings.photo_cache`): of one photo more only that one is measured; with a polygon moved, all are.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from littoral.errors import LittoralError
from littoral.findings.elsewhere import region_of
from littoral.findings.measured import MeasuredPhoto
from littoral.findings.photo_cache import CACHE_FORMAT, PhotoCache
from littoral.findings.taught_looks import Teaching, brushes_of
from littoral.imaging.method import METHOD_VERSION
from littoral.logbook.book import Logbook
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo
from littoral.trial.model import Trial, View

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from littoral.findings.machines.cluster import Cluster
    from littoral.findings.machines.photos_at import PhotosAt
    from littoral.imaging.one_photo import Hands
    from littoral.imaging.regions import ViewShape
    from littoral.imaging.series import MeasuredFrame

JPEG_QUALITY = 95
UNUSABLE = ("the photo is nearly black", "the photo is overexposed")
"""Flags of `imaging` with which a photo tells nothing; it is kept and shown, and left out of every series."""


class CacheReadError(LittoralError):
    """A prepared photo that was just written to the cache could not be read back."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"{path} cannot be read back. Check the disk, or delete the logbook's folder `cache`.")


class ViewSeries:
    """One view's photos by time, and where their measures and prepared pictures lie in the cache.

    `those` says for each photo whether it is told by this drawing of the view, `teaching` what strokes teach them.
    """

    def __init__(
        self,
        book: Logbook,
        trial: Trial,
        view: View,
        entries: Sequence[Entry],
        those: Sequence[bool],
        teaching: Teaching = (),
    ) -> None:
        self._book = book
        self.trial, self.view, self.entries, self._those = trial, view, entries, those
        self.sha256 = [entry.payload.sha256 for entry in entries if isinstance(entry.payload, Photo)]
        drawn = {name: asdict(view)[name] for name in ("frame_px", "panes", "camera_locked")}  # what `shape_of` takes
        self._teaching = teaching
        taught = [[asdict(one) for one in teaching]] if teaching else []  # without strokes the key is as ever
        said = json.dumps([CACHE_FORMAT, METHOD_VERSION, drawn, self.sha256, *taught], sort_keys=True)
        self._file = book.cache_path("measures", f"{hashlib.sha256(said.encode()).hexdigest()[:16]}.json")
        self._photos = PhotoCache(book, drawn, self.sha256)
        self._originals = [book.original(sha256) for sha256 in self.sha256]
        self.cached = self._read()

    @property
    def count(self) -> int:
        """The number of photos."""
        return len(self.entries)

    def measure(
        self,
        report: Callable[[int, str], None],
        *,
        workers: int,
        cluster: Cluster | None = None,
        photos_at: PhotosAt | None = None,
    ) -> None:
        """Measure the series and write it to the cache; see `findings.measuring`."""
        from littoral.imaging.photo_errors import PhotoError
        from littoral.imaging.series import measure_series

        shape = shape_of(self.view)
        read = self._reading(photos_at)
        try:
            frames = measure_series(
                read,
                self.count,
                shape,
                store=lambda i, image: self._photos.keep_prepared(i, jpeg_of(image)),
                load=lambda i: read_image(self._photos.prepared(i)),
                mark=lambda i, marked: self._photos.mark(i, png_of(marked)),
                kept=self._photos,
                strokes=brushes_of(self.view, self.entries, self._teaching),
                hands=None if cluster is None else self._hands(cluster, shape, read, photos_at),
                workers=workers,
                progress=lambda done, _total, what: report(done, f"{what} of the {self.view.name}"),
            )
            rows = [_row(frame, self._photos) for frame in frames]
        except PhotoError as error:  # no photo of this view can be used at all
            rows = [_refused_row(str(error)) for _ in self.entries]
        alignable = sum(row["align_residual_px"] is not None for row in rows) > len(rows) / 2
        for row in rows:
            row["excluded"] = row["excluded"] or _why_unusable(row, alignable=alignable)
        self._book.keep_cached("measures", self._file.name, json.dumps(rows, ensure_ascii=False).encode())
        self.cached = rows

    def _reading(self, photos_at: PhotosAt | None) -> Callable[[int], bytes]:
        if photos_at is None:
            return lambda i: self._originals[i].read_bytes()
        from littoral.findings.machines.photos_at import fetched

        return lambda i: fetched(photos_at.address(self._originals[i]), self.sha256[i])

    def _hands(
        self, cluster: Cluster, shape: ViewShape, read: Callable[[int], bytes], photos_at: PhotosAt | None
    ) -> Hands:
        from littoral.findings.machines.photo_hands import ClusterHands
        from littoral.findings.machines.photo_tasks import PhotoToRead

        def photo(i: int) -> PhotoToRead:
            if photos_at is None:  # a worker may be another computer, to which this one's folders say nothing
                return PhotoToRead(self.sha256[i], read(i))
            return PhotoToRead(self.sha256[i], None, photos_at.address(self._originals[i]))

        return ClusterHands(cluster, self._photos, shape, photo, lambda i: f"photo {self.sha256[i][:12]}")

    def photos(self) -> list[MeasuredPhoto]:
        """Return the measured photos, in order of time."""
        assert self.cached is not None
        return [
            MeasuredPhoto(
                entry_id=entry.id,
                sha256=sha256,
                view=self.view.key,
                day=day_of(entry.at, self.trial),
                prepared=self._book.cache_path("prepared", row["prepared"]) if row["prepared"] else None,
                colour_residual=row["colour_residual"],
                align_residual_px=row["align_residual_px"],
                correction=row["correction"],
                flags=tuple(row["flags"]),
                regions=() if row["excluded"] else tuple(region_of(one) for one in row["regions"]),
                excluded=row["excluded"],
                clarity=row["clarity"],
                counted=self._book.cache_path("counted", row["counted"]) if row["prepared"] else None,
            )
            for entry, sha256, row, mine in zip(self.entries, self.sha256, self.cached, self._those, strict=True)
            if mine
        ]

    def _read(self) -> list[dict[str, Any]] | None:
        """Return the rows in the cache, or None where they, or a prepared picture, are missing or broken."""
        try:
            rows: list[dict[str, Any]] = json.loads(self._file.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        whole = len(rows) == self.count and all(
            self._book.cache_path("prepared", row["prepared"]).exists() for row in rows if row["prepared"]
        )
        return rows if whole else None


def shape_of(view: View) -> ViewShape:
    """Return a view as `imaging` takes it: plain geometry, panes named by their tank."""
    import numpy as np

    from littoral.imaging.regions import PaneShape, RegionShape, ViewShape

    return ViewShape(
        frame_px=view.frame_px,
        camera_locked=view.camera_locked,
        panes=tuple(
            PaneShape(
                key=pane.tank,
                corners_px=None if pane.corners_px is None else np.array(pane.corners_px, dtype=float),
                width_cm=pane.width_cm,
                regions=tuple(
                    RegionShape(
                        key=region.key,
                        kind=region.kind,
                        polygon_px=np.array(region.polygon_px, dtype=float),
                        look=region.look,
                        reflects=region.reflects,
                        chart=region.chart,
                    )
                    for region in pane.regions
                ),
            )
            for pane in view.panes
        ),
    )


def _row(frame: MeasuredFrame, files: PhotoCache) -> dict[str, Any]:
    if frame.refused is not None:
        return _refused_row(str(frame.refused))
    return {
        "prepared": files.prepared(frame.index).name,
        "counted": files.counted(frame.index).name,
        "correction": frame.correction,
        "colour_residual": frame.colour_residual,
        "align_residual_px": frame.align_residual_px,
        "flags": list(frame.flags),
        "regions": [asdict(region) for region in frame.regions],
        "excluded": "",
        "clarity": frame.clarity,
    }


def _refused_row(why: str) -> dict[str, Any]:
    return {
        "prepared": "",
        "correction": "",
        "colour_residual": None,
        "align_residual_px": None,
        "flags": [why],
        "regions": [],
        "excluded": why,
        "clarity": None,
    }


def _why_unusable(row: Mapping[str, Any], *, alignable: bool) -> str:
    """Return why a photo that was read tells nothing: wrongly exposed, or not aligned where most others could be."""
    for flag in row["flags"]:
        if flag in UNUSABLE:
            return str(flag)
    if alignable and row["align_residual_px"] is None:
        return next((str(flag) for flag in row["flags"] if "align" in flag), "it could not be aligned with the others")
    return ""


def jpeg_of(image: NDArray[np.uint8]) -> bytes:
    """Return sRGB uint8 (height, width, 3) as JPEG at full colour resolution."""
    import cv2

    options = [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY]
    options += [cv2.IMWRITE_JPEG_SAMPLING_FACTOR, cv2.IMWRITE_JPEG_SAMPLING_FACTOR_444]
    written, data = cv2.imencode(".jpg", cv2.cvtColor(image, cv2.COLOR_RGB2BGR), options)
    assert written, "a picture of this shape can always be written as JPEG"
    return data.tobytes()


def png_of(marked: NDArray[np.uint8]) -> bytes:
    """Return the places that were counted (height, width; `imaging.series`) as a grey PNG."""
    import cv2

    written, data = cv2.imencode(".png", marked, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    assert written, "a picture of this shape can always be written as PNG"
    return data.tobytes()


def image_of(data: bytes) -> NDArray[np.uint8] | None:
    """Return the bytes of a prepared photo as sRGB uint8 (height, width, 3); None where they are none."""
    import cv2
    import numpy as np

    try:
        image = cv2.imdecode(np.frombuffer(data, dtype=np.uint8), cv2.IMREAD_COLOR)
    except cv2.error:
        return None
    return None if image is None else np.asarray(cv2.cvtColor(image, cv2.COLOR_BGR2RGB), dtype=np.uint8)


def read_image(path: Path) -> NDArray[np.uint8]:
    """Return a prepared photo as sRGB uint8 (height, width, 3); CacheReadError."""
    try:
        image = image_of(path.read_bytes())
    except OSError as error:
        raise CacheReadError(path) from error
    if image is None:
        raise CacheReadError(path)
    return image
