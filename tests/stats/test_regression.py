"""The averaged regression against slow, obvious twins."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from littoral.stats.regression import CORRELATIONS, WHITE_SHARES, error_shapes, fit


def test_weights_are_the_marginal_likelihood_by_brute_force() -> None:
    """Twin: integrate likelihood over mean and log sigma on a fine grid with SciPy's multivariate normal."""
    rng = np.random.default_rng(0)
    day = np.array([0.0, 1.0, 2.0, 4.0, 5.0, 7.0])
    value = np.array([0.1, 0.5, 0.2, -0.3, -0.6, -0.1]) + rng.normal(0, 0.05, 6)
    design = np.ones((6, 1))
    fitted = fit(day, value, design, structures=("autocorrelated",))
    shapes, prior, _ = error_shapes(day, ("autocorrelated",))
    chosen = [0, 17, 40]
    means = np.linspace(-6, 6, 2401)
    log_sigmas = np.linspace(-4, 3, 281)
    likelihoods = []
    for g in chosen:
        total = 0.0
        for log_sigma in log_sigmas:
            normal = stats.multivariate_normal(np.zeros(6), np.exp(2 * log_sigma) * shapes[g])
            total += normal.pdf(value[None, :] - means[:, None]).sum()
        likelihoods.append(prior[g] * total)
    ratio = np.array(likelihoods) / likelihoods[0]
    assert fitted.weight[chosen] / fitted.weight[chosen[0]] == pytest.approx(ratio, rel=1e-3)


def test_coefficients_of_one_structure_are_generalised_least_squares() -> None:
    rng = np.random.default_rng(1)
    day = np.sort(rng.uniform(0, 20, 15))
    design = np.column_stack([np.ones(15), day])
    value = design @ [1.0, 0.3] + rng.normal(0, 0.2, 15)
    fitted = fit(day, value, design)
    shapes, _, kinds = error_shapes(day, ("white", "autocorrelated", "random walk"))
    for g in (0, 5, len(kinds) - 1):
        inverse = np.linalg.inv(shapes[g])
        covariance = np.linalg.inv(design.T @ inverse @ design)
        beta = covariance @ design.T @ inverse @ value
        rest = value - design @ beta
        assert fitted.coefficient[g] == pytest.approx(beta, rel=1e-8)
        assert fitted.covariance[g] == pytest.approx(covariance, rel=1e-7)
        assert fitted.variance[g] == pytest.approx(rest @ inverse @ rest / 13, rel=1e-7)


def test_weight_goes_to_the_structure_that_made_the_series() -> None:
    rng = np.random.default_rng(4)
    day = np.arange(120.0)
    line = np.column_stack([np.ones(120), day])
    white = fit(day, rng.normal(size=120), line)
    walk = fit(day, np.cumsum(rng.normal(size=120)), line)
    assert walk.weight_of["random walk"] > 3 * white.weight_of["random walk"]
    assert white.weight_of["white"] > 20 * walk.weight_of["white"]
    assert sum(walk.weight_of.values()) == pytest.approx(1)


def test_scale_and_origin_of_the_days_do_not_matter() -> None:
    rng = np.random.default_rng(9)
    day = np.sort(rng.uniform(0, 30, 20))
    value = rng.normal(size=20)
    here = fit(day, value, np.column_stack([np.ones(20), day])).contrast([0, 1]).interval()
    there = fit(24 * day + 500, value, np.column_stack([np.ones(20), 24 * day + 500])).contrast([0, 24]).interval()
    assert there == pytest.approx(here, rel=1e-5)


def test_grid_sizes_are_what_the_prior_assumes() -> None:
    _, prior, kinds = error_shapes(np.arange(5.0), ("white", "autocorrelated", "random walk"))
    assert prior.sum() == pytest.approx(1)
    assert kinds.count("autocorrelated") == len(CORRELATIONS) * len(WHITE_SHARES)
    assert prior[[kind == "white" for kind in kinds]].sum() == pytest.approx(1 / 3)
