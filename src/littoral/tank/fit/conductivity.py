"""The real share of a water change from the conductivity before and after it: a check on the line on the glass."""

from __future__ import annotations

import numpy as np

from littoral.tank.fit.forecast import Estimate, estimate
from littoral.tank.fit.methods import FitError

DRAWS = 20_000


def share_changed_by_conductivity(
    *, before_us_per_cm: float, after_us_per_cm: float, source_us_per_cm: float, meter_sd_us_per_cm: float,
    rng: np.random.Generator,
) -> Estimate:  # fmt: skip
    """Return the share of the water changed: (before - after) / (before - source), with the meter's error in all three.

    Conductivities in µS/cm, near one temperature and within minutes, without a dose in between; mixing of two dilute
    waters is linear in conductivity to a few percent (common practice, no source). Shares outside 0 to 1 are cut off.
    Raises FitError where source and tank differ by less than five times the meter's error: then it says nothing.
    """
    given = (before_us_per_cm, after_us_per_cm, source_us_per_cm, meter_sd_us_per_cm)
    if not (np.isfinite(given).all() and min(given) >= 0 and meter_sd_us_per_cm > 0):
        raise FitError(["Conductivities are zero or more, and the meter's error is above zero, all in µS/cm."])
    if abs(before_us_per_cm - source_us_per_cm) < 5 * meter_sd_us_per_cm:
        difference = abs(before_us_per_cm - source_us_per_cm)
        raise FitError([
            f"Tank and source water differ by {difference:g} µS/cm, too little for a meter that errs by "
            f"{meter_sd_us_per_cm:g}. It takes five times as much."
        ])  # fmt: skip
    before, after, source = (
        value + meter_sd_us_per_cm * rng.standard_normal(DRAWS)
        for value in (before_us_per_cm, after_us_per_cm, source_us_per_cm)
    )
    return estimate(np.clip((before - after) / (before - source), 0.0, 1.0))
