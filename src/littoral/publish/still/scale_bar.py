"""The length of a scale bar: a round number of centimetres that fits the picture."""

from __future__ import annotations

ROUND_CM = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
SHARE = 0.22
"""A bar is at most this share of what the picture shows across."""


def bar_cm(width_cm: float) -> float:
    """Return the longest round length that takes at most SHARE of a picture `width_cm` across; the shortest else."""
    return max((one for one in ROUND_CM if one <= SHARE * width_cm), default=ROUND_CM[0])
