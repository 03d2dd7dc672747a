"""How far a step with frozen water, plants and inflow can be from the truth.

Over one step, in the time that runs with the plants (s from 0 to 1, ds ~ biomass dt), the mass obeys dm/ds = j(s) -
a m / (h(s) + m); the step takes inflow j and half-saturation h at their means. Of two masses under the same right side
the difference shrinks at a rate between A0 = a h/(h + most m)² and A1 = a h/(h + least m)². So what the step leaves
out, e(s) = true less frozen right side along the frozen path, moves the end by the integral of P(s) e(s), where P rises
to 1 at a rate of P A0 to P A1; and the errors of steps add up at most, after each has shrunk.

- Inflow: with R the range of j, |e| <= R and its mean is 0, so its part is at most R/4, A1 R/7 and R/A0.
- Half-saturation: with d its largest relative deviation, G the largest of a m/(h + m)², and H = a max(a, j)/h² for how
  fast that changes along the path, its part is at most d h G/(1 - d), and at most d h (A1 G + H)/4 + d² h G/(1 - d).

So a step's bound falls with the third power of its length, and their sum with the second. The masses between which m
stays are the step's start and end, widened by the bounds that need no masses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.tank.course import Course
from littoral.tank.events import FloatArray
from littoral.tank.inflow import rate_range
from littoral.tank.kinetics import FirstOrder, Kinetics
from littoral.tank.nitrogen import Nitrogen

_BEYOND_MG = 1e30  # a share of m is the saturating rate with h beyond all masses


@dataclass(frozen=True, slots=True, eq=False)
class LeftOut:
    """What one step leaves out, shapes (draws,) or (1,), mg a step; `off` is d of the module's head."""

    spread_mg: FloatArray
    inflow_mg: FloatArray
    uptake_mg: FloatArray
    half_mg: FloatArray
    off: float

    def nothing(self) -> bool:
        """Return whether the step is the closed form."""
        return self.off == 0 and not self.spread_mg.any()

    def bound_mg(
        self, start_mg: FloatArray, end_mg: FloatArray, start_off_mg: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the most that is left of what the start was off, and the most that the step adds, mg, (draws,)."""
        a, h, d = self.uptake_mg, self.half_mg, self.off
        margin = self.spread_mg / 4 + a * (d / (4 * (1 - d))) + start_off_mg
        low = np.maximum(np.minimum(start_mg, end_mg) - margin, 0.0)
        high = np.maximum(start_mg, end_mg) + margin
        flattest = a * (h * (1 - d)) / (h * (1 + d) + high) ** 2
        steepest = a * (h * (1 + d)) / (h * (1 - d) + low) ** 2
        added = self.spread_mg * np.minimum(np.minimum(0.25, steepest / 7), 1.0 / np.maximum(flattest, 1.0))
        if d > 0:
            at = np.clip(h, low, high)
            most = a * at / (h + at) ** 2 / (1 - d)
            change = a * np.maximum(a, self.inflow_mg) / (h + low) ** 2
            added = added + d * h * np.minimum(most, (steepest * most + change) / 4 + d * most)
        return start_off_mg * np.exp(-flattest), added


def left_out(
    course: Course, kinetics: Kinetics, nitrogen: Nitrogen | None, *, segment: int, from_day: float, to_day: float
) -> LeftOut:
    """Return what a step between two days after event number `segment`, before the next, leaves out."""
    low, high = rate_range(course, kinetics, nitrogen, segment=segment, from_day=from_day, to_day=to_day)
    grown, middle = (float(one[0]) for one in course.biomass_days(from_day, np.array([to_day])))
    least, most = course.biomass_range(from_day, to_day)
    inflow = high * (to_day - from_day)
    # in the time s the inflow is j = rate / biomass * grown; where plants go to nothing j has no end, but a sum, which
    # bounds both parts: at most all of it comes at another moment
    spread = (high / least - low / most) * grown if least > 0 else 7 * inflow
    if grown == 0:
        spread = np.zeros(1)
    if isinstance(kinetics.uptake, FirstOrder):
        if course.biomass is None and nitrogen is None:
            spread = np.zeros(1)  # closed form
        uptake = np.atleast_1d(kinetics.uptake.uptake_per_day) * (grown * _BEYOND_MG)
        return LeftOut(spread, inflow, uptake, np.full(1, _BEYOND_MG), 0.0)
    litres = course.litres(segment, np.array([from_day, from_day + middle, to_day]))
    off = 0.0
    if course.evaporation_l_per_day > 0 and grown > 0:
        off = float(max(litres[0] - litres[1], litres[1] - litres[2]) / litres[1])
    uptake = np.atleast_1d(kinetics.uptake.v_mg_per_l_per_day) * (course.net_volume_l * grown)
    return LeftOut(spread, inflow, uptake, np.atleast_1d(kinetics.uptake.k_mg_per_l) * litres[1], off)
