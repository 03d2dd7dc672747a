"""Several doses against one control: Dunnett's test, and Williams' for doses that can only do more and more.

As OECD 221 and 239 advise for a no-effect dose. One value per vessel. Tail chances of Williams' statistic are computed
here, for any numbers of vessels; the printed tables (Williams 1971, 1972, Biometrics 27:103-117, 28:519-531) hold
for equal numbers and correct for a larger control by interpolation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray

Side = Literal["less", "greater"]

_NODES = 128
_REACH = 9.0


@dataclass(frozen=True, slots=True, eq=False)
class Versus:
    """Each dose against the control, arrays (k,): difference of means (dose minus control), t, and adjusted p value."""

    difference: FloatArray
    statistic: FloatArray
    p_value: FloatArray
    df: int


@dataclass(frozen=True, slots=True, eq=False)
class Williams:
    """Williams' test, arrays (k,) in ascending dose: means as smoothed to rise or fall only, t, p value, critical t.

    `called` (k,): from the highest dose down, until the first that is not. `no_effect_below` is the index of the
    highest dose not called, -1 where all are.
    """

    smoothed: FloatArray
    statistic: FloatArray
    p_value: FloatArray
    critical: FloatArray
    called: tuple[bool, ...]
    no_effect_below: int
    df: int


def dunnett(doses: Sequence[FloatArray], control: FloatArray, *, side: Side | None = None) -> Versus:
    """Return Dunnett's test (1955, J Am Stat Assoc 50:1096-1121) of each dose's values against the control's.

    Two-sided where no `side` is given. What doses share is the control and the spread; both are integrated out, so
    that, unlike SciPy's, a p value is the same each time. Raises TooFewPointsError where a group has no value or no
    degree of freedom is left.
    """
    df = _df(doses, control)
    groups = [np.asarray(one, dtype=float) for one in [*doses, control]]
    spread = np.sqrt(sum(float(((one - one.mean()) ** 2).sum()) for one in groups) / df)
    size = np.array([one.size for one in groups[:-1]], dtype=float)
    difference = np.array([one.mean() for one in groups[:-1]]) - groups[-1].mean()
    statistic = difference / (spread * np.sqrt(1 / size + 1 / groups[-1].size))
    shared = np.sqrt(size / (size + groups[-1].size))
    p_value = np.array([_dunnett_tail(float(t), shared, df=df, side=side) for t in statistic])
    return Versus(difference, statistic, p_value, df)


def dunnett_half_widths(
    doses: Sequence[FloatArray], control: FloatArray, *, level: float = 0.95, side: Side | None = None
) -> FloatArray:
    """Return how far (k,) the intervals of the doses' differences, which hold together at `level`, reach from them.

    Two-sided where no `side` is given: half the width of each. With a `side` the interval is one-sided: "less" is
    closed above, at difference + reach, and "greater" below, at difference - reach. Dunnett's test of the same `side`
    is read from them: a dose is called at 1 - `level` where its interval leaves out 0. Raises as `dunnett`.
    """
    from scipy.optimize import brentq

    df = _df(doses, control)
    groups = [np.asarray(one, dtype=float) for one in [*doses, control]]
    spread = np.sqrt(sum(float(((one - one.mean()) ** 2).sum()) for one in groups) / df)
    size = np.array([one.size for one in groups[:-1]], dtype=float)
    shared = np.sqrt(size / (size + groups[-1].size))
    # of a one-sided test both sides share the critical value
    of: Side | None = None if side is None else "greater"
    least = 0.0 if side is None else -500.0
    critical = brentq(lambda t: _dunnett_tail(t, shared, df=df, side=of) - (1 - level), least, 500.0, xtol=1e-6)
    return np.asarray(critical * spread * np.sqrt(1 / size + 1 / groups[-1].size), dtype=np.float64)


def _dunnett_tail(t: float, shared: FloatArray, *, df: int, side: Side | None) -> float:
    """Return the chance that any statistic lies beyond `t`; `shared` (k,) is each one's tie to the control."""
    from scipy.special import ndtr

    z, of_z, s, of_s = _control_and_spread(df)
    middle = shared * z[:, None]
    scale = np.sqrt(1 - shared**2)
    reach = (abs(t) if side is None else t if side == "greater" else -t) * s[:, None, None]
    inside = ndtr((middle + reach) / scale)
    if side is None:
        inside = inside - ndtr((middle - reach) / scale)
    return float(of_s @ (1 - inside.prod(axis=2)) @ of_z)


def _control_and_spread(df: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return points and weights of a standard normal, and of a spread estimated on `df` whose true value is 1."""
    from scipy.special import roots_hermitenorm
    from scipy.stats import chi2

    z, of_z = roots_hermitenorm(60)
    point, of_point = np.polynomial.legendre.leggauss(120)
    low, high = np.sqrt(chi2.ppf([1e-15, 1 - 1e-15], df) / df)
    s = low + (high - low) * (point + 1) / 2
    density = chi2.pdf(s * s * df, df) * 2 * s * df
    of_s = density * of_point
    return z, of_z / of_z.sum(), s, np.asarray(of_s / of_s.sum(), dtype=np.float64)


def williams(doses: Sequence[FloatArray], control: FloatArray, *, side: Side, level: float = 0.05) -> Williams:
    """Return Williams' test of doses' values, ascending dose, against the control's, one-sided.

    `side` "less" where an effect lowers the value. Raises TooFewPointsError as `dunnett`.
    """
    from scipy.optimize import brentq

    df = _df(doses, control)
    sign = -1.0 if side == "less" else 1.0
    groups = [np.asarray(one, dtype=float) for one in doses]
    size = np.array([one.size for one in groups], dtype=float)
    means = sign * np.array([one.mean() for one in groups])
    control = np.asarray(control, dtype=float)
    squares = sum(float(((one - one.mean()) ** 2).sum()) for one in [*groups, control])
    spread = np.sqrt(squares / df)
    smoothed = rising(means, size)
    error = spread * np.sqrt(1 / size + 1 / control.size)
    statistic = (smoothed - sign * control.mean()) / error
    sizes = tuple(float(one) for one in size)

    def tail(t: float, upto: int) -> float:
        return williams_tail(t, sizes=sizes[:upto], control=float(control.size), df=df)

    ks = range(1, size.size + 1)
    p_value = np.array([tail(float(t), k) for t, k in zip(statistic, ks, strict=True)])
    critical = np.array([float(brentq(lambda t, k=k: tail(t, k) - level, 0.0, 60.0, xtol=1e-6)) for k in ks])
    beyond = statistic >= critical
    called = tuple(bool(beyond[at:].all()) for at in range(size.size))
    return Williams(sign * smoothed, statistic, p_value, critical, called, sum(not one for one in called) - 1, df)


def rising(means: FloatArray, weight: FloatArray) -> FloatArray:
    """Return the means (k,) smoothed so that they never fall, neighbours pooled by `weight` (k,)."""
    from scipy.optimize import isotonic_regression

    return np.asarray(isotonic_regression(means, weights=weight).x, dtype=np.float64)


def williams_tail(t: float, *, sizes: tuple[float, ...], control: float, df: int) -> float:
    """Return the chance that Williams' statistic of the last of `sizes` reaches `t` where no dose does anything.

    `sizes` are the vessels of each dose, ascending, `control` those of the control, `df` of the pooled spread. The
    smoothed last mean is the largest mean over the last doses, 1, 2, ... of them; that it stays below x is that a
    random walk stays below 0, integrated step by step; over control and spread by quadrature.
    """
    from scipy.interpolate import PchipInterpolator

    at, below = _below(sizes)
    z, of_z, s, of_s = _control_and_spread(df)
    x = z / np.sqrt(control) + t * s[:, None] * np.sqrt(1 / sizes[-1] + 1 / control)
    chance = np.clip(PchipInterpolator(at, below)(np.clip(x, at[0], at[-1])), 0.0, 1.0)
    return float(of_s @ (1 - chance) @ of_z)


@lru_cache(maxsize=64)
def _below(sizes: tuple[float, ...]) -> tuple[FloatArray, FloatArray]:
    """Return levels x (g,) and the chance that the smoothed last mean is at most each, with spread 1, no effect."""
    scale = 1 / np.sqrt(min(sizes))
    levels = np.linspace(-7 * scale, 7 * scale, 561)
    total = float(np.sqrt(sum(sizes)))
    chance = np.empty(levels.size)
    node, of_node = np.polynomial.legendre.leggauss(_NODES)
    for i, x in enumerate(levels):
        # the walk's states below 0, as far down as it can get
        low = -_REACH * total - max(x, 0.0) * sum(sizes)
        state = (node - 1) / 2 * -low
        weight = of_node / 2 * -low
        density: FloatArray | None = None
        for size in reversed(sizes):
            if density is None:
                density = _normal(state, mean=-size * x, variance=size)
            else:
                moved = _normal(state[:, None] - state[None, :], mean=-size * x, variance=size)
                density = moved @ (weight * density)
        assert density is not None
        chance[i] = min(1.0, float(weight @ density))
    return levels, np.maximum.accumulate(chance)


def _normal(at: FloatArray, *, mean: float, variance: float) -> FloatArray:
    return np.asarray(np.exp(-((at - mean) ** 2) / (2 * variance)) / np.sqrt(2 * np.pi * variance), dtype=np.float64)


def _df(doses: Sequence[FloatArray], control: FloatArray) -> int:
    fewest = min([len(control), *(len(one) for one in doses)])
    df = len(control) + sum(len(one) for one in doses) - len(doses) - 1
    if fewest < 1 or df < 1 or not doses:
        raise TooFewPointsError(points=fewest, needed=2, what="vessels of a dose")
    return df


@dataclass(frozen=True, slots=True)
class Normality:
    """Shapiro & Wilk's W and its p value, of what is left of each group's values about the group's own mean."""

    w: float
    p_value: float


def residual_normality(groups: Sequence[FloatArray]) -> Normality:
    """Return Shapiro & Wilk's test (1965, Biometrika 52:591-611) of the groups' values less their means, pooled.

    Raises TooFewPointsError below 3 values.
    """
    from scipy.stats import shapiro

    left = np.concatenate([np.asarray(one, dtype=float) - np.mean(one) for one in groups])
    if left.size < 3:
        raise TooFewPointsError(points=int(left.size), needed=3, what="values about their groups' means")
    found = shapiro(left)
    return Normality(float(found.statistic), float(found.pvalue))
