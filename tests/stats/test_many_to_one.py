"""Doses against one control: SciPy's Dunnett, exact bivariate t for Williams, validity rows of the guidelines."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from littoral.stats.many_to_one import dunnett, residual_normality, rising, williams, williams_tail
from littoral.stats.regression import TooFewPointsError
from littoral.stats.validity import oecd_221_validity, oecd_239_validity

RNG = np.random.default_rng(8)
CONTROL = RNG.normal(10, 1, 6)
DOSES = [RNG.normal(mean, 1, 4) for mean in (10, 9.2, 8.5)]


@pytest.mark.parametrize("side", ["two-sided", "less", "greater"])
def test_dunnett_is_scipys(side: str) -> None:
    ours = dunnett(DOSES, CONTROL, side=None if side == "two-sided" else side)
    theirs = stats.dunnett(*DOSES, control=CONTROL, alternative=side)
    assert ours.statistic == pytest.approx(theirs.statistic)
    assert ours.p_value == pytest.approx(theirs.pvalue, abs=2e-4)
    assert ours.df == 14


def test_dunnett_of_one_dose_is_a_t_test() -> None:
    ours = dunnett(DOSES[:1], CONTROL)
    theirs = stats.ttest_ind(DOSES[0], CONTROL)
    assert float(ours.p_value[0]) == pytest.approx(float(theirs.pvalue), abs=1e-9)


def test_williams_of_one_dose_is_a_t_test() -> None:
    ours = williams(DOSES[1:2], CONTROL, side="less")
    theirs = stats.ttest_ind(DOSES[1], CONTROL, alternative="less")
    assert float(ours.p_value[0]) == pytest.approx(float(theirs.pvalue), abs=1e-7)
    assert float(ours.critical[0]) == pytest.approx(float(stats.t.ppf(0.95, 8)), abs=1e-5)


@pytest.mark.parametrize(
    ("control", "sizes", "df", "t"), [(4, (4, 4), 15, 1.8395), (6, (4, 4), 23, 1.7), (5, (3, 6), 9, 2.2)]
)
def test_two_doses_are_a_bivariate_t(control: int, sizes: tuple[int, int], df: int, t: float) -> None:
    last, both = 1 / sizes[1] + 1 / control, 1 / sum(sizes) + 1 / control
    covariance = np.array([[last, both], [both, both]]) / last

    def beyond(s: float) -> float:
        inside = stats.multivariate_normal.cdf([t * s, t * s], mean=[0, 0], cov=covariance)
        return float(stats.chi2.pdf(s * s * df, df) * 2 * s * df * (1 - inside))

    obvious = quad(beyond, 1e-6, 4, limit=200)[0]
    ours = williams_tail(t, sizes=tuple(float(one) for one in sizes), control=float(control), df=df)
    assert ours == pytest.approx(obvious, abs=1e-6)


def test_williams_smooths_and_stops_at_the_first_that_is_not_called() -> None:
    assert rising(np.array([1.0, 3.0, 2.0]), np.array([1.0, 1.0, 3.0])).tolist() == [1.0, 2.25, 2.25]
    control = np.array([10.0, 10.2, 9.8, 10.1, 9.9, 10.0])
    low, high = np.array([10.1, 9.9, 10.0, 10.0]), np.array([8.0, 8.1, 7.9, 8.0])
    found = williams([low, high], control, side="less")
    assert found.called == (False, True)
    assert found.no_effect_below == 0
    assert williams([high, high], control, side="less").no_effect_below == -1
    assert williams([high, high], control, side="greater").called == (False, False)


def test_left_over_values_are_looked_at_about_their_own_means() -> None:
    shifted = [DOSES[0] + 100, DOSES[1] - 50, CONTROL]
    plain = residual_normality([DOSES[0], DOSES[1], CONTROL])
    assert residual_normality(shifted).w == pytest.approx(plain.w)


def test_too_few_vessels_are_refused() -> None:
    with pytest.raises(TooFewPointsError):
        dunnett([np.array([1.0])], np.array([2.0]))
    with pytest.raises(TooFewPointsError):
        williams([], CONTROL, side="less")
    with pytest.raises(TooFewPointsError):
        residual_normality([np.array([1.0, 2.0])])


@pytest.mark.parametrize(("end", "verdict"), [(176.0, "holds"), (83.0, "fails"), (12.0, "fails"), (10.0, "fails")])
def test_duckweed_must_double_in_under_two_and_a_half_days(end: float, verdict: str) -> None:
    (row,) = oecd_221_validity(fronds_start=np.full(3, 12.0), fronds_end=np.full(3, end), days=7)
    assert row.verdict == verdict
    if end == 176.0:
        assert row.value == pytest.approx(1.80670, abs=5e-6)


def test_water_milfoil_must_double_and_be_even() -> None:
    start, grown = np.full(6, 2.5), np.array([5.5, 6.0, 5.8, 5.2, 6.1, 5.4])
    good = oecd_239_validity(
        length_start=start, length_end=grown, weight_start=start, weight_end=grown, days=14, vessels_per_dose=4
    )
    assert [row.verdict for row in good] == ["holds"] * 6
    uneven = np.array([2.6, 9.0, 3.0, 9.5, 2.7, 8.0])
    bad = oecd_239_validity(
        length_start=start[:5], length_end=start[:5] * 1.9, weight_start=start[:5], weight_end=uneven[:5], days=7,
        vessels_per_dose=3,
    )  # fmt: skip
    assert [row.verdict for row in bad] == ["fails", "holds", "fails", "warns", "warns", "warns"]
    assert all(row.source and row.comment for row in bad)
    with pytest.raises(TooFewPointsError):
        oecd_239_validity(length_start=start, length_end=grown, weight_start=start[:1], weight_end=grown[:1], days=14)
