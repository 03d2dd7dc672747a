"""What a keeper chooses about a still."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal, get_args

from littoral.errors import LittoralError

Kind = Literal["pair", "days", "twin", "chart"]
Size = Literal["landscape", "square", "portrait"]
PaperName = Literal["dark", "light"]
StillLook = Literal["even", "original"]
FileKind = Literal["png", "jpeg"]

SIZES: Mapping[str, tuple[int, int]] = {"landscape": (1920, 1080), "square": (1080, 1080), "portrait": (1080, 1350)}
"""Width and height in pixels at scale 1."""
SUFFIXES: Mapping[str, str] = {"png": ".png", "jpeg": ".jpg"}
MOST_DAYS = 12
MOST_ARROWS = 12
LONGEST_WORDS = 80


class StillOptionError(LittoralError):
    """An option of a still that there is not; the message names those that there are."""


@dataclass(frozen=True, slots=True)
class Arrow:
    """An arrow in a tank's picture: where it points, as shares (0 to 1) of its width and height, and words."""

    tank: str
    across: float
    down: float
    words: str


@dataclass(frozen=True, slots=True)
class StillOptions:
    """How a still is made.

    "pair": the first and the last of `days` (else of the trial) in each tank; "days": several; "twin": one day, with
    the stands named by arrows where `labels`, and a scale bar where the tank's width is known; "chart": the chart
    `chart` (a key of `publish.charts`). `scale` 2 doubles the pixels. `look` as in a film.
    """

    kind: Kind = "twin"
    size: Size = "landscape"
    scale: int = 1
    paper: PaperName = "dark"
    look: StillLook = "even"
    file: FileKind = "png"
    days: tuple[float, ...] = ()
    labels: bool = True
    arrows: tuple[Arrow, ...] = ()
    chart: str = ""

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height in pixels."""
        width, height = SIZES[self.size]
        return width * self.scale, height * self.scale

    def as_json(self) -> dict[str, Any]:
        """Return the options as plain data, which `still_options` reads again."""
        return asdict(self)


def still_options(written: Mapping[str, Any]) -> StillOptions:
    """Read options from plain data; what is left out keeps its default. StillOptionError names what is wrong."""
    known = StillOptions().as_json()
    unknown = set(written) - set(known)
    if unknown:
        raise StillOptionError(f"A still has no option {', '.join(sorted(unknown))}; it has {', '.join(known)}.")
    values = known | dict(written)
    choices = {"kind": Kind, "size": Size, "paper": PaperName, "look": StillLook, "file": FileKind}
    for name, kind in choices.items():
        if values[name] not in get_args(kind):
            raise StillOptionError(f"{name} is {values[name]!r}; it can be {', '.join(get_args(kind))}.")
    if values["scale"] not in (1, 2) or isinstance(values["scale"], bool):
        raise StillOptionError(f"scale is {values['scale']!r}; it is 1 or 2.")
    if not isinstance(values["labels"], bool):
        raise StillOptionError(f"labels is {values['labels']!r}; it is true or false.")
    if not isinstance(values["chart"], str):
        raise StillOptionError(f"chart is {values['chart']!r}; name a chart.")
    return StillOptions(**(values | {"days": _days(values["days"]), "arrows": _arrows(values["arrows"])}))


def _days(written: object) -> tuple[float, ...]:
    if not isinstance(written, Sequence) or isinstance(written, str) or not all(_number(day) for day in written):
        raise StillOptionError(f"days is {written!r}; list days of the trial, such as 0, 14, 28.")
    if len(written) > MOST_DAYS:
        raise StillOptionError(f"{len(written)} days are named; a still shows at most {MOST_DAYS}.")
    return tuple(sorted({float(day) for day in written}))


def _arrows(written: object) -> tuple[Arrow, ...]:
    right = "An arrow has a tank, across and down (0 to 1, from the upper left corner), and words."
    if not isinstance(written, Sequence) or isinstance(written, str):
        raise StillOptionError(f"arrows is {written!r}. {right}")
    if len(written) > MOST_ARROWS:
        raise StillOptionError(f"{len(written)} arrows are drawn; a still has room for {MOST_ARROWS}.")
    found = []
    for one in written:
        values = asdict(one) if isinstance(one, Arrow) else one
        if not isinstance(values, Mapping) or set(values) != {"tank", "across", "down", "words"}:
            raise StillOptionError(f"An arrow is {one!r}. {right}")
        across, down, words = values["across"], values["down"], values["words"]
        if not (_number(across) and _number(down) and 0 <= across <= 1 and 0 <= down <= 1):
            raise StillOptionError(f"An arrow points at {across!r}, {down!r}. {right}")
        if not isinstance(words, str) or not isinstance(values["tank"], str) or len(words) > LONGEST_WORDS:
            raise StillOptionError(f"An arrow says {words!r}. {right} The words have at most {LONGEST_WORDS} letters.")
        found.append(Arrow(values["tank"], float(across), float(down), words))
    return tuple(found)


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
