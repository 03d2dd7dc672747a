"""Draws from a posterior whose prior is standard normal: a tempered ladder of emcee ensembles, checked for convergence.

From draws of the prior (Sobol's sequence) the likelihood is let in by powers from 0 to 1, each as large as keeps half
of the effective draws (Del Moral, Doucet & Jasra 2006, J. R. Stat. Soc. B 68:411-436, from memory). At each power they
are resampled and moved by emcee (Foreman-Mackey et al. 2013, PASP 125:306-312). Its moves here: differential evolution,
and steps of `AroundTheOthers`. Draws at power 1 are kept once settled; what is handed back says how well they mixed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import emcee
import numpy as np
from emcee.moves import DEMove, RedBlueMove
from scipy.special import ndtri
from scipy.stats import qmc

from littoral.tank.events import FloatArray
from littoral.tank.fit.methods import FitError

LogLikelihood = Callable[[FloatArray], FloatArray]

WALKERS = 512
LADDER_SWEEPS = 6
SETTLING_SWEEPS = 24
KEPT_SWEEPS = 40
MOST_ROUNDS = 4
KEPT_DRAWS = 2048
LARGEST_R_HAT = 1.01
GROUPS = 8
FEWEST_EFFECTIVE = 400.0


@dataclass(frozen=True, slots=True)
class Mixing:
    """How well draws mixed: worst nested, split R-hat, fewest effective draws, share of moves accepted, sweeps, powers.

    `settled`: R-hat at most 1.01 and at least 400 effective draws in every column (Vehtari et al. 2021, Bayesian
    Analysis 16:667-718, from memory).
    """

    r_hat: float
    effective_draws: float
    accepted: float
    sweeps: int
    powers: tuple[float, ...]

    @property
    def settled(self) -> bool:
        """Return whether the draws may be trusted."""
        return self.r_hat <= LARGEST_R_HAT and self.effective_draws >= FEWEST_EFFECTIVE


class AroundTheOthers(RedBlueMove):  # type: ignore[misc] # emcee has no types
    """Propose m + sqrt(1 - e²)(z - m) + e N(0, C), with mean m and covariance C of the other half of the walkers.

    It leaves N(m, C) as it is (preconditioned Crank-Nicolson: Cotter et al. 2013, Statist. Sci. 28:424-446, from
    memory), so many columns do not slow it where the posterior is near normal. Steps e are drawn from a few sizes.
    """

    sizes = (1.0, 0.7, 0.4, 0.2, 0.1)

    def get_proposal(
        self, walkers: FloatArray, others: list[FloatArray], random: np.random.RandomState
    ) -> tuple[FloatArray, FloatArray]:
        """Return proposals (n, columns) and the log ratio of the proposal densities (n,), as emcee asks."""
        other = np.concatenate(others)
        mean = other.mean(axis=0)
        # einsum, not matrix products: their threads cost more than they bring at this size
        around = other - mean
        covariance = np.einsum("ij,ik->jk", around, around) / (len(other) - 1)
        root = np.linalg.cholesky(covariance + 1e-6 * np.eye(other.shape[1]))
        whiten = np.linalg.inv(root)
        size = random.choice(self.sizes, size=len(walkers))[:, None]
        noise = np.einsum("ij,kj->ik", random.standard_normal(walkers.shape), root)
        proposed = mean + np.sqrt(1.0 - size**2) * (walkers - mean) + size * noise

        def log_density(z: FloatArray) -> FloatArray:
            density: FloatArray = -0.5 * (np.einsum("ij,kj->ik", z - mean, whiten) ** 2).sum(axis=1)
            return density

        return proposed, log_density(walkers) - log_density(proposed)


def draw_posterior(
    log_likelihood: LogLikelihood, columns: int, rng: np.random.Generator, *, walkers: int = WALKERS
) -> tuple[FloatArray, Mixing]:
    """Return draws, shape (KEPT_DRAWS, columns), equally weighted, and how they mixed. `rng` decides everything.

    `log_likelihood` maps (n, columns) to (n,) and is finite. Sweeps are doubled until the draws settle, at most to
    eightfold; then `Mixing.settled` says no. Raises FitError where the likelihood is not finite.
    """
    walkers = max(walkers, 8 * columns)
    random = np.random.RandomState(rng.integers(2**32, dtype=np.uint32))
    # the first draws of a Sobol sequence balance where their number is a power of two
    start = qmc.Sobol(columns, rng=rng).random_base2(int(np.ceil(np.log2(walkers))))[:walkers]
    z = ndtri(np.clip(start, 1e-12, 1.0 - 1e-12))
    power, powers = 0.0, []
    while power < 1.0:
        found = log_likelihood(z)
        if not np.isfinite(found).all():
            raise FitError(["A likelihood is no number. Look for levels or doses out of all proportion."])
        following = _next_power(found, power)
        z = z[_resampled((following - power) * found, random)]
        power = following
        powers.append(power)
        sampler = _sampler(log_likelihood, power, len(z), columns)
        z = _moved(sampler, z, LADDER_SWEEPS if power < 1.0 else SETTLING_SWEEPS, random)
    kept, chains = KEPT_SWEEPS, None
    for _ in range(MOST_ROUNDS):
        sampler = _sampler(log_likelihood, 1.0, len(z), columns)
        z = _moved(sampler, z, kept, random)
        chains = sampler.get_chain()
        mixing = _mixing(chains, float(np.mean(sampler.acceptance_fraction)), powers)
        if mixing.settled:
            break
        kept *= 2
    assert chains is not None
    flat = chains.reshape(-1, columns)
    return flat[random.choice(len(flat), size=KEPT_DRAWS, replace=False)], mixing


def nested_r_hat(chains: FloatArray) -> FloatArray:
    """Return split, nested R-hat of each column; `chains` is (sweeps, walkers, columns).

    Walkers in `GROUPS` groups, and their sweeps in halves, are treated as chains: a single short walk says little, many
    together do (Margossian et al. 2024, Bayesian Analysis, "Nested R-hat", from memory; split: Gelman et al. 2013,
    Bayesian Data Analysis, 3rd ed., section 11.4, from memory).
    """
    half, walkers, columns = len(chains) // 2, chains.shape[1] // GROUPS * GROUPS, chains.shape[2]
    # emcee moves walkers in two halves; every GROUPS-th walker is in a group, so each group has some of both
    halves = [chains[:half, :walkers], chains[half : 2 * half, :walkers]]
    groups = np.concatenate([part.reshape(half, -1, GROUPS, columns) for part in halves], axis=2)
    means = groups.mean(axis=(0, 1))
    within = groups.var(axis=(0, 1), ddof=1).mean(axis=0)
    r_hat: FloatArray = np.sqrt(1.0 + means.var(axis=0, ddof=1) / within)
    return r_hat


def effective_share(log_weights: FloatArray) -> float:
    """Return the effective draws of weighted ones over their number (Kish)."""
    weights = np.exp(log_weights - log_weights.max())
    return float(weights.sum() ** 2 / (weights**2).sum() / len(weights))


def _next_power(log_likelihood: FloatArray, power: float) -> float:
    if effective_share((1.0 - power) * log_likelihood) >= 0.5:
        return 1.0
    low, high = power, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        if effective_share((middle - power) * log_likelihood) >= 0.5:
            low = middle
        else:
            high = middle
    return high


def _resampled(log_weights: FloatArray, random: np.random.RandomState) -> np.ndarray:
    """Return row numbers by systematic resampling, shuffled so that the halves of an ensemble are alike."""
    weights = np.exp(log_weights - log_weights.max())
    n = len(weights)
    places = (random.random_sample() + np.arange(n)) / n
    rows = np.searchsorted(np.cumsum(weights) / weights.sum(), places)
    return random.permutation(np.minimum(rows, n - 1))


def _sampler(log_likelihood: LogLikelihood, power: float, walkers: int, columns: int) -> emcee.EnsembleSampler:
    def log_density(z: FloatArray) -> FloatArray:
        density: FloatArray = -0.5 * (z**2).sum(axis=1) + power * log_likelihood(z)
        return density

    moves = [(AroundTheOthers(), 0.8), (DEMove(), 0.2)]
    return emcee.EnsembleSampler(walkers, columns, log_density, vectorize=True, moves=moves)


def _moved(sampler: emcee.EnsembleSampler, z: FloatArray, sweeps: int, random: np.random.RandomState) -> FloatArray:
    """Run some sweeps from z with the state of `random`, which goes on from where emcee left it."""
    sampler.random_state = random.get_state()
    # resampled walkers repeat at first, which emcee would take for a mistake
    sampler.run_mcmc(z, sweeps, skip_initial_state_check=True)
    random.set_state(sampler.random_state)
    last: FloatArray = sampler.get_last_sample().coords
    return last


def correlated_sweeps(chains: FloatArray) -> FloatArray:
    """Return over how many sweeps a column remembers itself (integrated autocorrelation time), at least 1.

    `chains` is (sweeps, walkers, columns). Covariances are taken over all walkers around their common mean, so short
    walks and even walkers that never moved count rightly; summed up to the window of Sokal (5 times the sum).
    """
    around = chains - chains.mean(axis=(0, 1))
    variance = (around**2).mean(axis=(0, 1))
    lags = len(chains) - 1
    at_lag = np.stack(
        [np.einsum("twc,twc->c", around[lag:], around[:-lag]) / around[lag:, :, 0].size for lag in range(1, lags)]
    )
    summed = 1.0 + 2.0 * np.cumsum(at_lag / variance, axis=0)
    closed = np.arange(1, lags)[:, None] >= 5.0 * summed
    last = np.where(closed.any(axis=0), closed.argmax(axis=0), lags - 2)
    found: FloatArray = np.maximum(summed[last, np.arange(chains.shape[2])], 1.0)
    return found


def _mixing(chains: FloatArray, accepted: float, powers: list[float]) -> Mixing:
    return Mixing(
        r_hat=float(nested_r_hat(chains).max()),
        effective_draws=float(chains.shape[0] * chains.shape[1] / correlated_sweeps(chains).max()),
        accepted=accepted,
        sweeps=len(chains),
        powers=tuple(powers),
    )
