"""Equivalence: whether a number is shown to lie within a margin set beforehand, by two one-sided tests.

Schuirmann 1987 (J Pharmacokinet Biopharm 15:657-680): both one-sided tests at level alpha say "within" exactly where
the central 1 - 2 alpha interval lies inside the margin. Not having found a difference is no equivalence: then it is
unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.stats.estimate import Estimate

ALPHA = 0.05
"""Level of each one-sided test, as is usual; the interval is then one of 90 %."""

Equality = Literal["within", "outside", "unknown"]


@dataclass(frozen=True, slots=True)
class Equivalence:
    """The estimate, its 1 - 2 alpha interval, all in one unit; `p_value` is the larger of the two one-sided ones."""

    value: float
    low: float
    high: float
    p_value: float
    equality: Equality


def two_one_sided_tests(estimate: Estimate, *, margin: float, alpha: float = ALPHA) -> Equivalence:
    """Return whether a number is shown to lie within -margin to margin, or shown to lie outside, or neither.

    `margin` is above zero, in the estimate's unit; `alpha` between 0 and 0.5. Outside means that the whole interval is.
    ValueError for other values.
    """
    if not margin > 0 or not 0 < alpha < 0.5:
        raise ValueError(f"margin {margin} must be above 0 and alpha {alpha} between 0 and 0.5")
    below, above = estimate.cdf(np.array([-margin, margin]))
    p_value = float(max(below, 1 - above))
    if np.all(estimate.scale == 0):
        low = high = estimate.value
    else:
        low, high = estimate.interval(1 - 2 * alpha)
    equality: Equality = "unknown"
    if -margin <= low and high <= margin:
        equality = "within"
    elif low > margin or high < -margin:
        equality = "outside"
    return Equivalence(estimate.value, low, high, p_value, equality)
