"""What all photos of a view are brought to: pooled over some of its first photos, and scaled by the card.

Each photo is corrected with its own camera and the target is the median over them, round by round, so that one photo's
glare does not stand in all. What one photo cannot tell, several can: the tone curve from card fields at differing
exposure, the lens's fading toward the edges from the hand's small movements.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.anchors import Anchors
from littoral.imaging.camera_model import (
    INDEPENDENT,
    CameraModel,
    bumps_at,
    by_fading,
    fit,
    free_of,
    identity,
    jacobian,
    lightness,
    shared_curve,
)
from littoral.imaging.colour import srgb_to_linear

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

GREY_CARD_LIGHT, WHITE_CARD_LIGHT = 0.18, 0.60
"""Linear light that a card is brought to where nothing is known of any: a grey card is taken to reflect 18 %, a white
one 60 % (common practice, no source). What a card really reflects shifts all lightness alike, and no difference."""
CARD_SHARE = 0.5
"""The cards together weigh this much of all other anchors together."""
CHART_SHARE = 2.0
"""A chart's patches have colours that nothing else stable has: they weigh more than all other anchors."""
MOST_BLOCKS = 320
START_OF = 5
"""The start is the best exposed of so many first photos: later ones may show another light."""
ROUNDS = 4
CLEAREST = 0.2
"""A veil only adds light: at each place this quantile of the first photos' veils counts as none."""
FADING_USUAL, FADING_SPREAD = 0.08, 0.08
"""Prior mean and standard deviation of what a lens loses at half the width: phones undo most of it (no source)."""
FEW_FOR_FADING, MOST_FADING = 5, 0.3
FEW_FOR_MIXING = 6
LEAST_CONTRAST, FEWEST_FOR_CLARITY = 0.03, 20
"""A block whose own spread is less than this share of its mean shows noise only."""


@dataclass(frozen=True, slots=True, eq=False)
class Target:
    """What the anchors of all photos of a view are brought to: linear light (n, 3), and which of them are usable (n,).

    `bumps` (n, m) is the veil's basis at them, `curve` (3,) the camera's tone curve where it could be told, `fading`
    what its lens loses toward the edges. `absolute` says that the scale of light is that of a card of which at least
    two fields are known, `mixed` that there are known fields in colour, so that mixing of channels can be told.
    `contrast` (n,) is the anchors' own.
    """

    light: FloatArray
    usable: Mask
    bumps: FloatArray
    curve: FloatArray | None
    absolute: bool
    contrast: FloatArray
    fading: float = 0.0
    mixed: bool = False


def pool_target(photos: Sequence[Anchors], *, tall: float) -> Target:
    """What all photos are brought to, from the anchors of at least one; `tall` is the frame's height over its width.

    The best exposed photo is the start. Known fields of a card are brought to what is known of them.
    """
    best = photos[0]
    for anchors in photos[1:START_OF]:
        if anchors.usable.sum() > 1.05 * best.usable.sum():
            best = anchors
    curve = _curve(photos)
    known = np.isfinite(best.known[:, 0])
    bumps = bumps_at(best.place, tall)
    start, scaled = _start(best, bumps, known, curve)
    light = start.light(best.value, bumps, best.edge)
    light[known] = best.known[known]
    mixed = int((known & ~_neutral(best)).sum()) >= FEW_FOR_MIXING
    contrast = np.median([anchors.contrast for anchors in photos], axis=0)
    usable = _thinned(best.usable | known, best.card)
    target = Target(light, usable, bumps, curve, curve is not None and scaled, contrast, mixed=mixed)
    if len(photos) == 1 or not target.absolute:
        return target  # without a known scale a pooled target would drift from round to round
    target = _pooled(photos, target)
    for _ in range(2):
        fading = _fading(photos, target)
        if fading == target.fading:
            break
        target = _pooled(photos, replace(target, fading=fading))
    return target


def clarity_of(photo: Anchors, target: Target) -> float | None:
    """Fine contrast of a photo's stable places over that of the first photos; None where they have none."""
    use = photo.usable & target.usable & ~photo.card & (target.contrast > LEAST_CONTRAST)
    if use.sum() < FEWEST_FOR_CLARITY:
        return None
    return float(np.median(photo.contrast[use] / target.contrast[use]))


def weights(card: Mask, share: float = CARD_SHARE) -> FloatArray:
    """Weights (n,) of anchors of which some lie on a card, which has `share` of the weight of the others."""
    weight = np.ones(len(card))
    if card.any() and not card.all():
        weight[card] *= share * weight[~card].sum() / weight[card].sum()
    return weight


def _pooled(photos: Sequence[Anchors], target: Target) -> Target:
    """The target after some rounds."""
    known = np.isfinite(photos[0].known[:, 0])
    fitted: list[tuple[CameraModel, FloatArray]] = []
    for _ in range(ROUNDS):
        before: list[CameraModel | None] = [model for model, _ in fitted]
        before = before or [None] * len(photos)
        fitted = [camera_of(anchors, target, start=start) for anchors, start in zip(photos, before, strict=True)]
        light = np.array([m.light(a.value, target.bumps, a.edge) for a, (m, _) in zip(photos, fitted, strict=True)])
        unseen = ~np.array([anchors.usable for anchors in photos])
        usable = target.usable & ((~unseen).mean(axis=0) > 0.5)
        light[unseen] = np.nan
        light[:, ~usable] = 0.0
        veils = np.array([np.exp(m.gain.mean()) * (target.bumps @ m.veil) for m, _ in fitted])
        middle = np.nanmedian(light, axis=0) + np.quantile(veils, CLEAREST, axis=0)[:, None]
        middle = np.maximum(middle, 1e-4)
        middle[known] = photos[0].known[known]
        target = replace(target, light=middle, usable=usable | (known & target.usable))
    return target


def _fading(photos: Sequence[Anchors], target: Target) -> float:
    """What the lens loses toward the edges, from how the same places change as the hand moves them in the picture.

    One step of least squares about the pooled target: of the change that fading would make, only what each photo's
    own gains and veil cannot make up for counts, and only against the mean over photos, which is in the target.
    """
    if not target.absolute:
        return 0.0
    if len(photos) < FEW_FOR_FADING:
        return FADING_USUAL
    mean_edge = np.mean([anchors.edge for anchors in photos], axis=0)
    pulls: list[tuple[float, float]] = []
    for anchors in photos:
        model, trust = camera_of(anchors, target)
        use = anchors.usable & target.usable
        value, bumps, edge = anchors.value[use], target.bumps[use], anchors.edge[use]
        off = lightness(target.light[use]) - lightness(model.light(value, bumps, edge))
        moved = by_fading(model, value, bumps, edge) * ((edge - mean_edge[use]) / edge)[:, None]
        free = free_of(jacobian(model, value, bumps, edge), moved.ravel(), trust, bumps=bumps.shape[1])
        weight = np.repeat(trust, 3)
        pulls.append((float(weight @ (free * off.ravel())), float(weight @ (free * moved.ravel()))))
    up, down = np.array(pulls).T
    found = target.fading + up.sum() / max(down.sum(), 1e-12)
    # How far photos contradict each other says how sure it is.
    error = np.linalg.norm(up - (found - target.fading) * down) / max(down.sum(), 1e-12)
    share = FADING_SPREAD**2 / (FADING_SPREAD**2 + error**2)
    return float(np.clip(FADING_USUAL + share * (found - FADING_USUAL), 0.0, MOST_FADING))


def camera_of(
    photo: Anchors, target: Target, part: Mask | None = None, *, start: CameraModel | None = None
) -> tuple[CameraModel, FloatArray]:
    """The camera of one photo, fitted to its usable anchors (or `part` (n,) of them), and their final weights.

    `start` is one that is nearly right already; see `camera_model.fit`.
    """
    use = photo.usable & target.usable if part is None else part
    return fit(
        photo.value[use],
        target.light[use],
        target.bumps[use],
        photo.edge[use],
        weights(photo.card[use], CHART_SHARE if target.mixed else CARD_SHARE),
        sure=np.isfinite(photo.known[use, 0]),
        curve=target.curve,
        fading=target.fading,
        mixed=target.mixed,
        independent=INDEPENDENT * (1 + CHART_SHARE) if target.mixed else INDEPENDENT,
        start=start,
    )


def _curve(photos: Sequence[Anchors]) -> FloatArray | None:
    """The camera's tone curve by the card's known fields; None where they are fewer than two."""
    parts = [anchors.usable & _neutral(anchors) for anchors in photos]
    if len({float(light) for a, part in zip(photos, parts, strict=True) for light in a.known[part, 1]}) < 2:
        return None
    kept = [(a, part) for a, part in zip(photos, parts, strict=True) if part.any()]
    return shared_curve([a.value[part] for a, part in kept], [a.known[part, 1] for a, part in kept])


def _neutral(anchors: Anchors) -> Mask:
    """Which anchors are known and without colour."""
    return np.asarray(np.ptp(anchors.known, axis=1) < 0.05 * anchors.known.max(axis=1))


def _start(best: Anchors, bumps: FloatArray, known: Mask, curve: FloatArray | None) -> tuple[CameraModel, bool]:
    """The camera of the best exposed photo by its card alone, and whether fields of it are known."""
    part = best.card & best.usable & known
    if part.sum() >= 2:
        goal, weight = best.known[part], np.ones(int(part.sum()))
        return fit(best.value[part], goal, bumps[part], best.edge[part], weight, curve=curve, flat=True)[0], True
    nothing = identity(bumps.shape[1])
    on_card = best.card & best.usable
    if on_card.sum() < 2:
        return nothing, False
    light = srgb_to_linear(best.value[on_card] / 255)
    brightness = light.mean(axis=1)
    # Of several fields the middle one, of two the darker: a card's grey.
    grey = np.sort(brightness)[(len(brightness) - 1) // 2]
    mean = np.median(light[(brightness <= 1.3 * grey) & (brightness >= grey / 1.3)], axis=0)
    goal_light = GREY_CARD_LIGHT if mean.mean() < 0.4 else WHITE_CARD_LIGHT
    return replace(nothing, gain=np.log(goal_light / mean)), False


def _thinned(usable: Mask, card: Mask) -> Mask:
    """At most MOST_BLOCKS of the usable blocks, evenly, and the whole card."""
    blocks = np.flatnonzero(usable & ~card)
    kept = usable & card
    if len(blocks):
        kept[blocks[np.unique(np.linspace(0, len(blocks) - 1, MOST_BLOCKS).astype(int))]] = True
    return kept
