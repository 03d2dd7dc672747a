"""What measuring a logbook's photos gives: one record a photo, the refused ones included."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from littoral.imaging.results import RegionMeasure


@dataclass(frozen=True, slots=True)
class MeasuredPhoto:
    """One photo of the trial. `day` is float days since day 0, `prepared` the corrected and aligned picture.

    A photo that could not be read or brought to its view has `excluded` (why, in a sentence) and no regions, and, where
    it could not even be decoded, no `prepared`. `colour_residual` is the RMS ΔE00 left on the references,
    `align_residual_px` what is left on the frame; None where nothing could be checked. `clarity` is the fine contrast
    of stable places over that of the first photos.
    """

    entry_id: str
    sha256: str
    view: str
    day: float
    prepared: Path | None
    colour_residual: float | None
    align_residual_px: float | None
    correction: str
    flags: tuple[str, ...]
    regions: tuple[RegionMeasure, ...]
    excluded: str = ""
    clarity: float | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """All photos of a trial by view and day, and the version of the method that measured them."""

    photos: tuple[MeasuredPhoto, ...]
    method: str

    def as_json(self) -> Mapping[str, Any]:
        """Return the measures as plain data for JSON: paths as text, units as in `MeasuredPhoto`."""
        photos = []
        for photo in self.photos:
            plain = asdict(photo)
            plain["prepared"] = None if photo.prepared is None else str(photo.prepared)
            photos.append(plain)
        return {"method": self.method, "photos": photos}
