"""Rosette, grass and fern, and the one door through which every stand is drawn."""

from __future__ import annotations

import cv2
import numpy as np

from littoral.demo.growth import StandState
from littoral.demo.layout import Frame, StandPlace
from littoral.demo.leaves import blades, paint
from littoral.demo.sprites import Floats, Sprite, shaded, srgb_of_lab
from littoral.demo.stems import RED_LEAVES, ROUND_LEAVES, draw_feathery, draw_leafy, stems
from littoral.demo.story import StandStory


def draw_stand(
    frame: Frame, stand: StandStory, place: StandPlace, state: StandState, seed: list[int], sway: np.random.Generator
) -> Sprite:
    """Return a stand's sprite. `seed` fixes its shape over the days; `sway` is what the current does on one photo."""
    sprite = Sprite(
        frame,
        place.middle_cm - place.half_cm - 4,
        place.foot_cm - 2.5,
        place.middle_cm + place.half_cm + 4,
        place.foot_cm + state.height_cm + 4,
    )
    lab = np.asarray(stand.leaf_lab) + np.array([0.0, state.redder_a, 0.0])
    match stand.form:
        case "lance-leaved stem":
            draw_leafy(sprite, stems(place, state, seed, sway), lab, RED_LEAVES, seed, sway)
        case "round-leaved stem":
            draw_leafy(sprite, stems(place, state, seed, sway), lab, ROUND_LEAVES, seed, sway)
        case "feathery stem":
            draw_feathery(sprite, stems(place, state, seed, sway), lab, seed, sway)
        case "rosette":
            _draw_rosette(sprite, place, state, lab, seed, sway)
        case "grass":
            _draw_grass(sprite, place, state, lab, seed, sway)
        case "fern":
            _draw_fern(sprite, place, state, lab, seed, sway)
    _shade_below(sprite, EXTINCTION[stand.form])
    return sprite


EXTINCTION = {
    "lance-leaved stem": 0.055,
    "round-leaved stem": 0.055,
    "feathery stem": 0.05,
    "rosette": 0.05,
    "grass": 0.16,
    "fern": 0.06,
}
"""Share of the lamp's light lost per cm of leaves above (invented: chosen by eye)."""


def _shade_below(sprite: Sprite, per_cm: float) -> None:
    """Darken leaves by how much of the stand lies above them, in place."""
    alpha = cv2.blur(sprite.rgba[..., 3], (max(3, int(sprite.frame.px_per_cm * 0.7)), 1))
    above_cm = np.cumsum(alpha, axis=0, dtype=np.float32) / (255.0 * sprite.frame.px_per_cm)
    light = 0.46 + 0.72 * np.exp(-per_cm * above_cm)
    sprite.rgba[..., :3] = np.minimum(sprite.rgba[..., :3] * light[..., None], sprite.rgba[..., 3:]).astype(np.uint8)


def _draw_rosette(
    sprite: Sprite, place: StandPlace, state: StandState, lab: Floats, seed: list[int], sway: np.random.Generator
) -> None:
    rng = np.random.default_rng(seed)
    most = 30
    alive = 13 * state.spread
    spread = rng.permutation(np.linspace(-1.12, 1.12, most))
    wild = rng.normal(0, 1, (most, 4))
    young = np.clip((alive - np.arange(most)) / 2.0, 0, 1)
    order = np.argsort(np.abs(spread) + 0.2 * wild[:, 3])
    angle = (np.pi / 2 - spread + sway.normal(0, 0.02, most))[order]
    keep = young[order] > 0.05
    reach = state.height_cm * young[order] * np.clip(0.93 + 0.07 * wild[order, 0], 0.7, 1.05)
    petiole = reach * 0.42
    foot = np.array([place.middle_cm, place.foot_cm])
    base = foot + np.stack([np.cos(angle), np.sin(angle)], axis=-1) * petiole[:, None]
    droop = -0.9 * np.cos(angle)
    colour = srgb_of_lab(lab + np.stack([4 * wild[order, 1] - 3, 2 * wild[order, 2], 2 * wild[order, 1]], axis=-1))
    front = np.linspace(0.62, 1.06, most)
    for number in np.flatnonzero(keep):
        stalk = np.stack([foot + np.array([0.3 * np.cos(angle[number]), 0.0]), base[number]])
        sprite.lines(stalk[None], colour[number] * 0.8 * front[number], 0.22)
        one = slice(number, number + 1)
        edges = blades(
            base=base[one],
            angle=angle[one],
            length=(reach * 0.66)[one],
            width=(reach * 0.30)[one],
            bend=droop[one],
            widest=0.40,
            round_tip=0.75,
        )
        paint(sprite, edges, shaded(colour[one], front[one]), contrast=0.10, veins=4)


def _draw_grass(
    sprite: Sprite, place: StandPlace, state: StandState, lab: Floats, seed: list[int], sway: np.random.Generator
) -> None:
    rng = np.random.default_rng(seed)
    most = 720
    extent = min(1.0, 0.40 * state.spread)
    where, back = rng.uniform(-1, 1, most), rng.random(most)
    wild = rng.normal(0, 1, (most, 4))
    # A carpet spreads from its middle: a blade lives once the edge has passed it.
    young = np.clip((extent * 1.02 - np.abs(where) * (1 + 0.12 * wild[:, 3])) / 0.10, 0, 1)
    order = np.argsort(-back)
    order = order[young[order] > 0.05]
    length = state.height_cm * young[order] * np.clip(0.76 + 0.16 * wild[order, 0], 0.35, 1.0)
    foot = place.foot_cm + 1.2 * back[order]
    base = np.stack([place.middle_cm + place.half_cm * 0.94 * where[order], foot], axis=-1)
    angle = np.pi / 2 + 0.20 * wild[order, 1] - 0.15 * where[order] + sway.normal(0, 0.03, len(order))
    edges = blades(
        base=base,
        angle=angle,
        length=length,
        width=np.full(len(order), 0.19),
        bend=0.40 * wild[order, 2] + 1.2 * (angle - np.pi / 2),
        widest=0.3,
        round_tip=0.6,
    )
    colour = srgb_of_lab(lab + np.stack([4 * wild[order, 3], 2 * wild[order, 1], 3 * wild[order, 3]], axis=-1))
    paint(sprite, edges, shaded(colour, 1.05 - 0.34 * back[order]), contrast=0.08)


def _draw_fern(
    sprite: Sprite, place: StandPlace, state: StandState, lab: Floats, seed: list[int], sway: np.random.Generator
) -> None:
    rng = np.random.default_rng(seed)
    most, pairs = 22, 17
    alive = 13 * state.spread
    lean = rng.permutation(np.linspace(-1.1, 1.1, most)) + rng.normal(0, 0.06, most)
    wild = rng.normal(0, 1, (most, 5))
    size = np.clip(0.86 + 0.16 * wild[:, 0], 0.55, 1.0)
    s = np.linspace(0, 1, pairs)
    along = np.linspace(-1.0, 1.0, 9)
    creeping = np.stack([place.middle_cm + 1.7 * along, place.foot_cm + 0.12 + 0.08 * np.sin(3 * along)], axis=-1)
    sprite.lines(creeping[None], srgb_of_lab(lab + np.array([-12.0, 6.0, -4.0])), 0.30)
    for rank, number in enumerate(np.argsort(np.abs(lean) + 0.25 * wild[:, 4])):
        young = float(np.clip((alive - number) / 2.0, 0, 1))
        if young < 0.05:
            continue
        length = state.height_cm * young * size[number]
        arch = lean[number] * (0.55 + 0.85 * s) + 0.12 * wild[number, 3] * s
        turn = np.pi / 2 - arch + sway.normal(0, 0.02)
        rib = np.stack([np.cumsum(np.cos(turn)), np.cumsum(np.sin(turn))], axis=-1) * length / pairs
        rib += np.array([place.middle_cm + 1.3 * lean[number], place.foot_cm + 0.2])
        tone = 0.74 + 0.30 * rank / most
        colour = srgb_of_lab(lab + np.array([4 * wild[number, 1], 1.5 * wild[number, 2], 3 * wild[number, 1]]))
        sprite.lines(rib[None], colour * 0.65 * tone, 0.10)
        for side in (-1.0, 1.0):
            reach = 0.20 * length * np.clip(np.sin(np.pi * (0.10 + 0.90 * s)), 0.02, 1) ** 0.7
            edges = blades(
                base=rib,
                angle=turn + side * (1.05 - 0.35 * s),
                length=np.maximum(reach, 0.12),
                width=np.maximum(reach * 0.34, 0.11),
                bend=np.full(pairs, -side * 0.45),
            )
            ripple = tone * (1 + 0.05 * side * np.cos(turn))
            paint(sprite, edges, shaded(np.repeat(colour[None], pairs, axis=0), ripple), contrast=0.10)
