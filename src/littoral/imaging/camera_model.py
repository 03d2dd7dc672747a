"""One photo's camera: a tone curve, three gains and a veil of stray light, fitted to places whose light is known.

The photo's encoded value s (0 to 1) is taken back through a smooth curve that keeps black and white, s + Σ k·φ(s),
decoded to linear light, freed of the veil (light that glass and lens add, without colour, smooth over the frame), and
scaled by one gain per channel. The fit is damped Gauss-Newton on differences in units of L*, with robust weights
(Tukey's bisquare), so that what has changed counts for nothing. Curve and veil have priors: what a phone does to a
picture is bounded, and what nothing in view tells stays what it usually is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SOFT_PX = 0.22
"""Width of a bump of the veil, as a share of the frame's width."""
GRID_STEP = 0.25
NOISE = 0.35
"""L* by which a block differs from one photo to the next by itself (JPEG, noise, resampling)."""
INDEPENDENT = 15.0
"""However many blocks there are, they tell no more than so many: what moves one moves its neighbours too."""
CURVE_SPREAD, CURVE_SPREAD_KNOWN = 0.25, 0.06
"""Prior standard deviation of the curve's coefficients: of any camera, and about the series' own mean."""
VEIL_SPREAD, BUMP_SPREAD = 0.02, 0.012
"""Prior standard deviation of the even veil and of its bumps, in linear light."""
MIXING_SPREAD = 0.15
ROUNDS = 12
_LOWEST = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class CameraModel:
    """`gain` (3,) natural logarithms, `curve` (3,) coefficients, `veil` (m,) even part first, in linear light.

    `fading` is the share of light that the lens loses at half the photo's width from its middle; `mixing` (6,) what
    each channel takes from the two others, row by row: a mix that leaves grey as it is. A `table` (256, 3) of linear
    light for each 8-bit value, where there is one, stands for all of it.
    """

    gain: FloatArray
    curve: FloatArray
    veil: FloatArray
    fading: float = 0.0
    mixing: FloatArray | None = None
    table: FloatArray | None = None

    def light(self, value: FloatArray, bumps: FloatArray, edge: FloatArray) -> FloatArray:
        """Linear light (n, 3) of 8-bit sRGB values (n, 3) at places with `bumps` (n, m) and `edge` (n,)."""
        if self.table is not None:
            steps = np.arange(256)
            return np.stack([np.interp(value[:, c], steps, self.table[:, c]) for c in range(3)], axis=1)
        plain = _decode(value / 255 + _phi(value / 255) @ self.curve)
        full = np.exp(self.gain) * (plain - (bumps @ self.veil)[:, None])
        if self.mixing is not None:
            full = full @ mixer(self.mixing).T
        return np.asarray(full * brighter(self.fading, edge)[:, None], dtype=np.float64)

    def steps(self) -> FloatArray:
        """Linear light (256,) before gains, of each 8-bit value; never falls."""
        s = np.arange(256)[:, None] / 255
        return np.maximum.accumulate(_decode(s + _phi(s) @ self.curve)[:, 0])


def brighter(fading: float, edge: FloatArray) -> FloatArray:
    """The factor that a lens's fading toward the edges is undone with."""
    return np.asarray(1 / (1 - fading * edge), dtype=np.float64)


def mixer(mixing: FloatArray) -> FloatArray:
    """The matrix (3, 3) of six mixing coefficients; its rows add up to 1."""
    matrix = np.zeros((3, 3))
    matrix[_OTHERS] = mixing
    return np.asarray(matrix + np.diag(1 - matrix.sum(axis=1)), dtype=np.float64)


_OTHERS = (np.array([0, 0, 1, 1, 2, 2]), np.array([1, 2, 0, 2, 0, 1]))


def identity(bumps: int) -> CameraModel:
    """A camera that changes nothing; `bumps` is the veil's number of coefficients."""
    return CameraModel(np.zeros(3), np.zeros(3), np.zeros(bumps))


def bumps_at(place: FloatArray, tall: float) -> FloatArray:
    """The veil's basis (n, m) at places (n, 2) in shares of the frame's width; `tall` is its height in the same."""
    x = np.arange(0.125, 1.0, GRID_STEP)
    y = np.arange(0.0, tall + GRID_STEP / 2, GRID_STEP)
    middles = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    far = ((place[:, None] - middles) ** 2).sum(axis=-1)
    return np.concatenate([np.ones((len(place), 1)), np.exp(-far / (2 * (SOFT_PX * 0.75) ** 2))], axis=1)


def edge_at(place: FloatArray, width: int, to_frame: FloatArray, photo_px: tuple[int, int]) -> FloatArray:
    """Squared distance (n,) from a photo's middle, 1 at half its width, of places (n, 2) in the frame's widths.

    `to_frame` (3, 3) takes pixels of the photo, which is `photo_px` (width, height), to pixels of the frame.
    """
    there = np.concatenate([place * width, np.ones((len(place), 1))], axis=1) @ np.linalg.inv(to_frame).T
    from_middle = there[:, :2] / there[:, 2:] - np.array(photo_px) / 2
    return np.asarray(((from_middle / (photo_px[0] / 2)) ** 2).sum(axis=1))


def lightness(light: FloatArray) -> FloatArray:
    """Linear light on the scale of L*, each channel by itself."""
    return np.where(light > (6 / 29) ** 3, 116 * np.cbrt(np.maximum(light, 0)) - 16, light * (29 / 3) ** 3)


def fit(
    value: FloatArray,
    goal: FloatArray,
    bumps: FloatArray,
    edge: FloatArray,
    weight: FloatArray,
    *,
    sure: NDArray[np.bool_] | None = None,
    curve: FloatArray | None = None,
    flat: bool = False,
    fading: float = 0.0,
    mixed: bool = False,
    independent: float = INDEPENDENT,
    start: CameraModel | None = None,
) -> tuple[CameraModel, FloatArray]:
    """Fit a camera to 8-bit values (n, 3), the linear light (n, 3) that they should be, and weights (n,).

    `sure` (n,) are those that keep their weight however far off they are; `curve` (3,) is that of the same camera's
    other photos. `flat` leaves the bumps of the veil out, `mixed` lets channels mix: it takes references in colour.
    The blocks count as no more than `independent` ones. `start` is a camera that is nearly right: the fit is the same
    to its own tolerance, in fewer rounds.
    Also returns the weights (n,) that the fit ended with.
    """
    target = lightness(goal)
    m = bumps.shape[1]
    spread = _spread(m, curve is not None, mixed)
    middle = np.zeros(len(spread))
    if curve is not None:
        middle[3:6] = curve
    if flat:
        spread[7 : 6 + m] = 1e-6
    p = middle.copy()
    if start is None:
        p[:3] = np.log((goal * weight[:, None]).sum(axis=0) / (_decode(value / 255) * weight[:, None]).sum(axis=0))
    else:
        p[: 6 + m] = np.concatenate([start.gain, start.curve, start.veil])
        p[6 + m :] = 0.0 if start.mixing is None else start.mixing
    weight = weight * min(1.0, independent / weight.sum())
    trust, seen, precision = weight.copy(), _Seen(value, bumps, edge), np.diag(1 / spread**2)
    for _ in range(ROUNDS):
        light, slopes = _light_and_slopes(_model(p, m, fading), seen)
        off = lightness(light) - target
        size = np.sqrt((off * off).mean(axis=1))
        reach = 4.685 * max(1.4826 * float(np.median(size[weight > 0])), NOISE)
        trust = weight * np.maximum(0.0, 1 - (size / reach) ** 2) ** 2
        if sure is not None:
            trust[sure] = weight[sure]
        weighed = slopes.T * np.repeat(trust / NOISE**2, 3)
        step = np.linalg.solve(weighed @ slopes + precision, weighed @ off.ravel() + (p - middle) / spread**2)
        p = p - np.clip(step, -0.5, 0.5)
        if np.abs(step[:6]).max() < 1e-3:
            break
    return _model(p, m, fading), trust


def _model(p: FloatArray, bumps: int, fading: float) -> CameraModel:
    mixing = p[6 + bumps :] if len(p) > 6 + bumps else None
    return CameraModel(p[:3], p[3:6], p[6 : 6 + bumps], fading, mixing)


class _Seen:
    """Blocks as all rounds of a fit see them: encoded values (n, 3), their bends (n, 3, 3), bumps (n, m), edge (n,)."""

    def __init__(self, value: FloatArray, bumps: FloatArray, edge: FloatArray) -> None:
        self.s, self.bumps, self.edge = value / 255, bumps, edge
        self.basis = _phi(self.s)


def jacobian(model: CameraModel, value: FloatArray, bumps: FloatArray, edge: FloatArray) -> FloatArray:
    """How each channel's L* (3·n, 6 + m) moves with gains, curve and veil, and (six more) with mixing if there is."""
    return _light_and_slopes(model, _Seen(value, bumps, edge))[1]


def _light_and_slopes(model: CameraModel, seen: _Seen) -> tuple[FloatArray, FloatArray]:
    """Linear light (n, 3), as `CameraModel.light` gives it, and `jacobian`, of which the two share most of the work."""
    n, m = seen.bumps.shape
    scale, fade = np.exp(model.gain), brighter(model.fading, seen.edge)[:, None]
    bent = seen.s + seen.basis @ model.curve
    plain, slope = _decode_and_slope(bent)
    light = scale * (plain - (seen.bumps @ model.veil)[:, None])
    found = np.zeros((n, 3, 6 + m + (0 if model.mixing is None else 6)))
    found[:, (0, 1, 2), (0, 1, 2)] = light
    np.multiply((scale * slope)[..., None], seen.basis, out=found[..., 3:6])
    np.multiply(-scale[:, None], seen.bumps[:, None], out=found[..., 6 : 6 + m])
    if model.mixing is not None:
        matrix = mixer(model.mixing)
        found = np.matmul(matrix, found)
        for at, (to, of) in enumerate(zip(*_OTHERS, strict=True)):
            found[:, to, 6 + m + at] = light[:, of] - light[:, to]
        light = light @ matrix.T
    light = light * fade
    found *= (_steepness(light) * fade)[..., None]
    return light, found.reshape(3 * n, -1)


def by_fading(model: CameraModel, value: FloatArray, bumps: FloatArray, edge: FloatArray) -> FloatArray:
    """How L* (n, 3) moves with the lens's fading."""
    light = model.light(value, bumps, edge)
    return np.asarray(_steepness(light) * light * (edge * brighter(model.fading, edge))[:, None])


def free_of(slopes: FloatArray, other: FloatArray, trust: FloatArray, *, bumps: int) -> FloatArray:
    """What of `other` (3·n,) gains, curve and veil, with slopes (3·n, 6 + m) and their priors, cannot make up for."""
    spread = _spread(bumps, True, slopes.shape[1] > 6 + bumps)
    weighed = slopes.T * np.repeat(trust, 3) / NOISE**2
    return np.asarray(other - slopes @ np.linalg.solve(weighed @ slopes + np.diag(1 / spread**2), weighed @ other))


def _spread(bumps: int, curve_known: bool, mixed: bool) -> FloatArray:
    """Prior standard deviations of gains, curve, veil and mixing."""
    curve = CURVE_SPREAD_KNOWN if curve_known else CURVE_SPREAD
    mixing = np.full(6 if mixed else 0, MIXING_SPREAD)
    return np.concatenate([np.full(3, 2.0), np.full(3, curve), [VEIL_SPREAD], np.full(bumps - 1, BUMP_SPREAD), mixing])


def shared_curve(values: Sequence[FloatArray], goals: Sequence[FloatArray]) -> FloatArray:
    """The tone curve (3,) that one camera's photos have in common, from 8-bit values (n, 3) of each and the linear
    light (n,) that they should be; gains and an even veil are each photo's own.

    One photo's three fields cannot tell a curve from a veil; photos of differing exposure can.
    """
    photos = len(values)
    p = np.zeros(3 + 4 * photos)
    spread = np.concatenate(
        [[CURVE_SPREAD, CURVE_SPREAD, CURVE_SPREAD / 2], np.tile([2.0, 2.0, 2.0, VEIL_SPREAD / 2], photos)]
    )
    for i, (value, goal) in enumerate(zip(values, goals, strict=True)):
        p[3 + 4 * i : 6 + 4 * i] = np.log(goal.mean() / _decode(value / 255).mean(axis=0))
    middle = np.where(np.arange(len(p)) < 3, 0.0, np.where(np.arange(len(p)) % 4 == 2, 0.0, p))
    for _ in range(2 * ROUNDS):
        normal, right = np.diag(1 / spread**2), (p - middle) / spread**2
        for i, (value, goal) in enumerate(zip(values, goals, strict=True)):
            own = p[3 + 4 * i : 7 + 4 * i]
            basis = _phi(value / 255)
            bent = value / 255 + basis @ p[:3]
            light = np.exp(own[:3]) * (_decode(bent) - own[3])
            off = lightness(light) - lightness(goal)[:, None]
            steep = _steepness(light)
            jacobian = np.zeros((len(value), 3, len(p)))
            for c in range(3):
                jacobian[:, c, 3 + 4 * i + c] = steep[:, c] * light[:, c]
                jacobian[:, c, :3] = (steep[:, c] * np.exp(own[c]) * _slope(bent[:, c]))[:, None] * basis[:, c]
                jacobian[:, c, 6 + 4 * i] = -steep[:, c] * np.exp(own[c])
            flat = jacobian.reshape(-1, len(p))
            normal += flat.T @ flat / NOISE**2
            right += flat.T @ off.ravel() / NOISE**2
        step = np.linalg.solve(normal, right)
        p = p - np.clip(step, -0.3, 0.3)
        if np.abs(step).max() < 1e-5:
            break
    return p[:3]


def _phi(s: FloatArray) -> FloatArray:
    """Three bends (..., 3) that are 0 at black and white."""
    middle, lean = s * (1 - s), 1 - 2 * s
    return np.stack([middle, middle * lean, middle * lean * lean], axis=-1)


def _decode(s: FloatArray) -> FloatArray:
    """Linear light of encoded values, going on straight outside 0 to 1 (IEC 61966-2-1 between)."""
    inner = np.clip(s, 0.0, 1.0)
    plain = np.where(inner <= 0.04045, inner / 12.92, ((inner + 0.055) / 1.055) ** 2.4)
    return np.asarray(plain + np.where(s > 1, (s - 1) * 2.275, np.where(s < 0, s / 12.92, 0.0)), dtype=np.float64)


def _slope(s: FloatArray) -> FloatArray:
    return _decode_and_slope(s)[1]


def _decode_and_slope(s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """`_decode` and its slope, of which the power is the dear part, and needed once."""
    inner = np.clip(s, 0.0, 1.0)
    base = (inner + 0.055) / 1.055
    power = base**1.4
    dark = inner <= 0.04045
    plain = np.where(dark, inner / 12.92, power * base)
    plain += np.where(s > 1, (s - 1) * 2.275, np.where(s < 0, s / 12.92, 0.0))
    return plain, np.where(dark, 1 / 12.92, (2.4 / 1.055) * power)


def _steepness(light: FloatArray) -> FloatArray:
    safe = np.maximum(light, (6 / 29) ** 3)
    return np.where(light > (6 / 29) ** 3, 116 / 3 * safe ** (-2 / 3), (29 / 3) ** 3)
