"""The contract between the tank's mass balance and the dose adviser: levels as a linear function of weekly doses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class LevelResponse:
    """Levels at `points`, mg/L: base + gain · (mg/L dosed on each weekday), for a week that is repeated.

    `base` has shape (n_nutrients, n_points), `gain` (n_nutrients, n_points, 7), weekday 0 is Monday. Gains are zero or
    more. `settled` (n_points,) is True where a floor applies: ceilings hold everywhere, floors only once the weeks have
    done their work. The points are chosen so that no level between them is lower or higher than at them.
    """

    nutrients: tuple[str, ...]
    points: tuple[str, ...]
    base: FloatArray
    gain: FloatArray
    settled: NDArray[np.bool_]
