"""What the strokes on one stand say together, before they are kept: whether they can be told apart at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from littoral.findings.taught_looks import StrokesOn, Teaching
from littoral.trial.model import View

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from littoral.imaging.taught import Brush


@dataclass(frozen=True, slots=True)
class Judged:
    """`missing` says what strokes are still needed ("" none), `agree` is the share told apart (None where missing).

    `against` names strokes of which most is told otherwise, by the photo's SHA-256 and their place on it from 1 on.
    """

    missing: str
    agree: float | None
    contradict: bool
    against: tuple[tuple[str, int], ...]


def judged(view: View, day: float, teaching: Teaching, pictures: Mapping[str, NDArray[np.uint8]]) -> Judged:
    """Judge the strokes of one stand by the prepared pictures at hand (by SHA-256; sRGB uint8 (height, width, 3)).

    Strokes on photos without a picture are passed over. The view is taken as drawn on a day.
    """
    from littoral.findings.view_series import shape_of
    from littoral.imaging.frames import lay_out
    from littoral.imaging.segment import surroundings
    from littoral.imaging.taught import Sample, samples_of, teach, too_few

    drawn = replace(view, panes=view.panes_on(day), earlier=())
    samples: list[Sample] = []
    names: list[tuple[str, int]] = []
    counted: dict[str, int] = {}
    for one in teaching:
        image = pictures.get(one.sha256)
        if image is None:
            continue
        layout = lay_out(shape_of(drawn), (image.shape[1], image.shape[0]))
        cut = next((r.cut for r in layout.regions if (r.pane, r.shape.key) == (one.tank, one.stand)), None)
        if cut is None:
            continue
        samples += samples_of(image, layout, cut, _brushes(one), surroundings(image))
        for _ in one.strokes:
            counted[one.sha256] = counted.get(one.sha256, 0) + 1
            names.append((one.sha256, counted[one.sha256]))
    if said := too_few(samples):
        return Judged(said, None, False, ())
    look = teach(samples)
    return Judged("", look.agree, look.contradicted, tuple(names[place] for place in look.against))


def _brushes(one: StrokesOn) -> list[Brush]:
    import numpy as np

    from littoral.imaging.taught import Brush

    return [Brush(0, stroke.is_stand, np.array(stroke.path_px, dtype=float), stroke.width_px) for stroke in one.strokes]
