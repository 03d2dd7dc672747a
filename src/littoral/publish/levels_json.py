"""levels.json: what is known of the levels, for machines; the command and the page print the same."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import littoral
from littoral.findings.estimates.model import Estimates, LevelEstimate
from littoral.stats.series import FloatArray
from littoral.tank.alarms import Alarm
from littoral.tank.fit.forecast import Bands, Estimate
from littoral.trial.model import Trial

SCHEMA = "littoral levels 1"
LEVEL_UNIT = "mg/L of the ion"


def levels_json(trial: Trial, estimates: Estimates) -> dict[str, Any]:
    """Return the estimates of a trial as plain data. Days count from day 0; bands hold 50 and 90 in 100 draws."""
    return {
        "schema": SCHEMA,
        "software": {"name": "littoral", "version": littoral.__version__},
        "trial": {
            "key": trial.key,
            "title": trial.title,
            "start": trial.start.isoformat(),
            "zone": trial.zone,
        },
        "unit": LEVEL_UNIT,
        "now_day": estimates.now_day,
        "to_day": estimates.to_day,
        "ended": estimates.ended,
        "settled": estimates.posterior.settled,
        "levels": [_level(one, estimates.now_day) for one in estimates.levels],
        "narrowing": [
            {
                "tank": one.tank,
                "nutrient": one.nutrient,
                "weeks": list(one.weeks),
                "before_change_of_day": list(one.day),
                "estimate": [estimate_json(each) for each in one.estimate],
            }
            for one in estimates.narrowing
        ],
        "next_tests": [
            {
                "tank": worth.candidate.tank,
                "nutrient": worth.candidate.nutrient,
                "day": worth.candidate.day,
                "method": worth.candidate.method,
                "width_now": worth.width_now,
                "width_after": worth.width_after,
                "narrowed": worth.narrowed,
            }
            for worth in estimates.next_tests
        ],
        "alarms": {tank: [_alarm(alarm) for alarm in alarms] for tank, alarms in estimates.alarms.items()},
        "water_changes": {
            tank: [
                {"what": row.what, "value": row.value, "verdict": row.verdict, "comment": row.comment} for row in rows
            ]
            for tank, rows in estimates.changes.items()
        },
        "limiting": {
            tank: [
                {
                    "by": one.by,
                    "probability": dict(one.probability),
                    "none": one.none,
                    "comment": one.comment,
                }
                for one in rows
            ]
            for tank, rows in estimates.limiting.items()
        },
        "remarks": list(estimates.remarks),
    }


def bands_json(bands: Bands) -> dict[str, Any]:
    """Return one line with its bands as lists of equal length."""
    plain: dict[str, Any] = {
        name: _numbers(getattr(bands, name)) for name in ("day", "median", "low_50", "high_50", "low_90", "high_90")
    }
    for name in ("below_floor", "above_ceiling", "left_band"):
        values = getattr(bands, name)
        plain[name] = None if values is None else _numbers(values)
    return plain


def estimate_json(estimate: Estimate) -> dict[str, float]:
    """Return one number with its intervals."""
    return {name: getattr(estimate, name) for name in ("median", "low_50", "high_50", "low_90", "high_90")}


def _level(one: LevelEstimate, now_day: float) -> dict[str, Any]:
    return {
        "tank": one.tank,
        "nutrient": one.nutrient,
        "now": estimate_json(one.now),
        "before_last_change": _at(one.before_change),
        "before_next_change": _at(one.before_next),
        "net_removal_mg_per_l_per_day": estimate_json(one.net_removal),
        "source_water": estimate_json(one.source),
        "floor": one.band.floor_mg_per_l,
        "ceiling": one.band.ceiling_mg_per_l,
        "without_readings": one.without_readings,
        "bands": bands_json(one.bands),
        "doses": [{"day": day, "adds": adds, "planned": day >= now_day} for day, adds in one.doses],
        "readings": [
            {
                "entry": result.entry_id,
                "day": result.day,
                "low": result.low_mg_per_l,
                "high": result.high_mg_per_l if math.isfinite(result.high_mg_per_l) else None,
                "shown": result.shown,
                "probability": result.surprise.probability,
                "flagged": result.surprise.flagged,
                "ask": result.surprise.ask,
            }
            for result in one.results
        ],
    }


def _at(before: tuple[float, Estimate] | None) -> dict[str, Any] | None:
    return None if before is None else {"day": before[0], **estimate_json(before[1])}


def _alarm(alarm: Alarm) -> dict[str, Any]:
    row = alarm.row
    return {
        "what": row.what,
        "value": row.value,
        "low": alarm.low,
        "high": alarm.high,
        "limit": row.limit,
        "unit": row.unit,
        "verdict": row.verdict,
        "probability": alarm.probability,
        "may_pass_day": alarm.may_pass_day,
        "likely_pass_day": alarm.likely_pass_day,
        "comment": row.comment,
        "source": row.source,
    }


def _numbers(values: FloatArray | Sequence[float]) -> list[float]:
    return [float(value) for value in values]
