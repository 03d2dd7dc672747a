"""Warnings about the water itself: CO2 by day and night, alkalinity that is used up, salts that build up.

Nitrification uses two equivalents of alkalinity for each mole of ammonium (NH4 + 2 O2 + 2 HCO3 -> NO3 + 2 H2CO3 + H2O);
plants that take up nitrate give one back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from littoral.chemistry.co2 import CARE, PH_ERROR, Co2Estimate, co2_estimate
from littoral.chemistry.limits import NOT_AN_AQUARIUM_LIMIT, limits
from littoral.chemistry.water_errors import require, require_ph
from littoral.chemistry.weights import formula_weight
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.hardness import alkalinity_meq_per_l as to_meq_per_l
from littoral.tank.alarms import (
    WATCH,
    Alarm,
    AlarmError,
    FloatArray,
    alarm_of,
    forecast_days,
    forecast_draws,
    in_order,
    plain,
)

EQUIVALENTS_PER_N = 2.0
"""Alkalinity used per mole of ammonium turned to nitrate: 7.14 mg CaCO3 per mg N by the equation; 6.3 to 7.4 were
measured in attached growth (US EPA 1975, as quoted in a report on sand filters; read)."""
NITRIFICATION_KEEPS_ABOVE_MG_CACO3_PER_L = 40.0
"""Sandy 1987, as quoted in a report on sand filters (read): keep more than 40 mg/L as CaCO3 for nitrification."""
LEAST_KH_DKH = 1.0
"""Below this the pH may fall within a night; common practice, no source."""
MOST_PH_SWING = 1.0
"""Between the hours with gas and those without; common practice, no source."""
MOST_TIMES_SOURCE = 2.0
"""How many times the source water's salts a tank may hold before it is worth a word; common practice, no source."""


def alkalinity_used_meq_per_l(
    *, nitrified_mg_n_per_l: ArrayLike, nitrate_taken_up_mg_n_per_l: ArrayLike = 0.0
) -> FloatArray:
    """Return the alkalinity used, meq/L, by nitrification less what plants' uptake of nitrate gives back.

    Both in mg of nitrogen per litre, any one shape. Negative where plants give back more. Source: module docstring.
    """
    weight = formula_weight("N")
    nitrified = np.asarray(nitrified_mg_n_per_l, dtype=np.float64)
    taken_up = np.asarray(nitrate_taken_up_mg_n_per_l, dtype=np.float64)
    return np.asarray((EQUIVALENTS_PER_N * nitrified - taken_up) / weight)


def alkalinity_alarms(alkalinity_meq_per_l: ArrayLike, *, day: ArrayLike) -> tuple[Alarm, ...]:
    """Return alarms of an alkalinity that runs out: draws by days in meq/L, `day` (n_days,).

    Below zero it is acidity. Raises AlarmError.
    """
    days = forecast_days(day)
    draws = forecast_draws(alkalinity_meq_per_l, days, what="alkalinity", lowest=-100.0)  # below zero the water is acid
    tail = (
        "Nitrification uses alkalinity up; when it is gone the pH falls fast. Water changes with harder water, or a "
        "little sodium or potassium bicarbonate, bring it back: slowly, by 1 dKH a day at most (common practice)."
    )
    nitrifying = alarm_of(
        draws,
        days,
        what="alkalinity, nitrification",
        limit=to_meq_per_l(NITRIFICATION_KEEPS_ABOVE_MG_CACO3_PER_L, unit="ppm CaCO3"),
        operator=">=",
        unit="meq/L",
        term="long",
        tail=f"It keeps nitrification going. {tail}",
        source="Sandy 1987, 40 mg/L as CaCO3, as quoted in a report on sand filters (read)",
    )
    least = alarm_of(
        draws,
        days,
        what="alkalinity, a fall of pH",
        limit=to_meq_per_l(LEAST_KH_DKH, unit="dKH"),
        operator=">=",
        unit="meq/L",
        term="short",
        tail=f"That is {LEAST_KH_DKH:g} dKH. {tail}",
        source="common practice, no source",
        published=False,
    )
    return in_order([nitrifying, least])


def salts_alarm(level: ArrayLike, *, day: ArrayLike, source: float, unit: str) -> Alarm:
    """Return the alarm of salts that build up: draws by days of conductivity (µS/cm) or hardness, as `source` water.

    Both in `unit`. Raises AlarmError.
    """
    days = forecast_days(day)
    draws = forecast_draws(level, days, what="salts")
    if not (np.isfinite(source) and source > 0):
        raise AlarmError(what=f"the source water has {source:g} {unit}", right="Give its figure, above zero.")
    return alarm_of(
        draws,
        days,
        what=f"salts, {MOST_TIMES_SOURCE:g} times the source water",
        limit=MOST_TIMES_SOURCE * source,
        operator="<=",
        unit=unit,
        term="long",
        tail="Water evaporates, its salts stay: top up with distilled, reverse-osmosis or rain water, or change more.",
        source="common practice, no source",
        published=False,
    )


def co2_alarms(
    *,
    lowest_ph: float,
    highest_ph: float,
    alkalinity_meq_per_l: float,
    temperature_c: float,
    ph_error: float = PH_ERROR,
    alkalinity_error_meq_per_l: float = 0.0,
) -> tuple[Alarm, ...]:
    """Return alarms of CO2 at a day's lowest pH, and of the swing between lowest and highest, from pH and alkalinity.

    Values are estimates, with what the readings' errors leave as `low` and `high`; no forecast, so no probability and
    no day. Raises WaterError, AlarmError.
    """
    require_ph(lowest_ph)
    require_ph(highest_ph)
    if lowest_ph > highest_ph:
        what = f"the lowest pH {lowest_ph:g} is above the highest {highest_ph:g}"
        raise AlarmError(what=what, right="Give the day's lowest pH, with the gas on, and its highest.")
    require(alkalinity_meq_per_l, what="the alkalinity", low=0.0, high=100.0, unit="meq/L")
    most, least = (
        co2_estimate(
            ph=ph,
            alkalinity_meq_per_l=alkalinity_meq_per_l,
            temperature_c=temperature_c,
            ph_error=ph_error,
            alkalinity_error_meq_per_l=alkalinity_error_meq_per_l,
        )
        for ph in (lowest_ph, highest_ph)
    )
    found = [_co2_alarm(most, limit.key) for limit in limits() if limit.analyte == "co2"]
    return in_order([*found, _swing_alarm(lowest_ph, highest_ph, most, least)])


def _co2_alarm(most: Co2Estimate, key: str) -> Alarm:
    limit = next(one for one in limits() if one.key == key)
    figure = float(limit.numbers["value"])
    value, low, high = most.co2_mg_per_l, most.low_mg_per_l, most.high_mg_per_l
    verdict: Verdict = "holds" if high <= figure else "warns"
    if value > figure and limit.term == "short":
        verdict = "fails"
    said = "below" if value <= figure else "above"
    named = f"{'the usual' if limit.status == 'common practice' else 'the published'} {plain(figure)} mg/L"
    doubt = "" if (high <= figure or low > figure) else ", though the readings leave it open"
    comment = f"{plain(value)} ({plain(low)} to {plain(high)}) mg/L is {said} {named}{doubt}. "
    comment += f"It protects {limit.protects}. {NOT_AN_AQUARIUM_LIMIT}"
    if verdict != "holds":
        comment += f" {CARE} {WATCH}"
    row = CheckRow(limit.key, value, "<=", figure, "mg/L", verdict, comment, limit.cited)
    return Alarm(row, low, high, None, None, None)


def _swing_alarm(lowest_ph: float, highest_ph: float, most: Co2Estimate, least: Co2Estimate) -> Alarm:
    swing = highest_ph - lowest_ph
    holds = swing <= MOST_PH_SWING + 1e-9
    comment = f"CO2 goes between about {plain(least.co2_mg_per_l)} and {plain(most.co2_mg_per_l)} mg/L in a day."
    if not holds:
        comment += f" That is much: less gas, or a slower start before the lights. {WATCH}"
    verdict: Verdict = "holds" if holds else "warns"
    source = "common practice, no source"
    row = CheckRow("swing of pH between day and night", swing, "<=", MOST_PH_SWING, "", verdict, comment, source)
    return Alarm(row, None, None, None, None, None)
