"""The truth of each photo, measured on the clean picture's own masks, and the parameters behind it.

`truth/truth.json`, which nothing but tests and `make proof` reads, holds:

- `about`, `seed`, `frame_px`, `px_per_cm`, `arms` (tank to arm);
- `photos`: for each file its `view`, `taken` (ISO 8601), `day`, `shot` (what the phone did), and `regions`, keyed by
  region: for a stand `cover` (share of the polygon, 0 to 1), `tip_cm` and `height_cm` above the polygon's foot (see
  `canopy_height_px`), `true_height_cm` (the nominal height it was drawn from), `lab` (mean CIELAB D65 of its visible
  pixels) and `lab_mid` (mean of those between the 10th and 60th percentile of luminance); for stone, wood and glass
  `algae` (share of the polygon) and `algae_of_visible` (share of what plants do not hide), for a card `lab`;
- `nitrate`: for each tank (day, mg/L) at noon of every day;
- `parameters`: for each tank and stand the growth rates per day (before and after the regime shows), and trims;
- `answers`: for each question what is really true (see `littoral.demo.outcome`).
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.growth import height_rate, stand_state, trims
from littoral.demo.layout import polygon_px
from littoral.demo.picture import Clean, Stage
from littoral.demo.story import Story
from littoral.imaging.colour import srgb_to_linear

Image = NDArray[np.uint8]
Mask = NDArray[np.bool_]


def measure_clean(stage: Stage, clean: Clean, day: float) -> dict[str, dict[str, object]]:
    """Return the truth of every region of one clean picture, keyed by region."""
    found: dict[str, dict[str, object]] = {}
    for place in stage.layout.stands:
        polygon = polygon_px(place.polygon_cm, stage.frame)
        inside = _inside(polygon, clean.label.shape)
        mask = inside & (clean.label == stage.labels[place.key])
        stand = next(stand for stand in stage.story.stands if stand.key == place.key)
        foot = stage.frame.px(np.array([0.0, place.foot_cm]))[1]
        tip, canopy = canopy_height_px(mask, float(foot))
        found[place.key] = {
            "cover": round(float(mask.sum() / inside.sum()), 5),
            "tip_cm": round(tip / stage.frame.px_per_cm, 3),
            "height_cm": round(canopy / stage.frame.px_per_cm, 3),
            "true_height_cm": round(stand_state(stage.story, stand, stage.tank, day).height_cm, 3),
            **_colour(clean.image, mask),
        }
    plants = [stage.labels[place.key] for place in stage.layout.stands]
    for spot in stage.layout.places:
        inside = _inside(polygon_px(spot.polygon_cm, stage.frame), clean.label.shape)
        colour = _colour(clean.image, inside)
        if spot.kind == "card":
            found[spot.key] = {"lab": colour["lab"]}
        else:
            shown = inside & ~np.isin(clean.label, plants)
            found[spot.key] = {
                "algae_of_visible": round(float((clean.algal & shown).sum() / max(1, int(shown.sum()))), 5),
                "algae": round(float((clean.algal & inside).sum() / inside.sum()), 5),
                "lab": colour["lab"],
            }
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


def _inside(polygon: NDArray[np.int32], shape: tuple[int, ...]) -> Mask:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [polygon], 1)
    return np.asarray(mask > 0)


def _colour(image: Image, mask: Mask) -> dict[str, object]:
    """Mean CIELAB of a mask's pixels, and that of their mid-tones (mean in linear light)."""
    pixels = image[mask]
    if not len(pixels):
        return {"lab": None, "lab_mid": None}
    light = np.asarray(srgb_to_linear(pixels / 255.0), dtype=np.float32)
    luminance = light @ np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
    low, high = np.percentile(luminance, [10, 60])
    middle = light[(luminance >= low) & (luminance <= high)].mean(axis=0, keepdims=True)
    return {
        "lab": [round(float(value), 3) for value in _lab(light).mean(axis=0)],
        "lab_mid": [round(float(value), 3) for value in _lab(middle)[0]],
    }


def _lab(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """CIELAB (n, 3) of linear sRGB light (n, 3), by OpenCV."""
    return np.asarray(cv2.cvtColor(light[None], cv2.COLOR_LRGB2Lab)[0], dtype=np.float32)
