"""Rows of `make bench` about mixing and feeding: a regime recalculated, and a week's doses advised."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, row

from littoral.chemistry.stock import content_of_stock
from littoral.feeding import advice_milp
from littoral.feeding.advice import Advice, Band, DoseQuestion, OnShelf
from littoral.feeding.advise import advise
from littoral.feeding.bottles import Bottle
from littoral.feeding.facts import regime_facts
from littoral.feeding.level_response import LevelResponse
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.feeding.tools import Tool
from littoral.tank.balance import levels_at, solve
from littoral.tank.events import TankEvent
from littoral.tank.steady_state import pattern_of, steady_state, weekly_response

NET_L = 42.0
WEEKS = 12
STOCKS_G = {  # per 500 mL: eight bottles that a shelf may hold
    "macro": {"KNO3": 33.0, "KH2PO4": 2.6, "K2SO4": 8.0},
    "nitrate": {"KNO3": 40.0},
    "phosphate": {"KH2PO4": 5.0},
    "potassium": {"K2SO4": 30.0},
    "magnesium": {"MgSO4·7H2O": 60.0},
    "calcium": {"CaCl2·2H2O": 50.0},
    "iron": {"FeSO4·7H2O": 2.0},
    "manganese": {"MnSO4·H2O": 1.0},
}
BOTTLES = {
    key: Bottle(key, key, content_mg_per_ml=content_of_stock(salts, made_up_to_ml=500.0))
    for key, salts in STOCKS_G.items()
}
SOURCE = {"nitrate": 12.0, "phosphate": 0.1, "potassium": 3.0, "calcium": 60.0, "magnesium": 8.0, "iron": 0.01}
UPTAKE = {"nitrate": 0.09, "phosphate": 0.12, "potassium": 0.05, "iron": 0.3}
NUTRIENTS = tuple(SOURCE)
BANDS = (
    Band("nitrate", 8, 25), Band("phosphate", 0.2, 2), Band("potassium", 5, 20), Band("calcium", 40, 90),
    Band("magnesium", 6, 20), Band("iron", 0.02, 0.3),
)  # fmt: skip
APART = (("macro", "iron"), ("calcium", "phosphate"))
PRICES_PER_ML = (0.031, 0.012, 0.02, 0.011, 0.009, 0.014, 0.04, 0.05)
CHANGE = PlannedChange(0.4, (5,))
Paired = Callable[..., tuple[float, float]]


def regime_row(paired: Paired) -> Row:
    """One regime recalculated whole (facts and the levels it settles at), against stepping through its weeks."""
    regime = Regime(
        "full", "full", (PlannedDose("macro", (6, 1, 3), ml=4.4), PlannedDose("iron", (0, 2, 4), ml=1.2)), (CHANGE,)
    )
    source = np.array([SOURCE[key] for key in NUTRIENTS])
    uptake = np.array([UPTAKE.get(key, 0.0) for key in NUTRIENTS])
    made = pattern_of(regime, BOTTLES, net_volume_l=NET_L, nutrients=NUTRIENTS, start_weekday=0)

    def ours() -> object:
        regime_facts(regime, BOTTLES, net_volume_l=NET_L)
        pattern = pattern_of(regime, BOTTLES, net_volume_l=NET_L, nutrients=NUTRIENTS, start_weekday=0)
        return steady_state(pattern, source_mg_per_l=source, uptake_per_day=uptake)

    def stepped() -> object:
        weeks = 5 * WEEKS
        events = [
            TankEvent(
                float(7 * week + day),
                adds_mg=made.adds_mg_per_l[:, day] * NET_L,
                share_changed=float(made.share_changed[day]),
            )
            for week in range(weeks)
            for day in range(7)
        ]
        balance = solve(
            events, source_mg_per_l=source, start_mg_per_l=source, net_volume_l=NET_L, uptake_per_day=uptake
        )
        return levels_at(balance, np.arange(0.0, 7.0 * weeks, 0.25))

    mine, theirs = paired(ours, stepped)
    return row(
        "one regime recalculated: doses, week, N:P:K, label, settled levels", mine, "s",
        reference=f"60 weeks of it stepped through: {theirs:.4g} s", limit="ratio at most 1", holds=mine <= theirs,
        source="timed in this run", ratio=mine / theirs,
    )  # fmt: skip


def _response() -> LevelResponse:
    return weekly_response(
        NUTRIENTS,
        share_changed=[0, 0, 0, 0, 0, 0.4, 0],
        source_mg_per_l=[SOURCE[key] for key in NUTRIENTS],
        uptake_per_day=[UPTAKE.get(key, 0.0) for key in NUTRIENTS],
        start_mg_per_l=[SOURCE[key] for key in NUTRIENTS],
        weeks=WEEKS,
    )


def cheapest_row() -> Row:
    """How far from proven the cheapest week is, eight bottles in steps of 0.5 mL on seven days, and how it was."""
    shelf = tuple(
        OnShelf(bottle, Tool("mL", 0.5, most_steps=40), price)
        for bottle, price in zip(BOTTLES.values(), PRICES_PER_ML, strict=True)
    )
    question, response = DoseQuestion(shelf, BANDS, tuple(range(7)), NET_L, APART, "cheapest"), _response()
    kept = advice_milp.FIRST_NODES
    found = advice_milp.best_steps(question, response)
    advice_milp.FIRST_NODES = advice_milp.MOST_NODES  # no bounds drawn closer
    before = advice_milp.best_steps(question, response)
    advice_milp.FIRST_NODES = kept
    assert found is not None
    assert before is not None
    return row(
        f"cheapest week from {len(shelf)} bottles on 7 days, {len(BANDS)} bands: gap to its bound", found.gap, "",
        reference=f"in as many tries, bounds not drawn closer: {before.gap:.3g}", limit="0: proven", holds=found.proven,
        source="solved in this run", difference=found.gap - before.gap,
    )  # fmt: skip


def advice_row(paired: Paired) -> Row:
    """Doses for twelve weeks advised from eight bottles on five days, against a fixed problem of the same solver."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    response = _response()
    shelf = tuple(OnShelf(bottle, Tool("stroke", 1.1, most_steps=12), 0.01) for bottle in BOTTLES.values())
    question = DoseQuestion(shelf, BANDS, (0, 1, 2, 3, 4), NET_L, APART)
    rng = np.random.default_rng(1)
    worth, weight = rng.integers(20, 60, 60).astype(float), rng.integers(20, 60, (5, 60)).astype(float)

    def knapsack() -> object:
        return milp(
            -worth,
            integrality=np.ones(60),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(weight, ub=weight.sum(axis=1) / 3),
        )

    found = advise(question, response)
    assert isinstance(found, Advice)
    mine, theirs = paired(lambda: advise(question, response), knapsack, rounds=3)
    return row(
        f"{WEEKS} weeks advised from {len(shelf)} bottles on 5 days, {len(BANDS)} bands", mine, "s",
        reference=f"a fixed knapsack of 60 items by the same solver: {theirs:.4g} s",
        limit="under 2 s on the machine of reference", holds=mine < 2.0,
        source="timed in this run", ratio=mine / theirs,
    )  # fmt: skip
