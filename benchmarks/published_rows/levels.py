"""Levels and volumes against worked examples: geometric series of doses and changes, net volume, a stock solution.

The examples are identities that anyone can redo on paper; the printed digits are from the worked page, and each row's
source is the identity it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from rows import Row
from rows import printed_row as _row

from littoral.chemistry.nutrients import element_view
from littoral.chemistry.salts import content_of_salt
from littoral.chemistry.stock import content_of_stock
from littoral.tank.balance import extremes, levels_at, solve
from littoral.tank.events import TankEvent
from littoral.tank.volume import Vessel, net_volume_l

SERIES = "geometric series: peak D(1-(1-w)^n)/w, limit D/w, trough D(1-w)/w, source S added to both"


def rows() -> list[Row]:
    return [*_series(), *_uptake(), *_volume(), *_stock()]


def _weekly(*, dose: float, share: float, weeks: int, doses_a_week: int = 1) -> list[TankEvent]:
    """Doses in mg into one litre, evenly over the week, the first of a week in the minute of the change."""
    return [
        TankEvent(7.0 * week + 7.0 * k / doses_a_week, np.array([dose]), share if k == 0 else 0.0)
        for week in range(weeks)
        for k in range(doses_a_week)
    ]


def _limits(events: list[TankEvent], *, source: float = 0.0, uptake: float = 0.0) -> tuple[float, float]:
    """Level just before the last change, and the peak of the week that it ends, in one litre."""
    balance = solve(events, source_mg_per_l=[source], start_mg_per_l=[0.0], net_volume_l=1.0, uptake_per_day=uptake)
    last_change = max(event.day for event in events if event.share_changed > 0)
    just_before = last_change - 1e-9
    _, peak = extremes(balance, from_day=last_change - 7.0, to_day=just_before)
    return float(levels_at(balance, just_before)[0, 0]), float(peak[0])


def _series() -> Iterator[Row]:
    events = _weekly(dose=10.0, share=0.5, weeks=6)
    balance = solve(events, source_mg_per_l=[0.0], start_mg_per_l=[0.0], net_volume_l=1.0)
    for n, printed in enumerate(("10.0000", "15.0000", "17.5000", "18.7500", "19.3750", "19.6875")):
        ours = float(levels_at(balance, 7.0 * n)[0, 0])
        yield _row(f"dose 10, change 50 %: peak {n + 1}", ours, "mg/L", printed, SERIES)
    before, peak = _limits(_weekly(dose=10.0, share=0.5, weeks=80))
    yield _row("dose 10, change 50 %: limit of the peak", peak, "mg/L", "20.0000", SERIES)
    yield _row("dose 10, change 50 %: limit after the change", before * 0.5, "mg/L", "10.0000", SERIES)
    before, peak = _limits(_weekly(dose=6.0, share=0.3, weeks=120, doses_a_week=3))
    yield _row("three doses of 6, change 30 %: limit of the peak", peak, "mg/L", "60.0000", SERIES)
    yield _row("three doses of 6, change 30 %: limit after the change", before * 0.7, "mg/L", "42.0000", SERIES)
    before, peak = _limits(_weekly(dose=5.0, share=0.25, weeks=120), source=8.0)
    yield _row("dose 5, change 25 %, source 8: limit of the peak", peak, "mg/L", "28.0000", SERIES)
    after = before * 0.75 + 8.0 * 0.25
    yield _row("dose 5, change 25 %, source 8: limit after the change", after, "mg/L", "23.0000", SERIES)
    for share, printed in ((0.1, "21.85"), (0.2, "10.32"), (0.25, "8.00"), (0.3, "6.46"), (0.5, "3.32")):
        yield _row(f"changes of {share:.0%} to 90 % of the limit", _changes_to_90(share), "changes", printed, SERIES)


def _changes_to_90(share: float) -> float:
    """Changes until the old water is a tenth, between the two whole numbers by the exponential through our levels."""
    changes = [TankEvent(float(day), share_changed=share) for day in range(1, 40)]
    balance = solve(changes, source_mg_per_l=[0.0], start_mg_per_l=[1.0], net_volume_l=1.0)
    level = levels_at(balance, np.arange(40.0))[0]
    n = int(np.flatnonzero(level <= 0.1)[0])
    return n - 1 + math.log(level[n - 1] / 0.1) / math.log(level[n - 1] / level[n])


def _uptake() -> Iterator[Row]:
    source = "first-order uptake 0.1/day: peak D/(1-(1-w)exp(-7k))"
    before, peak = _limits(_weekly(dose=10.0, share=0.5, weeks=80), uptake=0.1)
    yield _row("dose 10, change 50 %, uptake 10 %/day: limit of the peak", peak, "mg/L", "13.3030", source)
    yield _row("the same, just before the change", before, "mg/L", "6.6061", source)
    yield _row("the same, after the change, before the dose", before * 0.5, "mg/L", "3.3030", source)


def _volume() -> Iterator[Row]:
    source = "geometry; substrate porosity 0.40, stone 2.65 kg/L"
    vessel = Vessel(100.0, 40.0, 45.0, 43.0, substrate_cm=5.0, substrate_porosity=0.40, stone_kg=6.0)
    bare = Vessel(100.0, 40.0, 45.0, 43.0)
    net_l = net_volume_l(vessel)
    yield _row("100 x 40 cm filled to 43 cm", net_volume_l(bare), "L", "172.0", source)
    yield _row("the same with substrate and stone", net_l, "L", "157.736", source)
    nitrate_mg = content_of_salt("KNO3")["nitrate"]
    yield _row("1 g KNO3 in the glass's volume", nitrate_mg / net_volume_l(bare), "mg/L of nitrate", "3.5656", source)
    yield _row("1 g KNO3 in the net volume", nitrate_mg / net_l, "mg/L of nitrate", "3.8880", source)


def _stock() -> Iterator[Row]:
    source = "40 g KNO3 made up to 500 mL, 10 mL into 200 L; formula weights"
    per_ml = content_of_stock({"KNO3": 40.0}, made_up_to_ml=500.0)
    dose = TankEvent(0.0, np.array([10.0 * per_ml["nitrate"], 10.0 * per_ml["potassium"]]))
    balance = solve([dose], source_mg_per_l=[0.0, 0.0], start_mg_per_l=[0.0, 0.0], net_volume_l=200.0)
    nitrate, potassium = (float(level) for level in levels_at(balance, 0.0)[:, 0])
    yield _row("stock of KNO3, nitrate", nitrate, "mg/L", "2.4531", source)
    yield _row("stock of KNO3, nitrogen", element_view({"nitrate": nitrate})["N"], "mg/L", "0.55415", source)
    yield _row("stock of KNO3, potassium", potassium, "mg/L", "1.54687", source)
