"""How far a test reads off, from readings of a known standard: a factor with its doubt, as a prior for a fit.

Model: reading = truth x factor x noise; the logarithm of the factor is normal with mean zero beforehand, that of the
noise normal too. A reading of a colour step is an interval. With exact readings and known noise this is the textbook
normal-normal case (Gelman et al., Bayesian Data Analysis, section 2.5, from memory); with intervals and a noise that is
itself not known the integral is done on a grid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.errors import LittoralError
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

FloatArray = NDArray[np.float64]
PRIOR_LOG_SD = 0.4
"""Before any reading: two tests in three are right to within a factor of 1.5; common practice, no source."""
NOISE = (0.05, 0.5)
"""Where the noise of a reading may lie, one standard deviation of its logarithm, where it is not given."""
OFF = 1.25
"""A factor further from one than this is worth a word; common practice, no source."""


class BiasError(LittoralError):
    """Readings of a standard from which no factor can be estimated."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"standard: {what}. {right}")


@dataclass(frozen=True, slots=True)
class BiasFactor:
    """What a test's reading is of the truth: exp(`log_mean`), with `log_sd` as one standard deviation of its logarithm.

    `factor`, `low` and `high` (no unit) are the median and the ends of a 95 % interval; `rows` say whether it matters.
    """

    log_mean: float
    log_sd: float
    readings: int
    rows: tuple[CheckRow, ...]
    steps: tuple[Step, ...]

    @property
    def factor(self) -> float:
        """The median of the factor."""
        return math.exp(self.log_mean)

    @property
    def low(self) -> float:
        """The lower end of its 95 % interval."""
        return math.exp(self.log_mean - 1.96 * self.log_sd)

    @property
    def high(self) -> float:
        """The upper end of its 95 % interval."""
        return math.exp(self.log_mean + 1.96 * self.log_sd)


def bias_from_standard(
    readings: Sequence[tuple[float, float]],
    true_mg_per_l: float,
    *,
    true_relative_sd: float = 0.0,
    noise_log_sd: float | None = None,
    prior_log_sd: float = PRIOR_LOG_SD,
) -> BiasFactor:
    """Return the factor by which a test reads off, from the (low, high) of readings of a standard, mg/L.

    `high` may be infinite and `low` zero; both equal is an exact reading. `true_relative_sd` is the doubt of the
    standard itself (see `known_standard`). Without `noise_log_sd` the noise is taken as anything in NOISE, evenly in
    its logarithm. Raises BiasError.
    """
    _check(readings, true_mg_per_l, true_relative_sd, noise_log_sd, prior_log_sd)
    noises = np.array([noise_log_sd]) if noise_log_sd is not None else np.geomspace(*NOISE, 21)
    # the factor that the readings see holds the standard's own error too; taken off again at the end
    wide = math.hypot(prior_log_sd, true_relative_sd)
    bias = np.linspace(-6.0 * wide, 6.0 * wide, 1201)
    weight = np.zeros((noises.size, bias.size)) - 0.5 * (bias / wide) ** 2
    for low, high in readings:
        weight += _log_likelihood(low, high, true_mg_per_l, bias, noises[:, None])
    density = np.exp(weight - weight.max()).sum(axis=0)
    density /= density.sum()
    seen_mean = float((bias * density).sum())
    seen_var = float(((bias - seen_mean) ** 2 * density).sum())
    # factor = share x seen + rest: the normal regression of the factor on factor plus the standard's error
    share = prior_log_sd**2 / wide**2
    log_mean = share * seen_mean
    log_sd = math.sqrt(share**2 * seen_var + share * true_relative_sd**2)
    return _described(log_mean, log_sd, readings, true_mg_per_l, noise_log_sd)


def _log_likelihood(low: float, high: float, true: float, bias: FloatArray, noise: FloatArray) -> FloatArray:
    from scipy.special import log_ndtr  # late: heavy

    centre = math.log(true) + bias
    if low == high:
        z = (math.log(low) - centre) / noise
        return np.asarray(-0.5 * z**2 - np.log(noise))
    upper = (
        (math.log(high) - centre) / noise if math.isfinite(high) else np.full(np.broadcast(centre, noise).shape, 40.0)
    )
    lower = (math.log(low) - centre) / noise if low > 0 else np.full(np.broadcast(centre, noise).shape, -40.0)
    # in the upper tail both are near one: take the difference in the lower tail instead
    flip = lower > 0
    a, b = np.where(flip, -lower, upper), np.where(flip, -upper, lower)
    top = log_ndtr(a)
    return np.asarray(top + np.log1p(-np.exp(np.minimum(log_ndtr(b) - top, -1e-15))))


def _check(
    readings: Sequence[tuple[float, float]],
    true: float,
    true_sd: float,
    noise: float | None,
    prior: float,
) -> None:
    if not readings:
        raise BiasError(what="no reading of it", right="Read the standard at least once, better three times.")
    if not (math.isfinite(true) and true > 0):
        raise BiasError(what=f"it holds {true:g} mg/L", right="Give what it holds, above zero.")
    for name, value in (("doubt of the standard", true_sd), ("noise", noise), ("doubt beforehand", prior)):
        least = 0.0 if name == "doubt of the standard" else 1e-6
        if value is not None and not (least <= value <= 3.0):
            raise BiasError(what=f"the {name} is {value:g}", right="Give a share of the level above zero, such as 0.1.")
    for low, high in readings:
        if not (0 <= low <= high and high > 0) or math.isnan(high) or math.isinf(low):
            what = f"a reading from {low:g} to {high:g} mg/L"
            raise BiasError(what=what, right="Give the lowest and the highest that it may be, zero or more.")


def _described(
    log_mean: float, log_sd: float, readings: Sequence[tuple[float, float]], true: float, noise: float | None
) -> BiasFactor:
    bare = BiasFactor(log_mean, log_sd, len(readings), (), ())
    side = "too much" if bare.factor > 1 else "too little"
    apart = max(bare.factor, 1.0 / bare.factor)
    certain = bare.low > 1 or bare.high < 1
    if certain:
        comment = f"The test reads {side}: a reading stands for about {100 / bare.factor:.0f} % of itself. "
        comment += "Littoral can take that into account; a fresh test may read otherwise."
    elif bare.high / bare.low > OFF**2 * 1.5:
        comment = (
            "These readings leave much open. Read the standard a few more times, or make one near a border of the "
        )
        comment += "card's steps."
    else:
        comment = "Nothing speaks against the test."
    row = CheckRow(
        what="how far the test reads off",
        value=apart,
        operator="<=",
        limit=OFF,
        unit="fold",
        verdict="warns"
        if certain and apart > OFF
        else "holds"
        if bare.low > 1 / OFF and bare.high < OFF
        else "cannot tell",
        comment=comment,
        source="your readings of the standard; limit: common practice, no source",
    )
    spans = ", ".join(f"{low:g}-{high:g}" for low, high in readings)
    noisy = f"noise {noise:g}" if noise is not None else f"noise from {NOISE[0]:g} to {NOISE[1]:g}"
    steps = (
        Step(
            "readings of the standard", f"{spans} mg/L, with {true:g} mg/L in it", f"{len(readings)}", "your readings"
        ),
        Step(
            "reading over truth",
            f"log-normal, {noisy}, integrated on a grid",
            f"{bare.factor:.3g} ({bare.low:.3g} to {bare.high:.3g})",
            "normal-normal case, Gelman et al., Bayesian Data Analysis (from memory)",
        ),
    )
    return BiasFactor(log_mean, log_sd, len(readings), (row,), steps)
