"""Stem plants: opposite leaves, whorls, and feathery needles on stems that grow, are cut and branch."""

from __future__ import annotations

import numpy as np

from littoral.demo.growth import StandState
from littoral.demo.layout import StandPlace
from littoral.demo.leaves import blades, paint
from littoral.demo.sprites import Floats, Sprite, shaded, srgb_of_lab

STEMS_AT_START = 6
MOST_STEMS = 14


def stem_paths(
    place: StandPlace, state: StandState, seed: list[int], sway: np.random.Generator
) -> list[tuple[float, Floats]]:
    """Return the stems, farthest first, as (how far back 0 to 1, path (n, 2) in cm from the foot to the tip)."""
    found = []
    alive = STEMS_AT_START * state.spread
    for number in range(MOST_STEMS):
        rng = np.random.default_rng([*seed, number])
        slot = (number * 0.618 + 0.13) % 1.0 * 2 - 1  # golden-ratio places: spread evenly however many there are
        back, fraction = rng.random(), 1.0 if number == 0 else rng.uniform(0.80, 0.99)
        lean, curve, phase = rng.normal(0, 0.04), rng.normal(0, 0.0022), rng.uniform(0, 6.3)
        young = float(np.clip((alive - number) / 1.2, 0.0, 1.0))
        swayed = sway.normal(0, 0.008)
        if young <= 0.02:
            continue
        height = state.height_cm * fraction * young**0.6
        base = np.array([place.middle_cm + 0.62 * place.half_cm * slot, place.foot_cm + (back - 0.5) * 0.8])
        h = np.linspace(0.0, height, max(4, int(height / 0.35)))
        x = base[0] + (lean + swayed - 0.03 * slot) * h + curve * h**2 + 0.10 * np.sin(0.55 * h + phase)
        path = np.stack([x, base[1] + h], axis=-1)
        cut = state.cuts_cm[-1] * fraction if state.cuts_cm else None
        if cut is None or height < cut + 0.4 or rng.random() > 0.75:
            found.append((back, path))
            continue
        above = np.maximum(0.0, h - cut)
        for side in (-1.0, 1.0):
            shoot = path.copy()
            shoot[:, 0] += side * rng.uniform(0.35, 0.75) * (1 - np.exp(-above / 1.4))
            if side > 0:
                shoot = shoot[h <= cut + (height - cut) * rng.uniform(0.8, 0.97)]
            found.append((back, shoot))
    return sorted(found, key=lambda stem: -stem[0])


def draw_leafy(
    sprite: Sprite,
    place: StandPlace,
    state: StandState,
    lab: Floats,
    seed: list[int],
    sway: np.random.Generator,
    *,
    per_node: int,
    node_cm: float,
    leaf_cm: float,
    leaf_width: float,
) -> None:
    """Draw stems with `per_node` broad leaves at each node; young leaves take `lab`, old and deep ones are duller."""
    for back, path in stem_paths(place, state, seed, sway):
        height = path[-1, 1] - path[0, 1]
        rng = np.random.default_rng([*seed, 99, int(back * 1e6)])
        sprite.lines(path[None], srgb_of_lab(lab * np.array([0.75, 0.5, 0.8])) * (1 - 0.3 * back), 0.16)
        nodes = np.arange(0.8, height + 0.01, node_cm)
        if not len(nodes):
            continue
        wild = rng.normal(0, 1, (400, per_node, 4))[: len(nodes)]
        x = np.interp(nodes, path[:, 1] - path[0, 1], path[:, 0])
        from_tip = height - nodes
        grown = (1 - np.exp(-(from_tip + 0.25) / 1.1)) * (0.75 + 0.25 * np.exp(-from_tip / 9))
        spots = np.linspace(0, 1, per_node)
        angle = np.pi * (0.06 + 0.88 * spots)[None, :] + wild[..., 0] * 0.16
        # Young leaves stand up around the tip; older ones open out.
        open_out = np.clip(from_tip / 3.0, 0.15, 1.0)[:, None]
        angle = np.pi / 2 + (angle - np.pi / 2) * open_out + sway.normal(0, 0.04, angle.shape)
        facing = 0.55 + 0.45 * np.abs(np.cos(angle))
        length = leaf_cm * grown[:, None] * facing * (1 + 0.12 * wild[..., 1])
        bend = -0.5 * np.cos(angle) * (1 + 0.4 * wild[..., 2]) * open_out
        deep = np.clip(from_tip / 10.0, 0, 1)[:, None] * np.ones((1, per_node))
        leaf_lab = lab + np.stack(
            [-9 * deep + 2.5 * wild[..., 3], -0.45 * lab[1] * deep * (lab[1] > 0) + wild[..., 1], -5 * deep], axis=-1
        )
        count = length.size
        base = np.stack([np.repeat(x, per_node), np.repeat(path[0, 1] + nodes, per_node)], axis=-1)
        light = (0.66 + 0.34 * np.clip(nodes / 14.0, 0, 1))[:, None] * np.ones((1, per_node)) * (1 - 0.30 * back)
        edges = blades(
            base=base,
            angle=angle.ravel(),
            length=np.maximum(length.ravel(), 0.15),
            width=np.maximum(length.ravel() * leaf_width, 0.08),
            bend=bend.ravel(),
        )
        paint(sprite, edges, shaded(srgb_of_lab(leaf_lab.reshape(count, 3)), light.ravel()))


def draw_feathery(
    sprite: Sprite, place: StandPlace, state: StandState, lab: Floats, seed: list[int], sway: np.random.Generator
) -> None:
    """Draw stems with whorls of fine needles, dense near the tip."""
    for back, path in stem_paths(place, state, seed, sway):
        height = path[-1, 1] - path[0, 1]
        rng = np.random.default_rng([*seed, 99, int(back * 1e6)])
        sprite.lines(path[None], srgb_of_lab(lab * np.array([0.8, 0.6, 0.9])) * (1 - 0.3 * back), 0.12)
        wild = rng.normal(0, 1, (400, 14, 2))
        for number, node in enumerate(np.arange(0.6, height + 0.01, 0.55)):
            x = float(np.interp(node, path[:, 1] - path[0, 1], path[:, 0]))
            from_tip = height - node
            grown = (1 - np.exp(-(from_tip + 0.35) / 0.9)) * (0.8 + 0.2 * np.exp(-from_tip / 8))
            up = np.clip(1.0 - from_tip / 2.2, 0.0, 1.0)
            spots = np.linspace(0.0, np.pi, 14) + wild[number, :, 0] * 0.10 + sway.normal(0, 0.03, 14)
            angle = spots * (1 - 0.62 * up) + np.pi / 2 * 0.62 * up
            length = 1.55 * grown * (0.62 + 0.38 * np.abs(np.cos(angle))) * (1 + 0.10 * wild[number, :, 1])
            s = np.linspace(0, 1, 5)
            turn = angle[:, None] + 0.45 * np.cos(angle)[:, None] * s[None, :]
            paths = np.stack(
                [
                    x + np.cumsum(np.cos(turn) * length[:, None] / 4, axis=1) * s[None, :] ** 0.15,
                    path[0, 1] + node + np.cumsum(np.sin(turn) * length[:, None] / 4, axis=1) * s[None, :] ** 0.15,
                ],
                axis=-1,
            )
            deep = np.clip(from_tip / 9.0, 0, 1)
            tone = (0.66 + 0.34 * min(1.0, node / 14.0)) * (1 - 0.28 * back)
            colour = srgb_of_lab(lab + np.array([-10 * deep + 3 * wild[number, 0, 1], 3 * deep, -8 * deep])) * tone
            sprite.lines(paths[::2], colour * 0.86, 0.085)
            sprite.lines(paths[1::2], colour, 0.085)
