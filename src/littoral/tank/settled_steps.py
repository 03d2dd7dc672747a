"""Why a level settles where it does, line by line."""

from __future__ import annotations

import math

from littoral.quantities.derivation import Step
from littoral.tank.events import BalanceError
from littoral.tank.steady_state import Pattern, SteadyState


def settled_steps(
    pattern: Pattern, settled: SteadyState, nutrient: str, *, source_mg_per_l: float = 0.0, uptake_per_day: float = 0.0
) -> tuple[Step, ...]:
    """Return the derivation of one nutrient's peak and trough (mg/L), for the inputs that `settled` was computed from.

    Raises BalanceError for a nutrient that the pattern does not hold.
    """
    if nutrient not in pattern.nutrients:
        raise BalanceError(what=f"no {nutrient} in this pattern", right=f"It holds {', '.join(pattern.nutrients)}.")
    i = pattern.nutrients.index(nutrient)
    shares = [share for share in pattern.share_changed if share > 0]
    left = " × ".join(f"(1 - {share:.3g})" for share in shares) or "1"
    decay = f" × exp(-{uptake_per_day:g} × {pattern.days})" if uptake_per_day else ""
    dosed = float(pattern.adds_mg_per_l[i].sum())
    steps = [
        Step("dosed in one period", f"all doses of {pattern.days} days", f"{dosed:.4g} mg/L", "the regime"),
        Step("left after one period", f"a = {left}{decay}", f"{settled.kept[i]:.4g} of the level",
             "water changes; first-order uptake"),
    ]  # fmt: skip
    if not math.isfinite(settled.peak[i]):
        steps.append(Step("peak", "nothing ever leaves: b / (1 - 1)", "grows for ever", "geometric series"))
        return tuple(steps)
    start = float(settled.before[i, 0])
    brought = start * (1.0 - float(settled.kept[i]))
    source = f"geometric series; source water {source_mg_per_l:g} mg/L"
    steps += [
        Step("level before day 0", f"b / (1 - a) = {brought:.4g} / (1 - {settled.kept[i]:.4g})", f"{start:.4g} mg/L",
             source),
        Step("peak", "highest after any dose", f"{settled.peak[i]:.4g} mg/L"),
        Step("trough", "lowest before or after any change", f"{settled.trough[i]:.4g} mg/L"),
    ]  # fmt: skip
    return tuple(steps)
