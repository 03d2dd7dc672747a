"""A straight-line model of one series: its design matrix, and which sums of coefficients are asked for."""

from __future__ import annotations

from dataclasses import dataclass

from littoral.stats.series import BoolArray, FloatArray


@dataclass(frozen=True, slots=True)
class Part:
    """The values before or after a change: which they are (n,), and the columns of their mean and trend (None: none).

    A trend runs about the mean of the part's days, so the mean column stands for the part's middle.
    """

    values: BoolArray
    mean: int
    trend: int | None
    fewest: int
    """With fewer values than this the part would be modelled otherwise, or not at all."""


@dataclass(frozen=True, slots=True, eq=False)
class LineModel:
    """response = design · coefficients + error on days (n,); design (n, p).

    `after`, `before` and `change` are weights (p,) of the coefficients: the number after the change, before it and the
    first minus the second (None without a baseline). `what` names the series in an error's text. `parts` holds the
    values before the change, where they are used, and after it, in this order.
    """

    day: FloatArray
    response: FloatArray
    design: FloatArray
    after: FloatArray
    before: FloatArray | None
    change: FloatArray | None
    parts: tuple[Part, ...]
    what: str
