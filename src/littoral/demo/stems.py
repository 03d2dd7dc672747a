"""Stem plants: whorls of leaves or feathery needles on stems that grow, are cut and branch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.demo.growth import StandState
from littoral.demo.layout import StandPlace
from littoral.demo.leaves import blades, paint
from littoral.demo.sprites import Floats, Sprite, shaded, srgb_of_lab

STEMS_AT_START = 7
MOST_STEMS = 15
MOST_NODES = 60


@dataclass(frozen=True, slots=True, eq=False)
class Stem:
    """One stem: how far back it stands in its stand (0 to 1), its path (n, 2) in cm from foot to tip, its own seed."""

    back: float
    path: Floats
    seed: int

    @property
    def height_cm(self) -> float:
        """Height of the tip over the foot."""
        return float(self.path[-1, 1] - self.path[0, 1])

    def at(self, heights_cm: Floats) -> Floats:
        """Return the points (n, 2) of the path at heights (n,) over the foot."""
        x = np.interp(heights_cm, self.path[:, 1] - self.path[0, 1], self.path[:, 0])
        return np.stack([x, self.path[0, 1] + heights_cm], axis=-1)


@dataclass(frozen=True, slots=True)
class Foliage:
    """What grows at a node: leaves per whorl, cm between nodes, length in cm and width as a share of it, the blade's
    shape (see `leaves.blades`), and what ageing does to the CIELAB colour."""

    per_node: int
    node_cm: float
    leaf_cm: float
    width: float
    widest: float
    round_tip: float
    ageing: tuple[float, float, float]


RED_LEAVES = Foliage(4, 0.82, 2.45, 0.34, 0.42, 0.80, (-8.0, -11.0, -2.0))
ROUND_LEAVES = Foliage(4, 0.72, 1.55, 0.62, 0.50, 0.48, (-10.0, 4.0, -10.0))
NEEDLES = 22


def stems(place: StandPlace, state: StandState, seed: list[int], sway: np.random.Generator) -> list[Stem]:
    """Return the stems of a stand, farthest first: new ones appear as it spreads, cut ones branch."""
    found: list[Stem] = []
    alive = STEMS_AT_START * state.spread
    for number in range(MOST_STEMS):
        rng = np.random.default_rng([*seed, number])
        slot = (number * 0.618 + 0.13) % 1.0 * 2 - 1  # golden-ratio places: spread evenly however many there are
        back, fraction = rng.random(), 1.0 if number == 0 else rng.uniform(0.72, 0.99)
        lean, curve, phase = rng.normal(0, 0.035), rng.normal(0, 0.002), rng.uniform(0, 6.3)
        young = float(np.clip((alive - number) / 1.2, 0.0, 1.0))
        swayed = sway.normal(0, 0.008)
        if young <= 0.02:
            continue
        height = state.height_cm * fraction * young**0.6
        base = np.array([place.middle_cm + 0.52 * place.half_cm * slot, place.foot_cm + (back - 0.5) * 0.4])
        h = np.linspace(0.0, height, max(4, int(height / 0.35)))
        x = base[0] + (lean + swayed + 0.022 * slot) * h + curve * h**2 + 0.10 * np.sin(0.55 * h + phase)
        path = np.stack([x, base[1] + h], axis=-1)
        cut = state.cuts_cm[-1] * fraction if state.cuts_cm else None
        if cut is None or height < cut + 0.4 or rng.random() > 0.75:
            found.append(Stem(back, path, number))
            continue
        above = np.maximum(0.0, h - cut)
        for side in (-1.0, 1.0):
            shoot = path.copy()
            shoot[:, 0] += side * rng.uniform(0.30, 0.65) * (1 - np.exp(-above / 1.4))
            if side > 0:
                shoot = shoot[h <= cut + (height - cut) * rng.uniform(0.8, 0.97)]
            found.append(Stem(back + 0.001 * side, shoot, number + (100 if side > 0 else 0)))
    return sorted(found, key=lambda stem: -stem.back)


def draw_leafy(
    sprite: Sprite, every: list[Stem], lab: Floats, leaf: Foliage, seed: list[int], sway: np.random.Generator
) -> None:
    """Draw stems with whorls of leaves. Young leaves at the tip stand up and take `lab`; older ones open and dull."""
    for stem in every:
        rng = np.random.default_rng([*seed, 99, stem.seed])
        nodes = np.arange(0.45 + 0.3 * rng.random(), stem.height_cm - 0.05, leaf.node_cm)
        wild = rng.normal(0, 1, (MOST_NODES, leaf.per_node, 5))[: len(nodes)]
        nodes = nodes[: len(wild)]
        if not len(nodes):
            continue
        from_tip = (stem.height_cm - nodes)[:, None] * np.ones((1, leaf.per_node))
        age = 1 - np.exp(-from_tip / 5.0)
        grown = 1 - 0.86 * np.exp(-(from_tip + 0.1) / 1.3)
        # A leaf points `around` the stem (0 right, pi/2 to the viewer) and rises by `rise`.
        turn = rng.uniform(0, 6.28) + np.arange(len(nodes))[:, None] * (np.pi / leaf.per_node + 0.12)
        around = turn + 2 * np.pi * np.arange(leaf.per_node)[None, :] / leaf.per_node + 0.22 * wild[..., 0]
        rise = np.radians(22 + 52 * np.exp(-from_tip / 1.8)) + 0.16 * wild[..., 1] + sway.normal(0, 0.03, age.shape)
        side, toward = np.cos(rise) * np.cos(around), np.cos(rise) * np.sin(around)
        up = np.sin(rise) - 0.30 * toward
        seen = np.maximum(np.hypot(side, up), 0.34)
        length = leaf.leaf_cm * grown * (1 + 0.10 * wild[..., 2])
        width = length * leaf.width * (0.62 + 0.38 * np.abs(toward)) * (1 + 0.08 * wild[..., 3])
        droop = -np.sign(side) * (0.25 + 0.55 * age) * (0.6 + 0.2 * wild[..., 4]) * np.abs(side)
        colour = lab + np.asarray(leaf.ageing) * age[..., None]
        colour = colour + np.stack([3.0 * wild[..., 3], 1.5 * wild[..., 2], 2.0 * wild[..., 1]], axis=-1)
        colour[..., 0] += 3.0 * toward
        tone = (1 - 0.30 * stem.back) * np.where(toward < 0, 0.74, 1.0)
        base = np.repeat(stem.at(nodes)[:, None], leaf.per_node, axis=1)
        edges = blades(
            base=base.reshape(-1, 2),
            angle=np.arctan2(up, side).ravel(),
            length=np.maximum(length * seen, 0.15).ravel(),
            width=np.maximum(width, 0.08).ravel(),
            bend=droop.ravel(),
            widest=leaf.widest,
            round_tip=leaf.round_tip,
        )
        rgb = shaded(srgb_of_lab(colour.reshape(-1, 3)), tone.ravel())
        hidden = (toward < 0).ravel()
        paint(sprite, _only(edges, hidden), rgb[hidden])
        bark = srgb_of_lab(lab * np.array([0.85, 0.7, 0.9])) * (1 - 0.3 * stem.back)
        sprite.lines(stem.path[None], bark, 0.14)
        paint(sprite, _only(edges, ~hidden), rgb[~hidden])


def draw_feathery(sprite: Sprite, every: list[Stem], lab: Floats, seed: list[int], sway: np.random.Generator) -> None:
    """Draw stems with whorls of fine needles, darker within and lighter at their ends."""
    s = np.linspace(0.0, 1.0, 6)
    for stem in every:
        rng = np.random.default_rng([*seed, 99, stem.seed])
        shade = 1 - 0.30 * stem.back
        sprite.lines(stem.path[None], srgb_of_lab(lab * np.array([0.8, 0.5, 0.8])) * shade, 0.12)
        wild = rng.normal(0, 1, (MOST_NODES, NEEDLES, 3))
        for number, node in enumerate(np.arange(0.4, stem.height_cm + 0.01, 0.62)[:MOST_NODES]):
            from_tip = stem.height_cm - node
            grown = 1 - 0.75 * np.exp(-from_tip / 1.1)
            around = np.linspace(0, 2 * np.pi, NEEDLES, endpoint=False) + 0.2 * wild[number, :, 0]
            rise = np.radians(18 + 60 * np.exp(-from_tip / 1.5)) + 0.14 * wild[number, :, 1] + sway.normal(0, 0.02)
            side, toward = np.cos(rise) * np.cos(around), np.cos(rise) * np.sin(around)
            up = np.sin(rise) - 0.25 * toward
            length = 1.75 * grown * np.maximum(np.hypot(side, up), 0.3) * (1 + 0.10 * wild[number, :, 2])
            turn = np.arctan2(up, side)[:, None] + 0.5 * side[:, None] * s[None, :]
            step = length[:, None] / len(s)
            offset = np.stack([np.cumsum(np.cos(turn) * step, axis=1), np.cumsum(np.sin(turn) * step, axis=1)], axis=-1)
            paths = stem.at(np.array([node]))[:, None] + offset - offset[:, :1]
            age = 1 - np.exp(-from_tip / 6.0)
            young = lab + np.array([4 - 12 * age + 2.5 * wild[number, 0, 2], 3 * age, -8 * age])
            behind = toward < 0
            inner, outer = srgb_of_lab(young - np.array([13.0, 0, 6])) * shade, srgb_of_lab(young) * shade
            sprite.lines(paths[behind], inner * 0.86, 0.07)
            sprite.lines(paths[~behind], inner, 0.07)
            sprite.lines(paths[:, 2:], outer, 0.05)


def _only(edges: tuple[Floats, Floats, Floats], keep: Floats) -> tuple[Floats, Floats, Floats]:
    left, rib, right = edges
    return left[keep], rib[keep], right[keep]
