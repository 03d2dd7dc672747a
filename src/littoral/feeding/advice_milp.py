"""Dose advice as a mixed-integer programme for HiGHS (`scipy.optimize.milp`), and its answer checked again.

For each bottle b and day d there are whole steps n and, where portions are counted or bottles kept apart, whether any
is dosed at all, y: n ≤ M y, with M as small as the ceilings allow. Levels are linear in n (`level_response`). The
week's totals of n and of y are whole numbers of their own: branching on them first is what keeps the days, which are
nearly interchangeable, from being tried in every order (measured: eight bottles on seven days, from 15 s to 1.7 s).
A cheapest pattern that is not proven soon is proven with `advice_bounds`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from littoral.feeding.advice import AdviceError, Aim, DoseQuestion
from littoral.feeding.advice_bounds import Programme, within
from littoral.feeding.advice_rows import TOLERANCE, LevelRows, level_rows, most_under_ceilings
from littoral.feeding.level_response import FloatArray, LevelResponse

MOST_NODES = 4000
"""Nodes of the search tree, a bound that gives the same answer on every machine; a time limit would not."""
FIRST_NODES = 200
"""Nodes spent before the bounds of a cheapest pattern are drawn closer."""


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """Steps (n_bottles, 7) of the best pattern found, whether it is proven best, and the gap to the bound (a share)."""

    steps: FloatArray
    proven: bool
    gap: float


def best_steps(
    question: DoseQuestion,
    response: LevelResponse,
    *,
    whole: bool = True,
    max_nodes: int = MOST_NODES,
    rows: LevelRows | None = None,
) -> Solved | None:
    """Return the best steps for a question's aim, None where nothing fits.

    First the aim alone is solved. Then ties are broken: of a simplest pattern the portions stay and their sizes become
    the cheapest; of a cheapest one the week's totals stay and are given in the fewest portions found. `whole=False`
    allows parts of a step. Raises AdviceError where the solver finds neither a pattern nor a proof that there is none.
    """
    rows = rows or level_rows(question, response)
    first = _solve(question, rows, aim=question.aim, whole=whole, max_nodes=max_nodes)
    if first is None:
        return None
    second = _solve(question, rows, aim=question.aim, whole=whole, max_nodes=max_nodes // 10, keep=first.steps)
    return first if second is None else Solved(second.steps, first.proven, first.gap)


def smallest_slack(question: DoseQuestion, response: LevelResponse) -> dict[tuple[str, str], float]:
    """Return how far each band's end must give way, as shares of it, so that their sum is smallest; zeros left out.

    Keys are (nutrient, "floor" or "ceiling"). Raises AdviceError where the solver fails.
    """
    rows = level_rows(question, response)
    ends = [
        (name, "ceiling" if math.isfinite(high) else "floor")
        for name, high in zip(rows.nutrient, rows.high, strict=True)
    ]
    kinds = list(dict.fromkeys(ends))
    slack = np.zeros((len(ends), len(kinds)))
    for row, end in enumerate(ends):
        slack[row, kinds.index(end)] = 1.0 if end[1] == "floor" else -1.0
    found = _solve(question, rows, aim="simplest", whole=True, max_nodes=MOST_NODES, slack=slack)
    if found is None:
        raise AdviceError(what="the solver found no way out", right="Look at the bands and at the tools.")
    shortfall = rows.matrix @ found.steps[:, sorted(set(question.days))].ravel()
    missing = np.maximum(rows.low - shortfall, shortfall - rows.high)
    worst = {kind: max(float(missing[r]) for r, end in enumerate(ends) if end == kind) for kind in kinds}
    given_way = {kind: share for kind, share in worst.items() if share > TOLERANCE}
    # at the very edge of what the solver can tell: let the nearest end give way by that much
    return given_way or {max(worst, key=lambda kind: worst[kind]): 2 * TOLERANCE}


def _solve(
    question: DoseQuestion,
    rows: LevelRows,
    *,
    aim: Aim,
    whole: bool,
    max_nodes: int,
    keep: FloatArray | None = None,
    slack: FloatArray | None = None,
) -> Solved | None:
    """Build and solve one programme; with `keep`, its ties; with `slack`, the smallest loosening of the bands."""
    from scipy.optimize import LinearConstraint  # late: 0.4 s

    days = sorted(set(question.days))
    bottles, n = len(question.shelf), len(question.shelf) * len(days)
    most = np.repeat([float(item.tool.most_steps) for item in question.shelf], len(days))
    if slack is None:
        most = np.minimum(most, most_under_ceilings(rows, whole=whole))
    extra = 0 if slack is None else slack.shape[1]
    width = 2 * n + 2 * bottles + extra
    per_bottle = np.kron(np.eye(bottles), np.ones(len(days)))
    bands = np.zeros((len(rows.matrix), width))
    bands[:, :n] = rows.matrix
    if slack is not None:
        bands[:, width - extra :] = slack
    totals = np.zeros((2 * bottles, width))
    totals[:bottles, :n], totals[bottles:, n : 2 * n] = per_bottle, per_bottle
    totals[:, 2 * n : 2 * n + 2 * bottles] = -np.eye(2 * bottles)
    constraints = [
        LinearConstraint(bands, rows.low, rows.high),
        LinearConstraint(_linked(most, width), -np.inf, 0.0),
        LinearConstraint(totals, 0.0, 0.0),
    ]
    if question.apart:
        constraints.append(LinearConstraint(_apart_rows(question, days, width), -np.inf, 1.0))
    objective, lower, upper = _objective_and_bounds(question, most, aim=aim, keep=keep, extra=extra)
    integrality = np.ones(width)
    integrality[width - extra :] = 0
    if not whole:
        integrality[:n] = integrality[2 * n : 2 * n + bottles] = 0
    programme = Programme(objective, constraints, integrality, lower, upper)

    def solved_by(found: Any) -> Solved | None:
        if found.x is None:
            return None
        x = np.array(found.x)
        if whole:
            x[: 2 * n] = np.round(x[: 2 * n])
        if not (_holds(x, constraints[0], slack) and _fits(x[:n], most, question, days)):
            return None
        steps = np.zeros((bottles, 7))
        steps[:, days] = x[:n].reshape(bottles, len(days))
        return Solved(steps, found.status == 0, 0.0 if found.status == 0 else float(found.mip_gap))

    ways: tuple[bool, ...] = (True, False)
    if aim == "cheapest" and whole and keep is None and slack is None and max_nodes > FIRST_NODES:
        first = _milp(programme, max_nodes=FIRST_NODES)
        one = solved_by(first)
        if first.status == 2 or (one is not None and one.proven):
            return one
        if first.status == 0:
            ways = (False,)  # done, but not to be believed
        if one is not None:
            of_week, each = slice(2 * n, 2 * n + bottles), slice(0, n)
            closer = within(programme, price=float(first.fun), totals=of_week, steps=each)
            closer.constraints[1] = LinearConstraint(_linked(closer.upper[:n], width), -np.inf, 0.0)
            best = solved_by(_milp(closer, max_nodes=max_nodes))
            return best if best is not None else one
    # milp has been seen to call a point optimal that breaks its rows: look again, and then without presolve
    for presolve in ways:
        found = _milp(programme, max_nodes=max_nodes, presolve=presolve)
        if found.status == 2:
            return None
        answer = solved_by(found)
        if answer is not None:
            return answer
    if keep is not None:
        return None  # the first answer stands; only its ties are not broken
    right = "Allow fewer days, or coarser tools: then there are fewer patterns to try."
    raise AdviceError(what=f"no pattern was found in {max_nodes} tries, nor proof that there is none", right=right)


def _milp(programme: Programme, *, max_nodes: int, presolve: bool = True) -> Any:
    from scipy.optimize import Bounds, milp

    return milp(
        programme.objective,
        constraints=programme.constraints,
        integrality=programme.integrality,
        bounds=Bounds(programme.lower, programme.upper),
        options={"mip_rel_gap": 0.0, "node_limit": max_nodes, "presolve": presolve},
    )


def _linked(most: FloatArray, width: int) -> FloatArray:
    """Return the rows n - M y: of a bottle that is not dosed on a day no steps are given."""
    n = most.size
    rows = np.zeros((n, width))
    rows[:, :n], rows[:, n : 2 * n] = np.eye(n), -np.diag(most)
    return rows


def _objective_and_bounds(
    question: DoseQuestion, most: FloatArray, *, aim: Aim, keep: FloatArray | None, extra: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what is minimised over (n, y, totals of n, totals of y, slack), and the bounds of each.

    Slack, where there is any, is all that counts. With `keep`, the steps already found, the aim is held and its ties
    are broken: the same portions at their cheapest, or the same totals in the fewest portions.
    """
    days = sorted(set(question.days))
    bottles, n = len(question.shelf), most.size
    steps_total = slice(2 * n, 2 * n + bottles)
    portions_total = slice(2 * n + bottles, 2 * n + 2 * bottles)
    most_of_week = most.reshape(bottles, len(days)).sum(axis=1)
    upper = np.concatenate([most, np.ones(n), most_of_week, np.full(bottles, len(days)), np.full(extra, np.inf)])
    lower, objective = np.zeros(upper.size), np.zeros(upper.size)
    if extra:
        objective[upper.size - extra :] = 1.0
        return objective, lower, upper
    simplest = aim == "simplest"
    if simplest == (keep is None):
        objective[portions_total] = 1.0
    else:
        objective[steps_total] = _prices(question)
    if keep is not None and simplest:
        upper[n : 2 * n] = lower[n : 2 * n] = (keep[:, days] > 0).ravel()
    elif keep is not None:
        upper[steps_total] = lower[steps_total] = keep[:, days].sum(axis=1)
    return objective, lower, upper


def _holds(x: FloatArray, bands: Any, slack: FloatArray | None) -> bool:
    """Say whether whole steps keep every band, as a share of its end; with slack the bands are soft."""
    if slack is not None:
        return True
    levels = bands.A @ x
    return bool((levels >= bands.lb - TOLERANCE).all() and (levels <= bands.ub + TOLERANCE).all())


def _fits(steps: FloatArray, most: FloatArray, question: DoseQuestion, days: list[int]) -> bool:
    """Say whether steps are within their tools and bottles are apart, whatever the solver says of y."""
    if (steps < -TOLERANCE).any() or (steps > most + TOLERANCE).any():
        return False
    given = dict(
        zip([item.bottle.key for item in question.shelf], steps.reshape(-1, len(days)) > TOLERANCE, strict=True)
    )
    return not any((given[one] & given[other]).any() for one, other in question.apart)


def _apart_rows(question: DoseQuestion, days: list[int], width: int) -> FloatArray:
    """Return a row per pair and day: of two bottles kept apart at most one is dosed."""
    keys = [item.bottle.key for item in question.shelf]
    n = len(keys) * len(days)
    rows = np.zeros((len(question.apart) * len(days), width))
    for k, pair in enumerate(question.apart):
        for d in range(len(days)):
            for name in pair:
                rows[k * len(days) + d, n + keys.index(name) * len(days) + d] = 1.0
    return rows


def _prices(question: DoseQuestion) -> FloatArray:
    """Return the price of one step of each bottle; the same for all where one is unknown, which keeps amounts low."""
    prices = [item.price_per_unit for item in question.shelf]
    known = [price * item.tool.step for price, item in zip(prices, question.shelf, strict=True) if price is not None]
    return np.array(known) if len(known) == len(prices) else np.ones(len(prices))


def steps_by_key(question: DoseQuestion, steps: FloatArray) -> Mapping[str, tuple[int, ...]]:
    """Return whole steps (n_bottles, 7) keyed by bottle."""
    return {
        item.bottle.key: tuple(int(count) for count in np.round(row))
        for item, row in zip(question.shelf, steps, strict=True)
    }
