"""Rosette, grass and fern, and the one door through which every stand is drawn."""

from __future__ import annotations

import numpy as np

from littoral.demo.growth import StandState
from littoral.demo.layout import Frame, StandPlace
from littoral.demo.leaves import blades, paint
from littoral.demo.sprites import Floats, Sprite, shaded, srgb_of_lab
from littoral.demo.stems import draw_feathery, draw_leafy
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
    if stand.form == "opposite stem":
        draw_leafy(sprite, place, state, lab, seed, sway, per_node=3, node_cm=0.85, leaf_cm=2.5, leaf_width=0.34)
    elif stand.form == "whorled stem":
        draw_leafy(sprite, place, state, lab, seed, sway, per_node=5, node_cm=0.75, leaf_cm=1.9, leaf_width=0.27)
    elif stand.form == "feathery stem":
        draw_feathery(sprite, place, state, lab, seed, sway)
    elif stand.form == "rosette":
        _draw_rosette(sprite, place, state, lab, seed, sway)
    elif stand.form == "grass":
        _draw_grass(sprite, place, state, lab, seed, sway)
    else:
        _draw_fern(sprite, place, state, lab, seed, sway)
    return sprite


def _draw_rosette(
    sprite: Sprite, place: StandPlace, state: StandState, lab: Floats, seed: list[int], sway: np.random.Generator
) -> None:
    rng = np.random.default_rng(seed)
    most = 30
    alive = 13 * state.spread
    spread = rng.permutation(np.linspace(-1.25, 1.25, most))
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
    most = 520
    extent = min(1.0, 0.42 * state.spread)
    where, back = rng.uniform(-1, 1, most), rng.random(most)
    wild = rng.normal(0, 1, (most, 4))
    # A carpet spreads from its middle: a blade lives once the edge has passed it.
    young = np.clip((extent * 1.02 - np.abs(where)) / 0.10, 0, 1)
    order = np.argsort(-back)
    order = order[young[order] > 0.05]
    length = state.height_cm * young[order] * np.clip(0.80 + 0.14 * wild[order, 0], 0.4, 1.0)
    base = np.stack([place.middle_cm + place.half_cm * 0.94 * where[order], place.foot_cm + 1.1 * back[order]], axis=-1)
    angle = np.pi / 2 + 0.22 * wild[order, 1] + sway.normal(0, 0.03, len(order))
    edges = blades(
        base=base,
        angle=angle,
        length=length,
        width=np.full(len(order), 0.20),
        bend=0.35 * wild[order, 2] + 1.2 * (angle - np.pi / 2),
        widest=0.3,
        round_tip=0.6,
    )
    colour = srgb_of_lab(lab + np.stack([4 * wild[order, 3], 2 * wild[order, 1], 3 * wild[order, 3]], axis=-1))
    paint(sprite, edges, shaded(colour, 1.05 - 0.42 * back[order]), contrast=0.08)


def _draw_fern(
    sprite: Sprite, place: StandPlace, state: StandState, lab: Floats, seed: list[int], sway: np.random.Generator
) -> None:
    rng = np.random.default_rng(seed)
    most = 18
    alive = 9 * state.spread
    lean = rng.permutation(np.linspace(-1.15, 1.15, most))
    wild = rng.normal(0, 1, (most, 4))
    for number in np.argsort(np.abs(lean))[::1]:
        young = float(np.clip((alive - number) / 2.0, 0, 1))
        if young < 0.05:
            continue
        length = state.height_cm * young * (1.0 + 0.08 * np.clip(wild[number, 0], -1, 0.5))
        s = np.linspace(0, 1, 15)
        turn = np.pi / 2 - lean[number] * (0.75 + 0.5 * s) + sway.normal(0, 0.02)
        rib = np.stack([np.cumsum(np.cos(turn)), np.cumsum(np.sin(turn))], axis=-1) * length / 15
        rib += np.array([place.middle_cm + 1.4 * lean[number], place.foot_cm + 0.3])
        tone = 0.72 + 0.30 * number / most
        colour = srgb_of_lab(lab + np.array([3 * wild[number, 1], wild[number, 2], 2 * wild[number, 1]]))
        sprite.lines(rib[None], colour * 0.7 * tone, 0.10)
        for side in (-1.0, 1.0):
            reach = 0.24 * length * np.sin(np.pi * (0.08 + 0.90 * s)) ** 0.8
            edges = blades(
                base=rib,
                angle=turn + side * 0.95,
                length=np.maximum(reach, 0.1),
                width=np.maximum(reach * 0.42, 0.10),
                bend=np.full(15, -side * 0.35),
            )
            paint(sprite, edges, shaded(np.repeat(colour[None], 15, axis=0), np.full(15, tone)), contrast=0.10)
