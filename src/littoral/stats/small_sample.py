"""Standard errors and degrees of freedom of a mixed model with few groups: Kenward–Roger and Satterthwaite.

Kenward & Roger 1997 (Biometrics 53:983-997) widen the standard errors for the components being estimated, and scale
the F test; Satterthwaite 1946 (Biometrics Bull 2:110-114) matches the variance of a variance; several rows at once
after Fai & Cornelius 1996 (J Stat Comput Simul 54:363-378). Both need a covariance linear in its components.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from littoral.stats.blocks import Blocks, inverses
from littoral.stats.estimate import NORMAL_DF
from littoral.stats.series import FloatArray

Method = Literal["kenward-roger", "satterthwaite"]


@dataclass(frozen=True, slots=True)
class FTest:
    """An F test: the (scaled) statistic, its two degrees of freedom, and the p value."""

    f: float
    numerator_df: int
    denominator_df: float
    p_value: float


@dataclass(frozen=True, slots=True, eq=False)
class SmallSample:
    """What a mixed model knows about its p coefficients, and about its k components.

    `covariance` (p, p) as large samples have it, `adjusted` (p, p) after Kenward & Roger; `change` (k, p, p) of the
    covariance by each component; covariance (k, k) of the components, from the expected or the observed information.
    """

    coefficient: FloatArray
    covariance: FloatArray
    adjusted: FloatArray
    change: FloatArray = field(repr=False)
    expected: FloatArray = field(repr=False)
    observed: FloatArray = field(repr=False)

    def spread_and_df(self, of: FloatArray, *, method: Method) -> tuple[float, float]:
        """Return standard error and degrees of freedom of the sum of coefficients weighted by `of` (p,)."""
        variance = float(of @ self.covariance @ of)
        by = np.einsum("i,kij,j->k", of, self.change, of)
        components = self.expected if method == "kenward-roger" else self.observed
        doubt = float(by @ components @ by)
        df = 2 * variance**2 / doubt if doubt > 2 * variance**2 / NORMAL_DF else NORMAL_DF
        used = self.adjusted if method == "kenward-roger" else self.covariance
        return float(np.sqrt(max(float(of @ used @ of), 0.0))), df

    def f_test(self, rows: FloatArray, coefficient: FloatArray, *, method: Method) -> FTest:
        """Return the F test of rows (q, p) · coefficient = 0."""
        from scipy.stats import f as f_distribution

        q = rows.shape[0]
        estimate = rows @ coefficient
        if method == "kenward-roger":
            f = float(estimate @ np.linalg.solve(rows @ self.adjusted @ rows.T, estimate)) / q
            scale, df = self._kenward_roger(rows)
            f *= scale
        else:
            f = float(estimate @ np.linalg.solve(rows @ self.covariance @ rows.T, estimate)) / q
            df = self._fai_cornelius(rows)
        return FTest(f=f, numerator_df=q, denominator_df=df, p_value=float(f_distribution.sf(f, q, df)))

    def _kenward_roger(self, rows: FloatArray) -> tuple[float, float]:
        """Return the factor on F and the denominator df; notation of Kenward & Roger 1997, section 3.2."""
        q = rows.shape[0]
        if q == 1:  # the general formula comes to this
            return 1.0, self.spread_and_df(rows[0], method="kenward-roger")[1]
        theta = rows.T @ np.linalg.solve(rows @ self.covariance @ rows.T, rows)
        turned = np.einsum("ij,kjl->kil", theta, self.change)
        traces = np.einsum("kii->k", turned)
        a1 = float(traces @ self.expected @ traces)
        a2 = float(np.einsum("kij,lji,kl->", turned, turned, self.expected))
        if a2 < 2 * q / NORMAL_DF:
            return 1.0, NORMAL_DF
        b = (a1 + 6 * a2) / (2 * q)
        g = ((q + 1) * a1 - (q + 4) * a2) / ((q + 2) * a2)
        c1, c2, c3 = (np.array([g, q - g, q + 2 - g]) / (3 * q + 2 * (1 - g))).tolist()
        rho = ((1 - a2 / q) / (1 - c2 * b)) ** 2 * (1 + c1 * b) / (1 - c3 * b) / q
        df = 4 + (q + 2) / (q * rho - 1)
        return (df * (1 - a2 / q) / (df - 2) if df > 2 else 1.0), df

    def _fai_cornelius(self, rows: FloatArray) -> float:
        """Return the denominator df from those of q uncorrelated single rows."""
        _, vectors = np.linalg.eigh(rows @ self.covariance @ rows.T)
        single = [self.spread_and_df(row, method="satterthwaite")[1] for row in vectors.T @ rows]
        q = len(single)
        if q == 1 or np.ptp(single) < 1e-8 * single[0]:
            return float(np.mean(single))
        means = sum(df / (df - 2) for df in single if df > 2)
        return 2 * means / (means - q) if means > q else 2.0


def small_sample(theta: FloatArray, blocks: tuple[Blocks, ...], *, at_edge: bool) -> SmallSample:
    """Return what is known of a model in blocks, with components `theta` (k,), the rest's last.

    `at_edge`: a component is 0, the likelihood is not flat there, and only the expected information makes sense.
    """
    inverse, _ = inverses(theta, blocks)
    weighted = [inv @ one.design for inv, one in zip(inverse, blocks, strict=True)]
    covariance = np.linalg.inv(
        sum(np.einsum("mip,miq->pq", one.design, w) for one, w in zip(blocks, weighted, strict=True))
    )
    coefficient = covariance @ sum(
        np.einsum("mip,mi->p", w, one.value) for one, w in zip(blocks, weighted, strict=True)
    )
    k, p = theta.size, covariance.shape[0]
    first, second = np.zeros((k, p, p)), np.zeros((k, k, p, p))
    traces, curvature, pulled = np.zeros((k, k)), np.zeros((k, k)), np.zeros((k, p))
    for one, inv, w in zip(blocks, inverse, weighted, strict=True):
        moved = one.parts @ w[:, None]
        first -= np.einsum("mip,mkiq->kpq", w, moved)
        second += np.einsum("mkip,mij,mljq->klpq", moved, inv, moved, optimize=True)
        turned = one.parts @ inv[:, None]
        traces += np.einsum("mkij,mlji->kl", turned, turned, optimize=True)
        error = np.einsum("mij,mj->mi", inv, one.value - one.design @ coefficient)
        pull = np.einsum("mkij,mj->mki", one.parts, error)
        curvature += np.einsum("mki,mij,mlj->kl", pull, inv, pull, optimize=True)
        pulled += np.einsum("mki,mip->kp", pull, w)
    inner = second - np.einsum("kpq,qr,lrs->klps", first, covariance, first)
    traces += -2 * np.einsum("pq,klqp->kl", covariance, second)
    traces += np.einsum("pq,kqr,rs,lsp->kl", covariance, first, covariance, first, optimize=True)
    expected = np.asarray(2 * np.linalg.pinv(traces, hermitian=True), dtype=np.float64)
    curvature = 2 * (curvature - pulled @ covariance @ pulled.T) - traces
    flat = at_edge or np.linalg.eigvalsh(curvature).min() <= 0
    observed = expected if flat else np.asarray(2 * np.linalg.inv(curvature), dtype=np.float64)
    extra = np.einsum("kl,klps->ps", expected, inner)
    adjusted = covariance + 2 * covariance @ extra @ covariance
    # first is minus X'V⁻¹ G V⁻¹ X, so the covariance changes by minus covariance · first · covariance
    change = -np.einsum("pq,kqr,rs->kps", covariance, first, covariance)
    return SmallSample(coefficient, covariance, adjusted, change, expected, observed)
