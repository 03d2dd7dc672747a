"""The geometry of a finding's interval bar, in percent of its width, so that the page draws it at any size."""

from __future__ import annotations

from dataclasses import dataclass

MARGIN = 6.0  # percent kept free at either end, so that a whisker's end is seen as an end


@dataclass(frozen=True, slots=True)
class IntervalBar:
    """Where things lie, 0 to 100: no difference, the effect, its 95 % interval, the stricter interval that the question
    is held to (`claim`, None where it is the same), and the band that was set as too small to matter.
    """

    zero: float
    effect: float
    low: float
    high: float
    claim: tuple[float, float] | None
    band: tuple[float, float] | None


def interval_bar(
    *, effect: float, low: float, high: float, smallest: float | None, claim: tuple[float, float] | None = None
) -> IntervalBar:
    """Lay out an effect with its interval `low` to `high` around zero, all in one unit; `smallest` is a half-width.

    ValueError where the interval does not hold the effect.
    """
    if not low <= effect <= high:
        raise ValueError(f"the interval {low} to {high} does not hold the effect {effect}")
    reach = smallest if smallest is not None else 0.0
    ends = claim if claim is not None else (low, high)
    left, right = min(low, ends[0], 0.0, -reach), max(high, ends[1], 0.0, reach)
    span = right - left or 1.0

    def at(value: float) -> float:
        return round(MARGIN + (100 - 2 * MARGIN) * (value - left) / span, 3)

    held = (at(claim[0]), at(claim[1])) if claim is not None else None
    band = (at(-reach), at(reach)) if smallest is not None else None
    return IntervalBar(zero=at(0.0), effect=at(effect), low=at(low), high=at(high), claim=held, band=band)
