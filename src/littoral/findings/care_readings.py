"""Gauge readings of one tank as a series by the day, and the CO2 that pH and KH readings come to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.chemistry.co2 import PH_ERROR, co2_estimate
from littoral.chemistry.water_errors import WaterError
from littoral.quantities.hardness import alkalinity_meq_per_l
from littoral.stats.series import Series
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, GaugeReading
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Trial

KH_HOLDS_DAYS = 14.0
"""A KH this near stands for a pH reading; common practice, no source."""
TEMPERATURE_HOLDS_DAYS = 3.0
ASSUMED_TEMPERATURE_C = 25.0
"""Where no temperature was read; 1 °C changes CO2 by about 1 %."""


@dataclass(frozen=True, slots=True)
class Readings:
    """One tank's values, one a day at most; `half_range` is the mean half of what each reading may be off, its unit."""

    series: Series
    half_range: float


def gauge_readings(trial: Trial, entries: Sequence[Entry], tank: str, *, gauge: str) -> Readings:
    """Return the middles of a gauge's readings in a tank; those off their scale are left out."""
    found = [
        (day, (one.low + one.high) / 2, (one.high - one.low) / 2) for day, one in _read(trial, entries, tank, gauge)
    ]
    return _by_day(GAUGES[gauge].name, GAUGES[gauge].unit, found)


def co2_readings(trial: Trial, entries: Sequence[Entry], tank: str) -> Readings:
    """Return CO2, mg/L, for every pH reading with a KH within 14 days; what chemistry refuses is left out.

    The worst corners of the stated errors make the half-range; a pH without one is taken as ±0.1 (see `PH_ERROR`).
    """
    kh, warm = (_read(trial, entries, tank, gauge) for gauge in ("kh", "temperature"))
    found = []
    for day, ph in _read(trial, entries, tank, "ph"):
        hard = _nearest(kh, day, within=KH_HOLDS_DAYS)
        if hard is None:
            continue
        temperature = _nearest(warm, day, within=TEMPERATURE_HOLDS_DAYS)
        try:
            co2 = co2_estimate(
                ph=(ph.low + ph.high) / 2,
                alkalinity_meq_per_l=alkalinity_meq_per_l((hard.low + hard.high) / 2, unit="dKH"),
                temperature_c=(temperature.low + temperature.high) / 2 if temperature else ASSUMED_TEMPERATURE_C,
                ph_error=(ph.high - ph.low) / 2 or PH_ERROR,
                alkalinity_error_meq_per_l=alkalinity_meq_per_l((hard.high - hard.low) / 2, unit="dKH"),
            )
        except WaterError:
            continue
        found.append((day, co2.co2_mg_per_l, (co2.high_mg_per_l - co2.low_mg_per_l) / 2))
    return _by_day("CO2", "mg/L", found)


def _read(trial: Trial, entries: Sequence[Entry], tank: str, gauge: str) -> list[tuple[float, GaugeReading]]:
    return [
        (day_of(entry.at, trial), entry.payload)
        for entry in entries
        if entry.tank == tank
        and isinstance(entry.payload, GaugeReading)
        and entry.payload.gauge == gauge
        and math.isfinite(entry.payload.high)
    ]


def _nearest(read: Sequence[tuple[float, GaugeReading]], day: float, *, within: float) -> GaugeReading | None:
    near = min(read, key=lambda one: abs(one[0] - day), default=None)
    return near[1] if near is not None and abs(near[0] - day) <= within else None


def _by_day(name: str, unit: str, found: Sequence[tuple[float, float, float]]) -> Readings:
    """Return the mean of each day, at its whole day, so that two tanks' readings of one day stand side by side."""
    by_day: dict[int, list[float]] = {}
    for day, value, _ in found:
        by_day.setdefault(math.floor(day), []).append(value)
    days = sorted(by_day)
    values = [math.fsum(by_day[day]) / len(by_day[day]) for day in days]
    half_range = math.fsum(half for _, _, half in found) / len(found) if found else 0.0
    return Readings(Series(name, unit, "level", np.array(days, dtype=float), np.array(values, dtype=float)), half_range)
