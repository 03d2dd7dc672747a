"""The dose adviser: the best pattern, what each wish costs, and the smallest change where nothing fits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from littoral.feeding.advice import (
    Advice,
    Band,
    ConstraintPrice,
    DoseQuestion,
    Loosened,
    NothingFits,
    Reached,
    days_words,
    doses_of,
)
from littoral.feeding.advice_milp import MOST_NODES, Solved, best_steps, smallest_slack, steps_by_key
from littoral.feeding.advice_rows import TOLERANCE, adds_per_step
from littoral.feeding.level_response import FloatArray, LevelResponse
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

NODES_PER_WISH = 1000


def advise(question: DoseQuestion, response: LevelResponse, *, max_nodes: int = MOST_NODES) -> Advice | NothingFits:
    """Return the best weekly pattern of whole steps, or what would have to change where nothing fits.

    `response` says what levels (mg/L) the doses lead to, see `tank.steady_state.weekly_response`. Deterministic.
    Raises AdviceError (a band of an unknown nutrient, nothing found within `max_nodes`), DoseError.
    """
    found = best_steps(question, response, max_nodes=max_nodes)
    if found is not None:
        return _advice(question, response, found)
    slack = smallest_slack(question, response)
    bands, changes = [], []
    for band in question.bands:
        low, high = band.low, band.high
        for end, share in (
            ("floor", slack.get((band.nutrient, "floor"))),
            ("ceiling", slack.get((band.nutrient, "ceiling"))),
        ):
            if share is None:
                continue
            if end == "floor" and low is not None:
                needed = _outward(low - share * (low or 1.0), down=True)
                changes.append(Loosened(band.nutrient, "floor", low, needed))
                low = needed
            elif end == "ceiling" and high is not None:
                needed = _outward(high + share * (high or 1.0), down=False)
                changes.append(Loosened(band.nutrient, "ceiling", high, needed))
                high = needed
        bands.append(Band(band.nutrient, low, high))
    loose = replace(question, bands=tuple(bands))
    then = best_steps(loose, response, max_nodes=max_nodes)
    return NothingFits(tuple(changes), None if then is None else _advice(loose, response, then))


def what_wishes_cost(
    question: DoseQuestion, response: LevelResponse, *, currency: str = ""
) -> tuple[ConstraintPrice, ...]:
    """Return, for each wish, what the best pattern is without it: each end of a band, pair, days, whole steps.

    The question is solved again for each, so this takes as many times as long as `advise` as there are wishes.
    Prices are told in `currency`. Raises as `advise`.
    """
    now = best_steps(question, response, max_nodes=MOST_NODES)
    prices = []
    for wish, without, whole in _without_each(question):
        then = best_steps(without, response, whole=whole, max_nodes=NODES_PER_WISH)
        prices.append(_price_of(wish, question, now, then, currency))
    return tuple(prices)


def _without_each(question: DoseQuestion) -> Iterator[tuple[str, DoseQuestion, bool]]:
    for i, band in enumerate(question.bands):
        others = question.bands[:i] + question.bands[i + 1 :]
        if band.low is not None:
            rest = (*others, Band(band.nutrient, 0.0, band.high))
            yield f"{band.nutrient} at least {band.low:g} mg/L", replace(question, bands=rest), True
        if band.high is not None:
            rest = (*others, Band(band.nutrient, band.low or 0.0, None))
            yield f"{band.nutrient} at most {band.high:g} mg/L", replace(question, bands=rest), True
    for pair in question.apart:
        rest_apart = tuple(other for other in question.apart if other != pair)
        yield f"{pair[0]} and {pair[1]} not on one day", replace(question, apart=rest_apart), True
    if len(set(question.days)) < 7:
        yield f"doses only on {days_words(question.days)}", replace(question, days=tuple(range(7))), True
    yield "whole steps of each tool", question, False


def _price_of(
    wish: str, question: DoseQuestion, now: Solved | None, then: Solved | None, currency: str
) -> ConstraintPrice:
    if then is None:
        return ConstraintPrice(wish, None, None, None, None, False, f"{wish}: without it alone, nothing fits either")
    price, portions = _price(question, then.steps), int((then.steps > TOLERANCE).sum())
    if now is None:
        return ConstraintPrice(wish, price, portions, None, None, True, f"{wish}: without it, something fits")
    was, count = _price(question, now.steps), int((now.steps > TOLERANCE).sum())
    saves = None if price is None or was is None else was - price
    fewer = count - portions
    parts = [f"{fewer} portions a week" if fewer > 1 else "one portion a week"] if fewer > 0 else []
    if saves is not None and saves > 1e-9 and question.aim == "cheapest":
        parts.append(f"{saves:.3g} {currency} a week".replace("  ", " "))
    doubt = "" if now.proven and then.proven else " (the search was cut short)"
    words = f"{wish}: costs {' and '.join(parts) or 'nothing'}{doubt}"
    return ConstraintPrice(wish, price, portions, saves, fewer, False, words)


def _advice(question: DoseQuestion, response: LevelResponse, found: Solved) -> Advice:
    steps_of = steps_by_key(question, found.steps)
    levels = _levels(question, response, found.steps)
    reached, checks = [], []
    for band in question.bands:
        i = response.nutrients.index(band.nutrient)
        lowest, highest = float(levels[i][response.settled].min()), float(levels[i].max())
        reached.append(Reached(band.nutrient, lowest, highest))
        for operator, value, limit in ((">=", lowest, band.low), ("<=", highest, band.high)):
            if limit is not None:
                checks.append(_row(band.nutrient, operator, value, limit))
    portions = int((found.steps > 0).sum())
    aim = f"fewest portions: {portions}" if question.aim == "simplest" else "lowest price of a week"
    steps = [
        Step(f"{item.tool.written(1)} of {item.bottle.name}",
             ", ".join(f"{mg:.3g} mg {key} / {question.net_volume_l:g} L" for key, mg in item.step_adds_mg().items()),
             ", ".join(f"{mg / question.net_volume_l:.3g} mg/L {key}" for key, mg in item.step_adds_mg().items()),
             "content of the bottle, size of the step")
        for item in question.shelf if any(steps_of[item.bottle.key])
    ]  # fmt: skip
    proof = (
        "proven: every other pattern was tried or ruled out"
        if found.proven
        else f"none is better by over {found.gap:.1%}"
    )
    steps.append(Step("best pattern", aim, proof, "mixed-integer programming, HiGHS; bands checked again afterwards"))
    return Advice(
        steps_of=steps_of,
        doses=doses_of(question, steps_of),
        portions=portions,
        price_per_week=_price(question, found.steps),
        reached=tuple(reached),
        checks=tuple(checks),
        proven=found.proven,
        gap=found.gap,
        derivation=tuple(steps),
    )


def _row(nutrient: str, operator: str, value: float, limit: float) -> CheckRow:
    off = limit - value if operator == ">=" else value - limit
    holds = off <= TOLERANCE * (limit or 1.0) * 10
    what = f"{nutrient} {'at least' if operator == '>=' else 'at most'}"
    when = "lowest once settled" if operator == ">=" else "highest, on the way there too"
    return CheckRow(what, value, operator, limit, "mg/L", "holds" if holds else "fails", when, "your own band")


def _levels(question: DoseQuestion, response: LevelResponse, steps: FloatArray) -> FloatArray:
    """Return levels (n_nutrients, n_points), computed anew from the steps."""
    dosed = adds_per_step(question, response.nutrients).T @ steps  # (n_nutrients, 7)
    levels: FloatArray = response.base + np.einsum("ipd,id->ip", response.gain, dosed)
    return levels


def _price(question: DoseQuestion, steps: FloatArray) -> float | None:
    total = 0.0
    for item, row in zip(question.shelf, steps, strict=True):
        if item.price_per_unit is None:
            return None
        total += item.price_per_unit * item.tool.step * float(row.sum())
    return total


def _outward(value: float, *, down: bool) -> float:
    """Return a value at four digits, rounded away from the band so that what was found still fits."""
    if value <= 0:
        return 0.0
    digit = 10.0 ** (math.floor(math.log10(value)) - 3)
    rounded = (math.floor(value / digit - 1e-3) if down else math.ceil(value / digit + 1e-3)) * digit
    return max(0.0, rounded)
