"""The truth of each photo, measured on the clean picture's own masks, and the parameters behind it.

`truth/truth.json`, which nothing but tests and `make proof` reads, holds:

- `about`, `seed`, `frame_px`, `px_per_cm`, `arms` (tank to arm);
- `photos`: for each file its `view`, `taken` (ISO 8601), `day`, `shot` (what the phone did), and `regions`, keyed by
  region: for a stand `cover` (share of the polygon, 0 to 1), `tip_cm` and `height_cm` above the polygon's foot (see
  `canopy_height_px`), `true_height_cm` (the nominal height it was drawn from), `lab` (mean CIELAB D65 of its visible
  pixels) and `lab_mid` (mean of those between the 10th and 60th percentile of luminance); for stone, wood and glass
  `algae` (share of the polygon), for a card `lab`;
- `parameters`: for each tank and stand the growth rates per day (before and after the regime shows), and trims;
- `answers`: for each question what is really true.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.growth import height_rate, stand_state, trims
from littoral.demo.layout import Frame, polygon_px
from littoral.demo.picture import Clean, Stage
from littoral.demo.story import Story


def measure_clean(stage: Stage, clean: Clean, day: float) -> dict[str, dict[str, object]]:
    """Return the truth of every region of one clean picture, keyed by region."""
    found: dict[str, dict[str, object]] = {}
    lab = _lab(clean.image)
    for place in stage.layout.stands:
        polygon = polygon_px(place.polygon_cm, stage.frame)
        inside = _inside(polygon, clean.label.shape)
        mask = inside & (clean.label == stage.labels[place.key])
        stand = next(stand for stand in stage.story.stands if stand.key == place.key)
        foot = stage.frame.px(np.array([0.0, place.foot_cm]))[1]
        tip, canopy = canopy_height_px(mask, float(foot))
        found[place.key] = {
            "cover": float(mask.sum() / inside.sum()),
            "tip_cm": tip / stage.frame.px_per_cm,
            "height_cm": canopy / stage.frame.px_per_cm,
            "true_height_cm": stand_state(stage.story, stand, stage.tank, day).height_cm,
            "lab": _mean(lab[mask]),
            "lab_mid": _mid(lab[mask]),
        }
    for spot in stage.layout.places:
        inside = _inside(polygon_px(spot.polygon_cm, stage.frame), clean.label.shape)
        if spot.kind == "card":
            found[spot.key] = {"lab": _mean(lab[inside])}
        else:
            found[spot.key] = {"algae": float((clean.algal & inside).sum() / inside.sum()), "lab": _mean(lab[inside])}
    return found


def canopy_height_px(mask: NDArray[np.bool_], foot_px: float) -> tuple[float, float]:
    """Return (tip, canopy) in pixels above `foot_px` of a mask (height, width).

    The tip is the highest row with any pixel. The canopy is the mean, over the columns the stand fills to at least
    30 % between its top and the foot, of the column's top.
    """
    rows = np.flatnonzero(mask.any(axis=1))
    if not len(rows):
        return 0.0, 0.0
    columns = np.flatnonzero(mask.any(axis=0))
    tops = mask[:, columns].argmax(axis=0)
    filled = mask[:, columns].sum(axis=0) / np.maximum(foot_px - tops, 1)
    good = filled >= 0.30
    canopy = float(np.mean(foot_px - tops[good])) if good.any() else 0.0
    return float(foot_px - rows[0]), canopy


def parameters(story: Story) -> dict[str, dict[str, dict[str, object]]]:
    """Return the rates and trims behind every stand, keyed by tank and stand."""
    return {
        tank: {
            stand.key: {
                "height_rate_baseline_per_day": stand.height_rate * story.tank_rate[tank],
                "height_rate_per_day": height_rate(story, stand, tank),
                "redder_a_at_end": stand_state(story, stand, tank, float(story.days)).redder_a,
                "trims": [
                    {"day": t.day, "before_cm": t.before_cm, "after_cm": t.after_cm} for t in trims(story, stand, tank)
                ],
            }
            for stand in story.stands
        }
        for tank in story.arm_of
    }


def _inside(polygon: NDArray[np.int32], shape: tuple[int, int]) -> NDArray[np.bool_]:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [polygon], 1)
    return mask > 0


def _lab(image: NDArray[np.uint8]) -> NDArray[np.float32]:
    return np.asarray(cv2.cvtColor(image.astype(np.float32) / 255.0, cv2.COLOR_RGB2Lab), dtype=np.float32)


def _mean(lab: NDArray[np.float32]) -> list[float]:
    return [float(value) for value in lab.mean(axis=0)] if len(lab) else []


def _mid(lab: NDArray[np.float32]) -> list[float]:
    if not len(lab):
        return []
    low, high = np.percentile(lab[:, 0], [10, 60])
    return _mean(lab[(lab[:, 0] >= low) & (lab[:, 0] <= high)])


__all__ = ["Frame", "canopy_height_px", "measure_clean", "parameters"]
