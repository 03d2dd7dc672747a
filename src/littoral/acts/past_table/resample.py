"""Many readings of a sensor to one an hour or a day, by what kind of series it is.

A level (temperature, pH, conductivity, a concentration) is averaged, and the lowest and highest are kept; what adds up
(hours of light) is summed. A span in which too much is missing gives nothing, since a mean of the night alone is no
mean of the day. How much may be missing is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median
from typing import Literal

ADDS_UP = frozenset({"light"})
"""The gauges whose readings add up; all others are levels."""
NEEDED_SHARE = {"level": 0.5, "sum": 0.95}
"""The share of a span's expected readings below which it gives nothing."""

SeriesKind = Literal["level", "sum"]


@dataclass(frozen=True, slots=True)
class Span:
    """One hour or day of a series: half-open from `first` to `until`; `value` is the mean of a level or a sum."""

    first: datetime
    until: datetime
    value: float
    low: float
    high: float
    count: int


def kind_of(gauge: str) -> SeriesKind:
    """Return how the readings of a gauge or nutrient are taken together."""
    return "sum" if gauge in ADDS_UP else "level"


def step_s(times: Sequence[datetime]) -> float:
    """Return the usual time between readings that follow each other, s; infinite for fewer than two."""
    ordered = sorted(times)
    gaps = [(b - a).total_seconds() for a, b in pairwise(ordered) if b > a]
    return median(gaps) if gaps else math.inf


def resample(
    readings: Sequence[tuple[datetime, float]],
    *,
    kind: SeriesKind,
    span_of: Callable[[datetime], tuple[datetime, datetime]],
) -> tuple[tuple[Span, ...], tuple[tuple[datetime, int], ...]]:
    """Return the spans that hold enough readings, and (start, readings) of those that do not, both by time.

    `span_of` gives the half-open hour or day that a moment is in. Two readings of one moment count once, the last.
    """
    at = dict(readings)
    step = step_s(list(at))
    if not at:
        return (), ()
    begin, end = min(at), max(at)
    by_span: dict[tuple[datetime, datetime], list[float]] = {}
    for moment in sorted(at):
        by_span.setdefault(span_of(moment), []).append(at[moment])
    kept: list[Span] = []
    short: list[tuple[datetime, int]] = []
    for (first, until), values in by_span.items():
        expected = max(1.0, (until - first).total_seconds() / step)
        # Where the series begins or ends inside a span, another file may hold the rest of it: it would then be another
        # reading of the same day, so it is left for the file that holds it whole.
        cut = first <= begin < until and (begin - first).total_seconds() > 2 * step
        cut |= first <= end < until and (until - end).total_seconds() > 2 * step
        if cut or len(values) < NEEDED_SHARE[kind] * expected - 1e-9:
            short.append((first, len(values)))
            continue
        total = math.fsum(values)
        value = total if kind == "sum" else total / len(values)
        kept.append(Span(first, until, value, min(values), max(values), len(values)))
    return tuple(kept), tuple(short)
