"""Feeding against worked examples: what a pattern settles at, doses of published recipes, supply, light.

Identities anyone can redo on paper, with the printed digits of the worked page; recipes with their source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date

import numpy as np
from rows import Row
from rows import printed_row as _row

from littoral.chemistry.salts import content_of_salt
from littoral.chemistry.stock import content_of_stock
from littoral.feeding.advice import Advice, Band, DoseQuestion, OnShelf
from littoral.feeding.advise import advise
from littoral.feeding.bottles import Bottle
from littoral.feeding.facts import npk_of, regime_facts
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.feeding.starting_points import light_matched
from littoral.feeding.supply import Ingredient, Stock, how_long_it_lasts, weeks_of_stock
from littoral.feeding.tools import Tool
from littoral.tank.one_dose import one_dose_settles_at
from littoral.tank.steady_state import Pattern, pattern_of, shares_by_weekday, steady_state, weekly_response

SERIES = "geometric series: limit peak D/w, trough D(1-w)/w, source S added to both"
UPTAKE = "first-order uptake: peak D/(1-(1-w)exp(-kT))"
ZERO_ORDER = "zero-order uptake: peak (D-(1-w)UT)/w, while the level stays above zero"


def rows() -> list[Row]:
    return [*_settled(), *_ninety_percent(), *_weekly_advice(), *_recipes(), *_supply(), *_light()]


def _week(doses: dict[int, float], share: float) -> Pattern:
    """One nutrient, doses in mg/L by weekday, one change on weekday 0 before that day's dose."""
    adds, changed = np.zeros((1, 7)), np.zeros(7)
    changed[0] = share
    for day, dose in doses.items():
        adds[0, day] = dose
    return Pattern(("x",), changed, adds)


def _settled() -> Iterator[Row]:
    one = steady_state(_week({0: 10.0}, 0.5))
    yield _row("regime, dose 10, change 50 %: settled peak", one.peak[0], "mg/L", "20.0000", SERIES)
    yield _row("regime, dose 10, change 50 %: settled trough", one.trough[0], "mg/L", "10.0000", SERIES)
    three = steady_state(_week({0: 6.0, 2: 6.0, 4: 6.0}, 0.3))
    yield _row("regime, three doses of 6, change 30 %: settled peak", three.peak[0], "mg/L", "60.0000", SERIES)
    yield _row("regime, three doses of 6, change 30 %: settled trough", three.trough[0], "mg/L", "42.0000", SERIES)
    tap = steady_state(_week({0: 5.0}, 0.25), source_mg_per_l=8.0)
    yield _row("regime, dose 5, change 25 %, source 8: settled peak", tap.peak[0], "mg/L", "28.0000", SERIES)
    yield _row("regime, dose 5, change 25 %, source 8: settled trough", tap.trough[0], "mg/L", "23.0000", SERIES)
    eaten = steady_state(_week({0: 10.0}, 0.5), uptake_per_day=0.1)
    yield _row("regime, dose 10, change 50 %, uptake 10 %/day: peak", eaten.peak[0], "mg/L", "13.3030", UPTAKE)
    yield _row("the same regime, before the change", eaten.before[0, 0], "mg/L", "6.6061", UPTAKE)
    yield _row("the same regime, after the change", eaten.after_change[0, 0], "mg/L", "3.3030", UPTAKE)
    book = one_dose_settles_at(dose_mg_per_l=10.0, share_changed=0.5, uptake_per_day=0.1)
    yield _row("textbook case, dose 10, change 50 %, uptake 10 %/day: peak", book.peak, "mg/L", "13.3030", UPTAKE)
    flat = one_dose_settles_at(dose_mg_per_l=10.0, share_changed=0.5, uptake_mg_per_l_per_day=1.0, days=7.0)
    yield _row("dose 10, change 50 %, uptake 1 mg/L a day: peak", flat.peak, "mg/L", "13.0", ZERO_ORDER)


def _ninety_percent() -> Iterator[Row]:
    for share, printed in ((0.1, "21.85"), (0.2, "10.32"), (0.25, "8.00"), (0.3, "6.46"), (0.5, "3.32")):
        settled = steady_state(_week({0: 1.0}, share))
        yield _row(
            f"weekly changes of {share:.0%}: periods to 90 % of the settled level",
            float(settled.days_to(0.9)[0]) / 7.0, "weeks", printed, "ln 0.1 / ln(1-w)",
        )  # fmt: skip


def _weekly_advice() -> Iterator[Row]:
    """Where only one pattern fits, the adviser must find the worked example's."""
    bottle = Bottle("x", "x", {"nitrate": 10.0})
    response = weekly_response(["nitrate"], share_changed=shares_by_weekday([PlannedChange(0.5, (0,))]), weeks=60)
    question = DoseQuestion(
        (OnShelf(bottle, Tool("mL", 1.0), 0.02),), (Band("nitrate", 10.0, 20.0),), (0,), 1.0, aim="cheapest"
    )
    answer = advise(question, response)
    assert isinstance(answer, Advice)
    yield _row("advice for a band of 10 to 20, change 50 %: dose", 10.0 * answer.steps_of["x"][0], "mg/L", "10", SERIES)


def _recipes() -> Iterator[Row]:
    """Published media as doses: one litre of each is one dose into one litre, through a regime."""
    media = {
        "Hoagland and Arnon solution 1": (
            {"KNO3": 0.505511, "Ca(NO3)2·4H2O": 1.180728, "KH2PO4": 0.136084, "MgSO4·7H2O": 0.492932},
            ("210", "31", "235"), "Hoagland and Arnon 1950, Circ. 347: 5 mM KNO3, 5 Ca(NO3)2, 1 KH2PO4, 2 MgSO4",
        ),
        "US-EPA AAP medium": (
            {"NaNO3": 0.0255, "K2HPO4 anhydrous": 0.001044},
            ("4.202", "0.186", "0.469"), "Regulation (EU) 761/2009, Annex V",
        ),
    }  # fmt: skip
    for name, (salts_g, printed, source) in media.items():
        stock = Bottle("m", "m", content_of_stock(salts_g, made_up_to_ml=1000.0))
        regime = Regime("m", "m", (PlannedDose("m", (0,), ml=1000.0),))
        npk = regime_facts(regime, {"m": stock}, net_volume_l=1.0).npk
        for symbol, ours, digits in zip("NPK", (npk.n_mg_per_l, npk.p_mg_per_l, npk.k_mg_per_l), printed, strict=True):
            yield _row(f"{name} dosed as a regime: {symbol}", ours, "mg/L", digits, source)
    nitre = Bottle("s", "s", content_of_stock({"KNO3": 40.0}, made_up_to_ml=500.0))
    week = Regime("r", "r", (PlannedDose("s", (0, 2, 4), ml=10.0),), (PlannedChange(0.3, (0,)),))
    once = regime_facts(week, {"s": nitre}, net_volume_l=200.0).doses[0].adds_mg_per_l
    source = "40 g KNO3 made up to 500 mL, 10 mL into 200 L; formula weights"
    yield _row("10 mL of a KNO3 stock in 200 L: nitrate by the dose", once["nitrate"], "mg/L", "2.4531", source)
    yield _row("10 mL of a KNO3 stock in 200 L: potassium by the dose", once["potassium"], "mg/L", "1.54687", source)
    pattern = pattern_of(week, {"s": nitre}, net_volume_l=200.0, nutrients=["nitrate"], start_weekday=0)
    ten_doses = float(steady_state(pattern).peak[0]) / once["nitrate"]
    yield _row("three doses a week, change 30 %: peak over one dose", ten_doses, "doses", "10.0000", SERIES)
    nitre_npk = npk_of(content_of_salt("KNO3"))
    yield _row("KNO3: K over N by atoms", nitre_npk.by_atoms[2] / nitre_npk.by_atoms[0], "", "1.0000", "formula")


def _supply() -> Iterator[Row]:
    weeks, _ = weeks_of_stock(stock_ml=5000.0, ml_per_100_l_per_week=30.0, net_volume_l=100.0)
    practice = "common practice, no source: 5 L of stock at 30 mL per 100 L a week"
    yield _row("whole weeks of 5 L of stock in 100 L", float(math.floor(weeks)), "weeks", "166", practice)
    (left,) = how_long_it_lasts(
        {Ingredient("stock", "ml"): 30.0}, {Ingredient("stock", "ml"): Stock(5000.0)}, today=date(2026, 1, 1)
    )
    assert left.weeks is not None
    yield _row("the same, as a shelf that runs out", float(math.floor(left.weeks)), "weeks", "166", practice)


def _light() -> Iterator[Row]:
    point = light_matched(light_mol_per_m2_per_day=2.88, planted_m2=1.0, net_volume_l=100.0)
    npk = npk_of({key: high for key, (_, high) in point.adds_mg_per_l.items()})
    tissue = "1.3 % N and 0.13 % P of dry weight (Gerloff and Krombholz 1966, from memory): 10 by mass, 22.1 molar"
    yield _row("light-matched start: N over P by mass", npk.by_mass[0], "", "10", tissue)
    yield _row("light-matched start: N over P by atoms", npk.by_atoms[0], "", "22.1", tissue)
