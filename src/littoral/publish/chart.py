"""What a chart is: one specification, and what has to be said beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """One chart. `spec` is a Vega-Lite specification as a plain dict, with a parameter "day" where its axis is days.

    Setting the signal "day" to a number draws the day cursor there; null takes it away. `caption` says units, n and
    how to read it; `alt` says what it shows to a person who cannot see it.
    """

    key: str
    title: str
    caption: str
    alt: str
    spec: dict[str, Any]
