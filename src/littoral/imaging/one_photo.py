"""Both passes over one photo: the same functions whoever works on it, this process or another machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.frames import FrameLayout
from littoral.imaging.greening import Clean
from littoral.imaging.passes import Counts, Raw, Rules, measure_region, survey
from littoral.imaging.prepare import Reference, prepare_photo
from littoral.imaging.regions import ViewShape
from littoral.imaging.results import Prepared

Image = NDArray[np.uint8]


def first_pass(
    data: bytes, view: ViewShape, reference: Reference, clean: Mapping[int, Clean]
) -> tuple[Prepared, Counts]:
    """Return a photo (its file's bytes) brought to its view, and its histograms. Raises the classes of PhotoError."""
    prepared = prepare_photo(data, view, reference)
    return prepared, survey(prepared.image, reference.layout, clean)


def second_pass(image: Image, layout: FrameLayout, rules: Rules, *, marks: bool) -> tuple[list[Raw], Image | None]:
    """Return what is measured of each region of a prepared photo, sRGB uint8 (height, width, 3).

    With `marks` also which pixels were counted: uint8 (height, width), the region's place + 1, else 0.
    """
    marked = np.zeros(image.shape[:2], dtype=np.uint8) if marks else None
    rows = [measure_region(image, at, region, rules, marked=marked) for at, region in enumerate(layout.regions)]
    return rows, marked


class Hands(Protocol):
    """Others who work on photos ahead, and keep what they find where `imaging.kept` looks for it.

    Both give the places they are done with, in any order; a place they leave out is worked on by whoever asked.
    """

    def first(self, places: Sequence[int], start: bytes) -> Iterator[int]:
        """Work pass one on photos; `start` is what all are brought to, by `kept.start_to_bytes`."""

    def second(self, places: Sequence[int], start: bytes, rules: Rules, name: str) -> Iterator[int]:
        """Work pass two on photos under these rules, by `kept.rules_name` called `name`."""
