"""A finding's difference as a ratio: ln(second arm / first arm), so that homes of unlike growth can be pooled."""

from __future__ import annotations

import math

from littoral.findings.model import Finding, Interval

RATIO_MEASURES = frozenset(
    {"height growth", "cover growth", "compactness", "trimmed mass", "yield", "care minutes", "cost"}
)
"""Measures with a true zero. a* has none, and algae are counted from what was there in the first days."""

NORMAL_95 = 1.959964


def log_ratio_of(finding: Finding) -> Interval | None:
    """Return ln(second / first) of a finding with its 95 % interval; None where it has no ratio.

    m1 and m2 lie the effect apart around the mean of both arms' values, so that the ratio is of the very difference
    that decides. With the arms' standard errors s1, s2 and that of the difference, sd, which holds what the two have in
    common and how tanks differ, the delta method gives var = s1^2/m1^2 + s2^2/m2^2 - (s1^2 + s2^2 - sd^2)/(m1 m2). For
    independent arms that is Hedges, Gurevitch & Curtis 1999, Ecology 80:1150-1156. Errors are the intervals' half
    widths over 1.96, which is too large rather than too small where t was used.
    """
    if finding.measure not in RATIO_MEASURES or finding.low is None or finding.high is None:
        return None
    keys = list(dict.fromkeys(value.arm for value in finding.arms))[:2]
    if len(keys) < 2:
        return None
    means, variances = [], []
    for key in keys:
        own = [value for value in finding.arms if value.arm == key]
        if any(value.low is None or value.high is None for value in own):
            return None
        means.append(sum(value.value for value in own) / len(own))
        variances.append(sum(_error(value.low or 0.0, value.high or 0.0) ** 2 for value in own) / len(own) ** 2)
    if finding.effect is None:
        return None
    middle = sum(means) / 2
    m1, m2 = middle - finding.effect / 2, middle + finding.effect / 2
    v1, v2 = variances
    if not (m1 > 0 and m2 > 0 and all(map(math.isfinite, (m1, m2, v1, v2, finding.low, finding.high)))):
        return None
    difference = _error(finding.low, finding.high) ** 2
    variance = v1 / m1**2 + v2 / m2**2 - (v1 + v2 - difference) / (m1 * m2)
    if not variance > 0:
        return None
    value = math.log(m2 / m1)
    half = NORMAL_95 * math.sqrt(variance)
    return Interval(value, value - half, value + half)


def _error(low: float, high: float) -> float:
    return (high - low) / (2 * NORMAL_95)
