"""One tank's clean picture on one day, and whose pixel each is."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.growth import algae_share, stand_state
from littoral.demo.hardscape import root, stone
from littoral.demo.layout import Frame, Layout, Place, polygon_px
from littoral.demo.noise import Field, fractal_noise
from littoral.demo.plants import draw_stand
from littoral.demo.sprites import Sprite, srgb_of_lab
from littoral.demo.story import Story
from littoral.demo.water import glass_front, light_map, still_scene

Image = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Clean:
    """A clean picture, sRGB uint8 (height, width, 3); `label` says what each pixel shows (see `Stage.labels`), and
    `algal` where algae cover stone, wood or front glass, both (height, width)."""

    image: Image
    label: NDArray[np.uint8]
    algal: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """What stays the same in one tank over all its photos, drawn once."""

    story: Story
    tank: str
    frame: Frame
    layout: Layout
    labels: dict[str, int]
    still: Image
    light: NDArray[np.float32]
    solids: dict[str, Sprite]
    algae_field: dict[str, Field]


def set_stage(story: Story, layout: Layout, frame: Frame) -> Stage:
    """Draw what stays the same in one tank."""
    tank = layout.tank
    number = 0 if tank == "left" else 1
    solids: dict[str, Sprite] = {}
    fields: dict[str, Field] = {}
    for index, place in enumerate(layout.places):
        if place.kind == "card":
            continue
        rng = np.random.default_rng([story.seed, 5, number, index])
        if place.kind == "stone":
            solids[place.key] = stone(frame, place, rng)
        elif place.kind == "wood":
            solids[place.key] = root(frame, place, rng, mirrored=layout.mirrored)
        else:
            solids[place.key] = _glass_strip(frame, place)
        shape = solids[place.key].rgba.shape[:2]
        fields[place.key] = fractal_noise(rng, shape, 1.1 * frame.px_per_cm, octaves=5)
    rng = np.random.default_rng([story.seed, 6, number])
    labels = {key: index for index, key in enumerate([s.key for s in story.stands] + list(solids), start=1)}
    return Stage(
        story, tank, frame, layout, labels, still_scene(frame, layout, rng), light_map(frame, rng), solids, fields
    )


def render_clean(stage: Stage, day: float, sway: np.random.Generator) -> Clean:
    """Return the clean picture of a stage at `day`; `sway` is what the current does to the leaves at that moment."""
    picture = stage.still.copy()
    label = np.zeros(picture.shape[:2], dtype=np.uint8)
    algal = np.zeros(picture.shape[:2], dtype=bool)
    stands = {stand.key: stand for stand in stage.story.stands}
    things = [(place.depth, "stand", place.key) for place in stage.layout.stands]
    things += [(place.depth, place.kind, place.key) for place in stage.layout.places if place.key in stage.solids]
    for _, kind, key in sorted(things, key=lambda thing: -thing[0]):
        if kind == "stand":
            stand = stands[key]
            place = next(place for place in stage.layout.stands if place.key == key)
            seed = [stage.story.seed, 4, 0 if stage.tank == "left" else 1, stage.labels[key]]
            sprite = draw_stand(stage.frame, stand, place, stand_state(stage.story, stand, stage.tank, day), seed, sway)
            sprite.over(picture, label, stage.labels[key])
            algal[sprite.y0 : sprite.y1, sprite.x0 : sprite.x1][sprite.rgba[..., 3] > 127] = False
        else:
            place_of = next(place for place in stage.layout.places if place.key == key)
            _lay_solid(stage, place_of, day, picture, label, algal)
    lit = picture.astype(np.float32) * stage.light[..., None]
    picture = np.clip(lit, 0, 255).astype(np.uint8)
    glass_front(picture, stage.frame)
    return Clean(picture, label, algal)


def _lay_solid(
    stage: Stage, place: Place, day: float, picture: Image, label: NDArray[np.uint8], algal: NDArray[np.bool_]
) -> None:
    """Lay a stone, the root or the strip of glass over the picture, with its algae of that day."""
    sprite = stage.solids[place.key]
    field = stage.algae_field[place.key]
    share = algae_share(stage.story, stage.tank, place.kind, day)
    inside = np.zeros(field.shape, dtype=np.uint8)
    cv2.fillPoly(inside, [polygon_px(place.polygon_cm, stage.frame) - np.array([sprite.x0, sprite.y0])], 1)
    # The threshold is the field's own quantile inside the polygon, so the covered share there is `share` exactly.
    threshold = np.quantile(field[inside > 0], 1.0 - share) if share > 0 else np.inf
    grown = field > threshold
    if place.kind != "glass":
        grown &= sprite.rgba[..., 3] > 127
        sprite.over(picture, label, stage.labels[place.key])
    part = picture[sprite.y0 : sprite.y1, sprite.x0 : sprite.x1]
    lab = np.array([44.0, -17.0, 27.0]) if place.kind != "glass" else np.array([50.0, -18.0, 24.0])
    film = srgb_of_lab(lab) * np.clip(0.75 + 0.5 * part.mean(axis=-1, keepdims=True) / 255, 0.5, 1.2)
    thick = (0.72 if place.kind != "glass" else 0.55) * grown[..., None]
    part[...] = (part * (1 - thick) + film * thick).astype(np.uint8)
    algal[sprite.y0 : sprite.y1, sprite.x0 : sprite.x1] |= grown


def _glass_strip(frame: Frame, place: Place) -> Sprite:
    """An empty sprite over the strip of front glass: the glass itself shows nothing until algae come."""
    half = place.width_cm / 2
    return Sprite(frame, place.middle_cm - half, place.foot_cm, place.middle_cm + half, place.foot_cm + place.height_cm)
