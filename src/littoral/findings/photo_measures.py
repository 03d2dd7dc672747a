"""What can be read off a photo, by the fields that measuring fills: whatever field there is becomes a series."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields

from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.speech.say import later


@dataclass(frozen=True, slots=True)
class PhotoMeasure:
    """One thing that photos give over days. `key` is what a person types, `field` its name in the measures.

    Values are shown `times` what is stored, in `unit`. `of_photo` says that it belongs to whole photos instead of
    regions, `size` that it is of a size, which cannot double and halve again between photos; `error` names the field
    that holds its standard error ("" where a photo states none). A `residual` is itself what is left of an error.
    """

    key: str
    field: str
    name: str
    unit: str
    times: float = 1.0
    from_zero: bool = True
    of_photo: bool = False
    size: bool = False
    error: str = ""
    residual: bool = False


SHARE = later("% of the region")
OF_FIRST = later("% of the first photos")
KNOWN = (
    PhotoMeasure("height", "height_cm", later("canopy height"), "cm", size=True),
    PhotoMeasure("height-px", "height_px", later("canopy height"), "px", size=True),
    PhotoMeasure("width", "width_cm", later("width"), "cm", size=True),
    PhotoMeasure("cover", "cover", later("cover"), SHARE, times=100, size=True),
    PhotoMeasure("redness", "a", later("redness a*"), "a*", from_zero=False, error="colour_error"),
    PhotoMeasure("yellowness", "b", later("yellowness b*"), "b*", from_zero=False, error="colour_error"),
    PhotoMeasure("lightness", "lightness", later("lightness L*"), "L*", from_zero=False, error="colour_error"),
    PhotoMeasure("chroma", "chroma", later("chroma C*"), "C*", from_zero=False, error="colour_error"),
    PhotoMeasure("colour-change", "change", later("colour against the first days"), "ΔE00"),
    PhotoMeasure("yellowed", "yellowed", later("yellowed leaves (coarse)"), later("% of the plant"), times=100),
    PhotoMeasure("holes", "holes", later("holes (coarse)"), later("% of its outline"), times=100),
    PhotoMeasure("algae", "algae", later("algae"), SHARE, times=100),
    PhotoMeasure("film", "film", later("algae film"), SHARE, times=100),
    PhotoMeasure("spots", "spots", later("algae spots"), SHARE, times=100),
    PhotoMeasure(
        "clarity", "clarity", later("clarity of the water"), later("% of the first photos"), times=100, of_photo=True
    ),
    PhotoMeasure("camera", "colour_residual", later("left of the camera"), "ΔE00", of_photo=True, residual=True),
    PhotoMeasure("framing", "align_residual_px", later("left of the framing"), "px", of_photo=True, residual=True),
)
"""The measures that have words of their own, in the order in which they are offered."""

NO_MEASURE = ("pane", "region", "kind", "flags", "entry_id", "sha256", "view", "day", "prepared", "correction")


def measures_of(measured: Measured) -> tuple[PhotoMeasure, ...]:
    """Return the measures that any photo has a value of; a field without words of its own goes by its name.

    Height in pixels is left out where it is there in cm.
    """
    known = {(one.of_photo, one.field): one for one in KNOWN}
    found: dict[str, PhotoMeasure] = {}
    for of_photo, kind in ((False, RegionMeasure), (True, MeasuredPhoto)):
        for field in fields(kind):
            if field.name in NO_MEASURE or field.name.endswith("_error") or "float" not in str(field.type):
                continue
            name = field.name.replace("_", " ")
            plain = PhotoMeasure(field.name.replace("_", "-"), field.name, name, "", from_zero=False, of_photo=of_photo)
            measure = known.get((of_photo, field.name), plain)
            if any(value is not None for value in _values(measured, measure)):
                found[measure.key] = measure
    if "height" in found:
        found.pop("height-px", None)
    order = {one.key: at for at, one in enumerate(KNOWN)}
    return tuple(sorted(found.values(), key=lambda one: order.get(one.key, len(order))))


def _values(measured: Measured, measure: PhotoMeasure) -> Iterable[float | None]:
    for photo in measured.photos:
        if measure.of_photo:
            yield value_of_field(photo, measure)
        else:
            yield from (value_of_field(region, measure) for region in photo.regions)


def value_of_field(of: RegionMeasure | MeasuredPhoto, measure: PhotoMeasure) -> float | None:
    """Return a measure's value in its unit, or None."""
    value: float | None = getattr(of, measure.field)
    return None if value is None or not math.isfinite(value) else measure.times * value


def error_of_field(of: RegionMeasure | MeasuredPhoto, measure: PhotoMeasure) -> float | None:
    """Return the standard error that a photo states for a measure, in the measure's unit, or None."""
    own = f"{measure.field}_error"
    name = own if hasattr(of, own) else measure.error
    value: float | None = getattr(of, name) if name else None
    return None if value is None or not math.isfinite(value) else measure.times * value


def common_error_of_field(of: RegionMeasure | MeasuredPhoto, measure: PhotoMeasure) -> float:
    """Return the standard error that all photos of a place have in common in a measure, in its unit; 0 if unknown."""
    value: float | None = getattr(of, f"{measure.field}_common_error", None)
    return 0.0 if value is None or not math.isfinite(value) else measure.times * value


def by_key(measured: Measured) -> Mapping[str, PhotoMeasure]:
    """Return `measures_of` by key."""
    return {one.key: one for one in measures_of(measured)}
