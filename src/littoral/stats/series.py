"""A series: values over days, which knows what kind of thing it holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Kind = Literal["level", "flux", "count", "score"]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """Values at days since day 0, both shape (n,), days ascending; `error` is one standard error each, or None.

    The kind decides how gaps are read: a level may be interpolated, a flux may not, a count is a total per day, a score
    is ordered only.
    """

    name: str
    unit: str
    kind: Kind
    day: FloatArray
    value: FloatArray
    error: FloatArray | None = None

    def __post_init__(self) -> None:
        if self.day.shape != self.value.shape or self.day.ndim != 1:
            raise ValueError(f"{self.name}: day {self.day.shape} and value {self.value.shape} must be equal and flat")
        if self.error is not None and self.error.shape != self.day.shape:
            raise ValueError(f"{self.name}: error {self.error.shape} must be shaped as day {self.day.shape}")
        if np.any(np.diff(self.day) < 0):
            raise ValueError(f"{self.name}: days must ascend")
