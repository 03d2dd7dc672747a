"""What a keeper chooses about a film."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal, get_args

from littoral.errors import LittoralError

Format = Literal["landscape", "portrait", "square"]
Gaps = Literal["held", "cross-faded"]
FilmLook = Literal["even", "original"]
Codec = Literal["h264", "vp9", "av1", "webp"]

SIZES: Mapping[str, tuple[int, int]] = {"landscape": (1920, 1080), "portrait": (1080, 1920), "square": (1080, 1080)}
"""Width and height in pixels at the full size, whose shorter side is FULL_PX."""
FULL_PX = 1080
SMALLEST_PX = 180
SUFFIXES: Mapping[str, str] = {"h264": ".mp4", "vp9": ".webm", "av1": ".mp4", "webp": ".webp"}
NO_CHART = "none"
LEAST_SECONDS, MOST_SECONDS = 3.0, 1800.0


class FilmOptionError(LittoralError):
    """An option of a film that there is not; the message names those that there are."""


@dataclass(frozen=True, slots=True)
class FilmOptions:
    """How a film is made. `height_px` is the shorter side, `seconds` the whole length (None: as the days ask for).

    `gaps` says what stands where a day has no photo; it is marked either way. `look` "original" shows photos as they
    left the camera, neither aligned nor evened. `zoom` and `chart` are the key of a stand or region: shown enlarged
    beside each tank, and drawn as a line under them ("" chooses the chart by the first question, "none" leaves it out).
    """

    format: Format = "landscape"
    gaps: Gaps = "held"
    look: FilmLook = "even"
    codec: Codec = "h264"
    zoom: str = ""
    chart: str = ""
    captions: bool = True
    cards: bool = True
    seconds: float | None = None
    height_px: int = FULL_PX

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels, both even, as encoders ask for."""
        width, height = SIZES[self.format]
        return _even(width * self.height_px / FULL_PX), _even(height * self.height_px / FULL_PX)

    def as_json(self) -> dict[str, Any]:
        """Return the options as plain data, which `film_options` reads again."""
        return asdict(self)


def _even(pixels: float) -> int:
    return 2 * round(pixels / 2)


def film_options(written: Mapping[str, Any]) -> FilmOptions:
    """Read options from plain data; what is left out keeps its default. FilmOptionError names what is wrong."""
    known = FilmOptions()
    unknown = set(written) - set(known.as_json())
    if unknown:
        there = ", ".join(known.as_json())
        raise FilmOptionError(f"A film has no option {', '.join(sorted(unknown))}; it has {there}.")
    values = known.as_json() | dict(written)
    for name, kind in (("format", Format), ("gaps", Gaps), ("look", FilmLook), ("codec", Codec)):
        if values[name] not in get_args(kind):
            raise FilmOptionError(f"{name} is {values[name]!r}; it can be {', '.join(get_args(kind))}.")
    for name in ("zoom", "chart"):
        if not isinstance(values[name], str):
            raise FilmOptionError(f"{name} is {values[name]!r}; name a stand or region of the trial file.")
    for name in ("captions", "cards"):
        if not isinstance(values[name], bool):
            raise FilmOptionError(f"{name} is {values[name]!r}; it is true or false.")
    seconds = values["seconds"]
    if seconds is not None and not (_number(seconds) and LEAST_SECONDS <= seconds <= MOST_SECONDS):
        raise FilmOptionError(
            f"seconds is {seconds!r}; a film lasts {LEAST_SECONDS:g} to {MOST_SECONDS:g}, or leave it out."
        )
    height = values["height_px"]
    if not (_number(height) and height == int(height) and SMALLEST_PX <= height <= 2 * FULL_PX):
        raise FilmOptionError(f"height_px is {height!r}; the shorter side has {SMALLEST_PX} to {2 * FULL_PX} pixels.")
    return FilmOptions(**(values | {"height_px": int(height)}))


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
