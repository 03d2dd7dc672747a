"""Levels under uptake against worked values: saturating uptake in closed form, and series of doses and changes.

The saturating values come from the closed form of Schnell & Mendoza 1997 worked apart from this program, and agree with
an integration of its equation to 1e-8; the series are identities that anyone can redo on paper.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from rows import Row
from rows import printed_row as _row
from scipy.optimize import brentq

from littoral.tank.course import prepare
from littoral.tank.events import TankEvent
from littoral.tank.kinetics import FirstOrder, Kinetics, MichaelisMenten
from littoral.tank.levels import levels

CLOSED = (
    "Schnell & Mendoza 1997, J. Theor. Biol. 187:207-212 (citation from memory): S = K W(S0/K exp((S0 - V t)/K)), "
    "worked apart with S0 10, V 1, K 2"
)
TIMES = "the same equation solved for time: t = (S0 - S)/V + K/V ln(S0/S)"
SERIES = "geometric series: peak D(1-(1-w)^n)/w, limit D/w, trough D(1-w)/w, source S added to both"
FIRST = "first-order uptake 0.1/day: peak D/(1-(1-w)exp(-7k))"
ZERO = "the same mass each day, 1 mg/L: peak (D-(1-w)UT)/w"


def rows() -> list[Row]:
    return [*_saturating(), *_series()]


def _saturating() -> Iterator[Row]:
    course = prepare([], net_volume_l=1.0)
    kinetics = Kinetics(MichaelisMenten(np.array(1.0), np.array(2.0)), 0.0, 10.0)
    values = ((1, "9.17270560"), (2, "8.35859055"), (5, "6.01624392"), (10, "2.65344933"), (20, "0.06521774"))
    for day, printed in values:
        ours = float(levels(course, kinetics, day)[0, 0])
        yield _row(f"saturating uptake, day {day}", ours, "mg/L", printed, CLOSED)
    for level, printed in ((5.0, "6.386294"), (1.0, "13.605170"), (0.1, "19.110340")):

        def over(day: float, level: float = level) -> float:
            return float(levels(course, kinetics, day)[0, 0]) - level

        ours = brentq(over, 0.0, 40.0, xtol=1e-12)
        yield _row(f"saturating uptake, until {level:g} mg/L", ours, "days", printed, TIMES)


def _weekly(kinetics: Kinetics, *, dose: float, share: float, weeks: int, doses_a_week: int = 1) -> tuple[float, float]:
    """Levels just before and just after the last change and dose, in one litre; doses evenly over each week."""
    events = [
        TankEvent(7.0 * week + 7.0 * k / doses_a_week, np.array([dose]), share if k == 0 else 0.0)
        for week in range(weeks)
        for k in range(doses_a_week if week < weeks - 1 else 1)
    ]
    last = 7.0 * (weeks - 1)
    before, after = levels(prepare(events, net_volume_l=1.0), kinetics, [max(last - 1e-9, 0.0), last])[0]
    return float(before), float(after)


def _series() -> Iterator[Row]:
    no_uptake = MichaelisMenten(np.array(0.0), np.array(1.0))
    none, source = Kinetics(no_uptake, 0.0, 0.0), Kinetics(no_uptake, 8.0, 0.0)
    for n, printed in enumerate(("10.0000", "15.0000", "17.5000", "18.7500", "19.3750", "19.6875"), start=1):
        _, peak = _weekly(none, dose=10.0, share=0.5, weeks=n)
        yield _row(f"by draws: dose 10, change 50 %: peak {n}", peak, "mg/L", printed, SERIES)
    before, _ = _weekly(none, dose=6.0, share=0.3, weeks=120, doses_a_week=3)
    yield _row("by draws: three doses of 6, change 30 %: limit of the peak", before, "mg/L", "60.0000", SERIES)
    before, peak = _weekly(source, dose=5.0, share=0.25, weeks=120)
    yield _row("by draws: dose 5, change 25 %, source 8: limit of the peak", peak, "mg/L", "28.0000", SERIES)
    yield _row("the same, after the change", before * 0.75 + 8.0 * 0.25, "mg/L", "23.0000", SERIES)
    before, peak = _weekly(Kinetics(FirstOrder(np.array(0.1)), 0.0, 0.0), dose=10.0, share=0.5, weeks=80)
    yield _row("by draws: dose 10, change 50 %, uptake 10 %/day: peak", peak, "mg/L", "13.3030", FIRST)
    yield _row("the same, just before the change", before, "mg/L", "6.6061", FIRST)
    # a half-saturation next to none is uptake of the same mass each day; one beyond all levels is first order
    same = MichaelisMenten(np.array(1.0), np.array(1e-9))
    _, peak = _weekly(Kinetics(same, 0.0, 0.0), dose=10.0, share=0.5, weeks=80)
    yield _row("saturating, k next to none: dose 10, change 50 %: peak", peak, "mg/L", "13.0", ZERO)
    share = MichaelisMenten(np.array(0.1e9), np.array(1e9))
    _, peak = _weekly(Kinetics(share, 0.0, 0.0), dose=10.0, share=0.5, weeks=80)
    yield _row("saturating, k beyond all levels: dose 10, change 50 %: peak", peak, "mg/L", "13.3030", FIRST)
