"""Two tanks in one frame: how far redness and its difference are from the demo's truth, by how the camera is taken out.

Both tanks of a draw are rendered side by side and taken by one phone in one shot. "common" corrects the frame with one
camera model, as Littoral does; "each alone" corrects each half by what is in it, as if the halves were photos of their
own; "apart" takes two shots, one of each tank.
"""

from __future__ import annotations

import io
import sys
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from PIL import Image

from littoral.demo.layout import CARD_REFLECTS, Frame, Layout, corners_px, lay_out, polygon_px
from littoral.demo.phone import spoil, take
from littoral.demo.picture import render_clean, set_stage
from littoral.demo.story import tell
from littoral.demo.truth import measure_clean
from littoral.imaging.regions import PaneShape, RegionKind, RegionShape, ViewShape
from littoral.imaging.series import measure_series

SIZE = (480, 360)
STANDS = ("red-stem", "feather", "green-stem", "rosette", "fern")
WAYS = ("common", "each alone", "apart")


@dataclass(frozen=True)
class TwinErrors:
    """Errors in a* by photo and stand, each (photos, stands): of each tank, of right minus left, and what is stated.

    `stated` are the standard errors of a single value as the photos state them, averaged over both tanks.
    """

    left: np.ndarray
    right: np.ndarray
    stated: np.ndarray

    @property
    def difference(self) -> np.ndarray:
        """Error of right minus left."""
        return np.asarray(self.right - self.left, dtype=np.float64)

    def change(self, errors: np.ndarray) -> np.ndarray:
        """What is left of errors once each stand's mean over the series is taken out."""
        return np.asarray(errors - np.nanmean(errors, axis=0), dtype=np.float64)


def pane(layout: Layout, frame: Frame, tank: str, across: float, *, card: bool) -> PaneShape:
    shift = np.array([across, 0.0])
    regions = [RegionShape(s.key, "stand", polygon_px(s.polygon_cm, frame) + shift) for s in layout.stands]
    regions += [
        RegionShape(
            p.key, cast(RegionKind, p.kind), polygon_px(p.polygon_cm, frame) + shift, reflects=CARD_REFLECTS.get(p.key)
        )
        for p in layout.places
        if card or p.kind != "card"
    ]
    return PaneShape(tank, tuple(regions), corners_px(frame).astype(float) + shift, 60.0)


def twin_errors(number: int, *, photos: int = 12, card: bool = True) -> dict[str, TwinErrors]:
    """Return the errors of one draw by way."""
    story, frame = tell(number, days=56), Frame(SIZE)
    layouts = {tank: lay_out(story, tank) for tank in ("left", "right")}
    stages = {tank: set_stage(story, layout, frame) for tank, layout in layouts.items()}
    wide = (2 * SIZE[0], SIZE[1])
    shots: dict[str, list[bytes]] = {"twin": [], "left half": [], "right half": [], "left": [], "right": []}
    truth: list[list[list[float]]] = []
    for at, day in enumerate(np.linspace(0, 55, photos)):
        rng = np.random.default_rng([number, 91, at])
        clean = {tank: render_clean(stage, float(day), rng) for tank, stage in stages.items()}
        true: dict[str, Any] = {tank: measure_clean(stage, clean[tank], float(day)) for tank, stage in stages.items()}
        truth.append([[float(true[tank][key]["lab"][1]) for key in STANDS] for tank in stages])
        both = np.ascontiguousarray(np.hstack([clean["left"].image, clean["right"].image]))
        taken = spoil(both, story.phone, take(story.phone, rng, size=wide, nominal_framing=True), rng)
        shown = {"twin": taken, "left half": taken[:, : SIZE[0]], "right half": taken[:, SIZE[0] :]}
        for tank in stages:
            shot = take(story.phone, rng, size=SIZE, nominal_framing=True)
            shown[tank] = spoil(clean[tank].image, story.phone, shot, rng)
        for name, picture in shown.items():
            file = io.BytesIO()
            Image.fromarray(np.ascontiguousarray(picture)).save(file, "JPEG", quality=story.phone.jpeg_quality)
            shots[name].append(file.getvalue())
    panes = {tank: pane(layout, frame, tank, 0.0, card=card) for tank, layout in layouts.items()}
    twin = (panes["left"], pane(layouts["right"], frame, "right", float(SIZE[0]), card=card))
    seen = {"twin": _measured(shots["twin"], ViewShape(wide, twin))}
    for name in ("left half", "right half", "left", "right"):
        seen[name] = _measured(shots[name], ViewShape(SIZE, (panes[name.split()[0]],)))
    known = np.array(truth)
    pairs = {"common": ("twin", "twin"), "each alone": ("left half", "right half"), "apart": ("left", "right")}
    return {
        way: TwinErrors(
            seen[left]["left"][0] - known[:, 0],
            seen[right]["right"][0] - known[:, 1],
            (seen[left]["left"][1] + seen[right]["right"][1]) / 2,
        )
        for way, (left, right) in pairs.items()
    }


def _measured(shots: list[bytes], view: ViewShape) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Return a* and its stated standard error by tank, each (photos, stands)."""
    kept: dict[int, np.ndarray] = {}
    frames = measure_series(
        shots.__getitem__, len(shots), view, store=kept.__setitem__, load=kept.__getitem__, workers=1
    )
    found = {}
    for one in view.panes:
        rows = [{r.region: r for r in frame.regions if r.pane == one.key} for frame in frames]
        found[one.key] = (
            np.array([[_number(row[key].a) for key in STANDS] for row in rows]),
            np.array([[_number(row[key].colour_error) for key in STANDS] for row in rows]),
        )
    return found


def _number(value: float | None) -> float:
    return float("nan") if value is None else value


def rms(errors: np.ndarray) -> float:
    """Root mean square, gaps aside."""
    return float(np.sqrt(np.nanmean(errors**2)))


def main(numbers: list[int]) -> None:
    """Print the errors of some draws together, with and without cards."""
    for card in (True, False):
        every = [twin_errors(number, card=card) for number in numbers]
        print("with known cards" if card else "without cards")
        for way in WAYS:
            some = [one[way] for one in every]
            single = np.concatenate([one.change(side) for one in some for side in (one.left, one.right)])
            both = np.concatenate([one.change(one.difference) for one in some])
            level = np.array([np.nanmean(one.difference, axis=0) for one in some])
            alone = np.array([np.nanmean(side, axis=0) for one in some for side in (one.left, one.right)])
            stated = np.concatenate([one.stated for one in some])
            within = np.abs(both) / (1.96 * np.sqrt(2) * stated)
            print(
                f"  {way:10}  a photo: one tank {rms(single):.2f}, difference {rms(both):.2f}; "
                f"mean over photos: one tank {rms(alone):.2f}, difference {rms(level):.2f}; "
                f"stated {rms(stated):.2f}; within root 2 x stated {np.nanmean(within < 1):.2f}"
            )


if __name__ == "__main__":
    main([int(one) for one in sys.argv[1:]] or [1, 2, 4, 5, 7, 9, 11])
