"""Dunnett's intervals against SciPy's, which samples what is integrated here."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from littoral.stats.many_to_one import dunnett, dunnett_half_widths

RNG = np.random.default_rng(11)
CONTROL = RNG.normal(10, 1, 6)
DOSES = [RNG.normal(mean, 1, size) for mean, size in ((10, 4), (9.2, 3), (8.5, 5))]


def test_intervals_are_scipys() -> None:
    theirs = stats.dunnett(*DOSES, control=CONTROL, rng=np.random.default_rng(1)).confidence_interval(0.95)
    middle = dunnett(DOSES, CONTROL).difference
    half = dunnett_half_widths(DOSES, CONTROL)
    assert middle - half == pytest.approx(theirs.low, abs=5e-3)
    assert middle + half == pytest.approx(theirs.high, abs=5e-3)


def test_an_interval_leaves_out_zero_where_the_test_calls() -> None:
    for shift in np.linspace(0, 3, 13):
        doses = [DOSES[0] - shift, DOSES[1]]
        found, half = dunnett(doses, CONTROL), dunnett_half_widths(doses, CONTROL)
        assert ((np.abs(found.difference) > half) == (found.p_value < 0.05)).all()


def test_a_one_sided_interval_is_scipys_and_leaves_out_zero_where_that_test_calls() -> None:
    theirs = stats.dunnett(*DOSES, control=CONTROL, alternative="less", rng=np.random.default_rng(1))
    reach = dunnett_half_widths(DOSES, CONTROL, side="less")
    assert dunnett(DOSES, CONTROL).difference + reach == pytest.approx(theirs.confidence_interval(0.95).high, abs=5e-3)
    assert (reach < dunnett_half_widths(DOSES, CONTROL)).all()
    told_apart = 0
    for shift in np.linspace(0, 3, 25):
        doses = [DOSES[0] - shift, DOSES[1]]
        found, both = dunnett(doses, CONTROL, side="less"), dunnett_half_widths(doses, CONTROL)
        high = found.difference + dunnett_half_widths(doses, CONTROL, side="less")
        assert ((high < 0) == (found.p_value < 0.05)).all()
        told_apart += int(((found.p_value < 0.05) & (np.abs(found.difference) < both)).sum())
    assert told_apart  # where the two-sided interval would have stood beside a call, 0 within it


def test_the_interval_of_one_dose_is_a_t_interval() -> None:
    theirs = stats.ttest_ind(DOSES[0], CONTROL).confidence_interval(0.95)
    half = dunnett_half_widths(DOSES[:1], CONTROL)
    assert 2 * float(half[0]) == pytest.approx(float(theirs.high - theirs.low), rel=1e-5)
