"""The textbook case in closed form: one dose after each water change. What a page shows when asked "why this peak?"."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.quantities.derivation import Step
from littoral.tank.events import BalanceError

SERIES = "geometric series"


@dataclass(frozen=True, slots=True)
class OneDose:
    """Levels, mg/L, that one dose after each change settles at, and the lines that lead there.

    `peak` is after the dose, `before_change` at the end of the period, `after_change` between change and dose.
    """

    peak: float
    before_change: float
    after_change: float
    steps: tuple[Step, ...]


def one_dose_settles_at(
    *,
    dose_mg_per_l: float,
    share_changed: float,
    source_mg_per_l: float = 0.0,
    uptake_per_day: float = 0.0,
    uptake_mg_per_l_per_day: float = 0.0,
    days: float = 7.0,
) -> OneDose:
    """Return peak and trough of a dose D after each change of the share w, every T days, with source water S.

    Uptake is first-order (k, 1/day) or zero-order (U, mg/L per day), not both. First-order: the peak P is
    D + w S + (1 - w) P exp(-k T), so P = (D + w S) / (1 - (1 - w) exp(-k T)). Zero-order: P = (D - (1 - w) U T)/w + S,
    valid only while the level stays above zero. Raises BalanceError: a number that cannot be, both uptakes, nothing
    that ever leaves, or a level that zero-order uptake would take below zero.
    """
    numbers = {
        "dose": dose_mg_per_l, "share changed": share_changed, "source level": source_mg_per_l,
        "uptake": uptake_per_day, "uptake per day in mg/L": uptake_mg_per_l_per_day, "period": days,
    }  # fmt: skip
    for name, value in numbers.items():
        if not (math.isfinite(value) and value >= 0):
            raise BalanceError(what=f"the {name} is {value:g}", right="Give a number of zero or more.")
    if share_changed > 1 or days == 0:
        raise BalanceError(what=f"{share_changed:g} of the water every {days:g} days", right="Give a share up to 1.")
    if uptake_per_day and uptake_mg_per_l_per_day:
        raise BalanceError(what="two kinds of uptake at once", right="Give a rate, or mg/L per day, not both.")
    dose, w, source, rate = dose_mg_per_l, share_changed, source_mg_per_l, uptake_per_day
    taken = uptake_mg_per_l_per_day * days
    kept = (1.0 - w) * math.exp(-rate * days)
    if kept == 1.0:
        right = "Change some water, or state an uptake: without either the level grows for ever."
        raise BalanceError(what="nothing ever leaves the water", right=right)
    if taken:
        peak = (dose - (1.0 - w) * taken) / w + source if w else -math.inf
        before = peak - taken
        if before < 0:
            what = f"uptake of {uptake_mg_per_l_per_day:g} mg/L a day would take the level below zero"
            raise BalanceError(what=what, right="Zero-order uptake holds only while there is something left.")
        formula = f"({dose:g} - (1 - {w:g}) × {uptake_mg_per_l_per_day:g} × {days:g}) / {w:g} + {source:g}"
        source_of = f"{SERIES} with zero-order uptake: peak (D - (1-w) U T)/w + S"
    else:
        peak = (dose + w * source) / (1.0 - kept)
        before = peak * math.exp(-rate * days)
        decay = f" × exp(-{rate:g} × {days:g})" if rate else ""
        formula = f"({dose:g} + {w:g} × {source:g}) / (1 - (1 - {w:g}){decay})"
        source_of = f"{SERIES}: peak (D + w S)/(1 - (1-w) exp(-k T))"
    after = before * (1.0 - w) + source * w
    steps = (
        Step("peak, after the dose", formula, f"{peak:.5g} mg/L", source_of),
        Step("before the next change", "peak less what is taken up", f"{before:.5g} mg/L"),
        Step("after the change", f"{before:.5g} × (1 - {w:g}) + {source:g} × {w:g}", f"{after:.5g} mg/L"),
    )
    return OneDose(peak, before, after, steps)
