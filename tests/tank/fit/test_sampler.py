"""The sampler where the answer is known, and the check that says when draws have not mixed."""

from __future__ import annotations

import numpy as np
import pytest

from littoral.tank.events import FloatArray
from littoral.tank.fit.methods import FitError
from littoral.tank.fit.sampler import correlated_sweeps, draw_posterior, effective_share, nested_r_hat

COLUMNS = 15


def test_a_normal_posterior_comes_back() -> None:
    """Standard normal prior, one noisy sum of columns read: textbook conjugate mean and covariance."""
    weights, noise_sd, seen = np.linspace(-1, 2, COLUMNS), 0.3, 2.5

    def log_likelihood(z: FloatArray) -> FloatArray:
        result: FloatArray = -0.5 * ((z @ weights - seen) / noise_sd) ** 2
        return result

    z, mixing = draw_posterior(log_likelihood, COLUMNS, np.random.default_rng(2))
    precision = np.eye(COLUMNS) + np.outer(weights, weights) / noise_sd**2
    covariance = np.linalg.inv(precision)
    mean = covariance @ weights * seen / noise_sd**2
    assert mixing.settled
    assert z.mean(axis=0) == pytest.approx(mean, abs=0.11)
    assert z.std(axis=0) == pytest.approx(np.sqrt(np.diag(covariance)), rel=0.08)
    assert (z @ weights).std() == pytest.approx(np.sqrt(weights @ covariance @ weights), rel=0.08)


def test_two_separate_answers_keep_their_shares() -> None:
    """Two peaks at -2 and 2 in one column, weighing one to three."""

    def log_likelihood(z: FloatArray) -> FloatArray:
        peaks = np.exp(-0.5 * ((z[:, 0] + 2) / 0.3) ** 2) + 3 * np.exp(-0.5 * ((z[:, 0] - 2) / 0.3) ** 2)
        result: FloatArray = np.log(peaks + 1e-30)
        return result

    z, _ = draw_posterior(log_likelihood, 4, np.random.default_rng(3))
    assert (z[:, 0] > 0).mean() == pytest.approx(0.75, abs=0.06)


def test_the_same_generator_gives_the_same_draws() -> None:
    def log_likelihood(z: FloatArray) -> FloatArray:
        return -((z[:, 0] - 1) ** 2)

    one, _ = draw_posterior(log_likelihood, 3, np.random.default_rng(9))
    two, _ = draw_posterior(log_likelihood, 3, np.random.default_rng(9))
    other, _ = draw_posterior(log_likelihood, 3, np.random.default_rng(10))
    assert np.array_equal(one, two)
    assert not np.array_equal(one, other)


def test_chains_that_drift_or_disagree_are_seen() -> None:
    rng = np.random.default_rng(4)
    mixed = rng.standard_normal((40, 512, 3))
    assert nested_r_hat(mixed).max() < 1.01
    drifting = mixed + np.linspace(0, 1, 40)[:, None, None]
    assert nested_r_hat(drifting).min() > 1.02


def test_effective_share_of_weights() -> None:
    assert effective_share(np.zeros(10)) == pytest.approx(1.0)
    assert effective_share(np.array([0.0, -np.inf, -np.inf, -np.inf])) == pytest.approx(0.25)


def test_a_likelihood_that_is_no_number_is_refused() -> None:
    with pytest.raises(FitError, match="no number"):
        draw_posterior(lambda z: np.full(len(z), np.nan), 2, np.random.default_rng(0))


def test_memory_of_a_known_walk() -> None:
    """First-order autoregression with 0.8 remembers (1 + 0.8)/(1 - 0.8) = 9 sweeps; also in walks of forty."""
    rng = np.random.default_rng(0)
    states = [rng.standard_normal((512, 4))]
    for _ in range(39):
        states.append(0.8 * states[-1] + 0.6 * rng.standard_normal((512, 4)))
    assert correlated_sweeps(np.array(states)) == pytest.approx(9.0, rel=0.15)
