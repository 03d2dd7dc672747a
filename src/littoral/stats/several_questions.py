"""Several questions to one trial: what share of what is called would be luck, beside Holm's stricter levels.

Holm (`stats.compare.holm_levels`) keeps the chance of *any* false call down; Benjamini & Hochberg 1995 (J R Stat Soc B
57:289-300) keep the expected *share* of false ones among those called down, for questions that are independent or rise
and fall together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

FALSE_SHARE = 0.05
"""The share of false ones among those called that is accepted, where nothing else is said."""


@dataclass(frozen=True, slots=True)
class Questions:
    """For each question, in the order given: the p values as adjusted, and whether it is called at `false_share`.

    `by_luck` is how many of as many questions would be called at 5 % each if nothing at all were going on.
    """

    adjusted: tuple[float, ...]
    called: tuple[bool, ...]
    false_share: float
    by_luck: float


def false_discovery(p_values: Sequence[float], *, false_share: float = FALSE_SHARE) -> Questions:
    """Return which questions are called with `false_share` (0 to 1) of false ones expected among them.

    ValueError for a p value outside 0 to 1.
    """
    from scipy.stats import false_discovery_control

    if not p_values:
        return Questions((), (), false_share, 0.0)
    adjusted = [float(one) for one in false_discovery_control(np.asarray(p_values, dtype=float))]
    return Questions(
        tuple(adjusted), tuple(one <= false_share for one in adjusted), false_share, by_luck=0.05 * len(adjusted)
    )
