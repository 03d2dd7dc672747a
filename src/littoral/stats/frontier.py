"""Several aims at once: which regimes no other one beats on all of them, with the doubt about every value.

There is no score and no weight: what a person gives up for what is theirs to say. One regime beats another where it is
at least as good on every aim and better on one (Pareto 1906; the usual definition, as in Ehrgott 2005, Multicriteria
Optimization, section 2.1).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.errors import LittoralError
from littoral.stats.series import FloatArray

Better = Literal["higher", "lower"]


class FrontierError(LittoralError):
    """Values that cannot be compared; the message says which and what would be right."""


@dataclass(frozen=True, slots=True, eq=False)
class Frontier:
    """Which of n regimes are not beaten. Shares are of the draws, 0 to 1.

    `middle` (n, aims) are the medians, in the aims' units; `unbeaten` (n,) tells whether a regime is beaten by none at
    those medians; `share_unbeaten` (n,) in what share of draws it is beaten by none; `share_beaten_by[i, j]` (n, n) in
    what share regime j beats regime i.
    """

    middle: FloatArray
    unbeaten: np.ndarray[tuple[int], np.dtype[np.bool_]]
    share_unbeaten: FloatArray
    share_beaten_by: FloatArray
    draws: int


def frontier(values: FloatArray, better: Sequence[Better]) -> Frontier:
    """Compare n regimes on several aims, `values` (draws, n, aims), each aim in its own unit.

    One draw holds all regimes and aims together, so what they share cancels; exact values are one draw. `better` says
    for each aim whether higher or lower is wanted. Raises FrontierError where shapes or values do not fit.
    """
    given = np.asarray(values, dtype=np.float64)
    if given.ndim != 3 or min(given.shape) < 1:
        raise FrontierError(f"Values have the shape draws, regimes, aims, none of them 0; they have {given.shape}.")
    if given.shape[2] != len(better):
        raise FrontierError(f"Each of the {given.shape[2]} aims needs higher or lower; {len(better)} were given.")
    unknown = [one for one in better if one not in ("higher", "lower")]
    if unknown:
        raise FrontierError(f'An aim is "higher" or "lower", not {unknown[0]!r}.')
    if not np.all(np.isfinite(given)):
        raise FrontierError("A value is missing: leave the regime or the aim out, or find the number.")
    up = given * np.where([one == "higher" for one in better], 1.0, -1.0)
    beaten = _beaten(up)
    middle = np.asarray(np.median(given, axis=0), dtype=np.float64)
    at_middle = _beaten(np.median(up, axis=0)[None])[0]
    return Frontier(
        middle=middle,
        unbeaten=~at_middle.any(axis=1),
        share_unbeaten=np.asarray((~beaten.any(axis=2)).mean(axis=0), dtype=np.float64),
        share_beaten_by=np.asarray(beaten.mean(axis=0), dtype=np.float64),
        draws=given.shape[0],
    )


def _beaten(up: FloatArray) -> np.ndarray[tuple[int, int, int], np.dtype[np.bool_]]:
    """Return [draw, i, j]: whether j beats i, where higher is better for every aim of `up` (draws, n, aims)."""
    mine, theirs = up[:, :, None, :], up[:, None, :, :]
    found: np.ndarray[tuple[int, int, int], np.dtype[np.bool_]] = np.all(theirs >= mine, axis=3) & np.any(
        theirs > mine, axis=3
    )
    return found
