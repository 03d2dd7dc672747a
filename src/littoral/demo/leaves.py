"""Leaves: outlines of many blades at once, and how one leaf is painted."""

from __future__ import annotations

import numpy as np

from littoral.demo.sprites import Floats, Sprite, shaded

SAMPLES = 9


def blades(
    *,
    base: Floats,
    angle: Floats,
    length: Floats,
    width: Floats,
    bend: Floats,
    widest: float = 0.38,
    round_tip: float = 0.9,
) -> tuple[Floats, Floats, Floats]:
    """Return the left edges, midribs and right edges of n leaves, each (n, SAMPLES, 2) in cm.

    `base` (n, 2) and `length`, `width` (n,) are in cm; `angle` (n,) in radians from +x, anticlockwise; `bend` (n,) in
    radians is how far the tip turns; `widest` (0 to 1) is where along the blade it is broadest, `round_tip` its power.
    """
    s = np.linspace(0.0, 1.0, SAMPLES)
    turn = angle[:, None] + bend[:, None] * s[None, :]
    step = (length / (SAMPLES - 1))[:, None]
    dx, dy = np.cos(turn) * step, np.sin(turn) * step
    x = base[:, :1] + np.cumsum(dx, axis=1) - dx
    y = base[:, 1:] + np.cumsum(dy, axis=1) - dy
    power = widest / (1.0 - widest) * round_tip
    profile = s**power * (1.0 - s) ** round_tip
    half = 0.5 * width[:, None] * (profile / profile.max())[None, :]
    normal = np.stack([-np.sin(turn), np.cos(turn)], axis=-1)
    rib = np.stack([x, y], axis=-1)
    return rib + normal * half[..., None], rib, rib - normal * half[..., None]


def paint(
    sprite: Sprite, edges: tuple[Floats, Floats, Floats], colours: Floats, *, contrast: float = 0.12, veins: int = 0
) -> None:
    """Paint n leaves, later over earlier: the half toward the light is lighter, the midrib lightest."""
    left, rib, right = edges
    if not len(rib):
        return
    up = left[..., 1].mean(axis=1) >= right[..., 1].mean(axis=1)
    halves = np.stack(
        [np.concatenate([left, rib[:, ::-1]], axis=1), np.concatenate([right, rib[:, ::-1]], axis=1)], axis=1
    )
    tone = np.where(up, 1 + contrast, 1 - contrast), np.where(up, 1 - contrast, 1 + contrast)
    colour = np.stack([shaded(colours, tone[0]), shaded(colours, tone[1])], axis=1)
    n = len(rib)
    sprite.fill(halves.reshape(n * 2, -1, 2), colour.reshape(n * 2, 3))
    if veins:
        for number in range(n):
            light = np.clip(colours[number] * 1.25 + 10, 0, 255)
            sprite.lines(rib[number : number + 1, :-1], light, 0.05)
            cut = np.linspace(1, SAMPLES - 3, veins).astype(int)
            side = np.concatenate(
                [
                    np.stack([rib[number, cut], 0.15 * rib[number, cut + 2] + 0.85 * edge[number, cut + 1]], axis=1)
                    for edge in (left, right)
                ]
            )
            sprite.lines(side, np.clip(colours[number] * 1.12, 0, 255), 0.03)
