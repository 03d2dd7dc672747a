"""One tank's clean picture on one day, and whose pixel each is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.demo.algae import growth_field, lay_algae
from littoral.demo.fish import swim
from littoral.demo.growth import algae_share, stand_state
from littoral.demo.hardscape import root, stone
from littoral.demo.layout import FRONT_EDGE_CM, Frame, Layout, Place, StandPlace, pixel, polygon_px
from littoral.demo.noise import Field
from littoral.demo.plants import draw_stand
from littoral.demo.room import mirror_in_bench
from littoral.demo.sprites import Sprite
from littoral.demo.story import Story
from littoral.demo.water import light_map, still_scene, surface_and_glass

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
        fields[place.key] = growth_field(solids[place.key], place.kind, rng)
    rng = np.random.default_rng([story.seed, 6, number])
    labels = {key: index for index, key in enumerate([s.key for s in story.stands] + list(solids), start=1)}
    return Stage(
        story, tank, frame, layout, labels, still_scene(frame, layout, rng), light_map(frame, rng), solids, fields
    )


def render_clean(stage: Stage, day: float, sway: np.random.Generator) -> Clean:
    """Return the clean picture of a stage at `day`; `sway` is what the current does to leaves and surface just then."""
    picture = stage.still.copy()
    label = np.zeros(picture.shape[:2], dtype=np.uint8)
    algal = np.zeros(picture.shape[:2], dtype=bool)
    things: list[StandPlace | Place] = [*stage.layout.stands]
    things += [place for place in stage.layout.places if place.key in stage.solids]
    for thing in sorted(things, key=lambda thing: -thing.depth):
        if isinstance(thing, StandPlace):
            _lay_stand(stage, thing, day, sway, picture, label, algal)
        else:
            _lay_solid(stage, thing, day, picture, label, algal)
    swim(picture, label, stage.frame, stage.layout, sway)
    lit = picture.astype(np.float32) * stage.light[..., None]
    picture = np.clip(lit, 0, 255).astype(np.uint8)
    surface_and_glass(picture, stage.frame, sway)
    mirror_in_bench(picture, stage.frame)
    return Clean(picture, label, algal)


def _lay_stand(
    stage: Stage,
    place: StandPlace,
    day: float,
    sway: np.random.Generator,
    picture: Image,
    label: NDArray[np.uint8],
    algal: NDArray[np.bool_],
) -> None:
    stand = next(stand for stand in stage.story.stands if stand.key == place.key)
    number = stage.labels[place.key]
    seed = [stage.story.seed, 4, 0 if stage.tank == "left" else 1, number]
    state = stand_state(stage.story, stand, stage.tank, day)
    sprite = draw_stand(stage.frame, stand, place, state, seed, sway)
    if stand.form == "fern":
        sprite.cast(picture, strength=0.45, blur_cm=0.5, down_cm=0.6)
    else:
        _shade_ground(picture, stage.frame, place.middle_cm, place.foot_cm, place.half_cm * 0.95, 0.55)
    sprite.over(picture, label, number)
    algal[sprite.y0 : sprite.y1, sprite.x0 : sprite.x1][sprite.rgba[..., 3] > 127] = False


def _lay_solid(
    stage: Stage, place: Place, day: float, picture: Image, label: NDArray[np.uint8], algal: NDArray[np.bool_]
) -> None:
    """Lay a stone, the root or the strip of glass over the picture, with its algae of that day."""
    sprite = stage.solids[place.key]
    if place.kind != "glass":
        reach = place.width_cm * (0.62 if place.kind == "stone" else 1.3)
        _shade_ground(picture, stage.frame, place.middle_cm, place.foot_cm, reach, 0.6)
        sprite.over(picture, label, stage.labels[place.key])
    polygon = polygon_px(place.polygon_cm, stage.frame) - np.array([sprite.x0, sprite.y0], dtype=np.int32)
    share = algae_share(stage.story, stage.tank, place.kind, day)
    grown = lay_algae(picture, sprite, stage.algae_field[place.key], place.kind, share, polygon)
    part = algal[sprite.y0 : sprite.y1, sprite.x0 : sprite.x1]
    part[sprite.rgba[..., 3] > 127] = False
    part |= grown


def _shade_ground(
    picture: Image, frame: Frame, middle_cm: float, foot_cm: float, half_cm: float, strength: float
) -> None:
    """Darken the gravel around a foot, in place: a soft flat ellipse."""
    x0, y0 = pixel(frame, middle_cm - 2 * half_cm, foot_cm + 1.2)
    x1, y1 = pixel(frame, middle_cm + 2 * half_cm, max(foot_cm - 2.0, FRONT_EDGE_CM))
    left, right = max(0, x0), min(picture.shape[1], x1)
    x = (np.arange(left, right) - (x0 + x1) / 2) / ((x1 - x0) / 4)
    foot = pixel(frame, middle_cm, foot_cm)[1]
    y = (np.arange(y0, y1) - foot) / (0.75 * frame.px_per_cm)
    dark = np.exp(-(np.abs(x[None, :]) ** 3) - (y[:, None]) ** 2).astype(np.float32) * strength
    part = picture[y0:y1, left:right]
    part[...] = (part * (1 - dark[..., None])).astype(np.uint8)


def _glass_strip(frame: Frame, place: Place) -> Sprite:
    """An empty sprite over the strip of front glass: the glass itself shows nothing until algae come."""
    half = place.width_cm / 2 + 0.3
    top = place.foot_cm + place.height_cm
    return Sprite(frame, place.middle_cm - half, place.foot_cm - 0.5, place.middle_cm + half, top + 0.5)
