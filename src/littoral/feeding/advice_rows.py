"""The bands of a dose question as rows over whole steps: which levels may be highest or lowest, and what they allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.feeding.advice import AdviceError, DoseQuestion
from littoral.feeding.level_response import FloatArray, LevelResponse

TOLERANCE = 1e-6
"""How far a level may lie outside its band, as a share of the band's end: HiGHS's own feasibility tolerance."""


@dataclass(frozen=True, slots=True, eq=False)
class LevelRows:
    """The rows of the bands: low ≤ matrix · n ≤ high, each over its own scale; `nutrient` and `end` say whose."""

    matrix: FloatArray
    low: FloatArray
    high: FloatArray
    nutrient: tuple[str, ...]


def adds_per_step(question: DoseQuestion, nutrients: Sequence[str]) -> FloatArray:
    """Return mg/L that one step of each bottle adds of each nutrient, (n_bottles, n_nutrients). Raises DoseError."""
    rows = [item.step_adds_mg() for item in question.shelf]
    return np.array([[row.get(key, 0.0) / question.net_volume_l for key in nutrients] for row in rows])


def level_rows(question: DoseQuestion, response: LevelResponse) -> LevelRows:
    """Return the bands as rows over n, bottle by bottle, each over the days somebody is there.

    A point whose level is never higher (for ceilings) or lower (for floors) than another's makes no row.
    Raises AdviceError for a band of a nutrient that the response does not know.
    """
    days, adds = sorted(set(question.days)), adds_per_step(question, response.nutrients)
    matrix, low, high, names = [], [], [], []
    for band in question.bands:
        if band.nutrient not in response.nutrients:
            right = f"Levels are known of: {', '.join(response.nutrients)}."
            raise AdviceError(what=f"no level of {band.nutrient} is known", right=right)
        i = response.nutrients.index(band.nutrient)
        base, gain = response.base[i], response.gain[i][:, days]
        ends = [(band.high, 1.0, np.ones(base.size, dtype=bool)), (band.low, -1.0, response.settled)]
        for end, sign, applies in ends:
            if end is None:
                continue
            scale = end if end > 0 else 1.0
            for p in _hardest(sign * base, sign * gain, applies):
                matrix.append((adds[:, i][:, None] * gain[p][None, :]).ravel() / scale)
                limit = (end - base[p]) / scale
                low.append(limit if sign < 0 else -np.inf)
                high.append(limit if sign > 0 else np.inf)
                names.append(band.nutrient)
    return LevelRows(np.array(matrix), np.array(low), np.array(high), tuple(names))


def _hardest(base: FloatArray, gain: FloatArray, applies: NDArray[np.bool_]) -> list[int]:
    """Return the points whose level may be the highest: those that no other matches in base and in every gain."""
    kept: list[int] = []
    every = np.column_stack([base, gain])
    for p in np.flatnonzero(applies):
        covers = (every >= every[p]).all(axis=1) & applies
        covers &= (every > every[p]).any(axis=1) | (np.arange(base.size) < p)  # of equal ones the first is kept
        if not covers.any():
            kept.append(int(p))
    return kept


def most_under_ceilings(rows: LevelRows, *, whole: bool) -> FloatArray:
    """Return the most steps (n,) of one bottle on one day that alone keep every ceiling; no ceiling: infinite."""
    limited = np.isfinite(rows.high)
    with np.errstate(divide="ignore", invalid="ignore"):
        each = rows.high[limited, None] / rows.matrix[limited]
    each = np.where(rows.matrix[limited] > 0, each, np.inf)
    most = np.maximum(each.min(axis=0, initial=np.inf) + TOLERANCE, 0.0)
    whole_or_not: FloatArray = np.floor(most) if whole else most
    return whole_or_not
