"""Supply: shared salts, what is empty or spoilt first, batches, and the shopping list, by hand and day by day."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.feeding.bottles import Bottle, Pack
from littoral.feeding.calendar import planned
from littoral.feeding.cost import CostError, cost_of_feeding
from littoral.feeding.regimes import EveryDays, PlannedDose, Regime
from littoral.feeding.shopping import shopping_list
from littoral.feeding.supply import (
    BatchesLeft,
    Ingredient,
    Stock,
    batch_takes_g,
    batches_left,
    how_long_it_lasts,
    ingredients_per_week,
    use_per_week,
    weeks_of_stock,
)

NITRE_PACK = Pack(500.0, "g", 8.0)
MACRO = Bottle("macro", "macro", salts_g={"KNO3": 33.0, "KH2PO4": 2.6}, made_up_to_ml=500.0,
               packs={"KNO3": NITRE_PACK, "KH2PO4": Pack(250.0, "g", 6.5)})  # fmt: skip
STRONG = Bottle("strong", "strong", salts_g={"potassium nitrate": 66.0}, made_up_to_ml=500.0,
                packs={"potassium nitrate": NITRE_PACK})  # fmt: skip
DRY = Bottle("dry", "dry", content_mg_per_g={"nitrate": 613.0}, dry_formula="KNO3", packs={"KNO3": NITRE_PACK})
MICRO = Bottle("micro", "micro", {"iron": 2.0}, packs={"bottle": Pack(250.0, "ml", 10.0)})
BOTTLES = {bottle.key: bottle for bottle in (MACRO, STRONG, DRY, MICRO)}
KNO3, KH2PO4, MICRO_ML = Ingredient("KNO3", "g"), Ingredient("KH2PO4", "g"), Ingredient("micro", "ml")
TODAY = date(2026, 12, 28)


def test_a_salt_in_two_stocks_is_one_shelf() -> None:
    rates = ingredients_per_week({"macro": (50.0, 0.0), "strong": (50.0, 0.0), "dry": (0.0, 1.0)}, BOTTLES)
    assert rates == {KNO3: pytest.approx(3.3 + 6.6 + 1.0), KH2PO4: pytest.approx(0.26)}


def test_what_is_empty_first_is_judged_on_all_that_share_a_pack() -> None:
    """Alone each stock's nitre would outlast the micro bottle; together it does not."""
    used = {"macro": 50.0, "strong": 50.0, "micro": 250 / 60}
    cost = cost_of_feeding(used, {}, BOTTLES, weeks=1.0, net_volume_l=50.0)
    assert cost.runs_out_first is not None
    assert cost.runs_out_first.ingredient == "KNO3"
    assert cost.runs_out_first.pack_lasts_weeks == pytest.approx(500 / 9.9)
    assert cost.per_week == pytest.approx(9.9 / 500 * 8 + 0.26 / 250 * 6.5 + 10 / 60)
    alone = cost_of_feeding({"macro": 50.0, "micro": 250 / 60}, {}, BOTTLES, weeks=1.0, net_volume_l=50.0)
    assert alone.runs_out_first is not None
    assert alone.runs_out_first.ingredient == "bottle"


def test_two_currencies_do_not_add_up() -> None:
    other = Bottle("other", "other", {"iron": 1.0}, packs={"bottle": Pack(100.0, "ml", 3.0, currency="EUR")})
    with pytest.raises(CostError, match="prices in the trial's own and EUR"):
        cost_of_feeding({"micro": 1.0, "other": 1.0}, {}, {**BOTTLES, "other": other}, weeks=1, net_volume_l=1)


@pytest.mark.parametrize(("pack", "what"), [
    (Pack(0.0, "ml", 3.0), "the pack of bottle of bad holds 0 ml"),
    (Pack(10.0, "ml", -3.0), "the pack of bottle of bad costs -3"),
    (Pack(10.0, "ml", math.nan), "the pack of bottle of bad costs nan"),
])  # fmt: skip
def test_packs_that_cannot_be(pack: Pack, what: str) -> None:
    bad = Bottle("bad", "bad", {"iron": 1.0}, packs={"bottle": pack})
    with pytest.raises(CostError) as refusal:
        cost_of_feeding({"bad": 1.0}, {}, {"bad": bad}, weeks=1, net_volume_l=1)
    assert refusal.value.what == what


def test_when_a_pack_spoils() -> None:
    assert Pack(1, "g", 1, bought=date(2026, 12, 1), keeps_days=40).spoils_on == date(2027, 1, 10)
    assert Pack(1, "g", 1, bought=date(2026, 12, 1)).spoils_on is None


def test_batches() -> None:
    assert batch_takes_g(MACRO) == {KNO3: 33.0, KH2PO4: 2.6}
    found = batches_left(MACRO, {KNO3: Stock(330.0), KH2PO4: Stock(13.0)})
    assert (found.batches, found.missing_first) == (pytest.approx(5.0), KH2PO4)
    assert [step.result for step in found.steps] == ["10", "5", "5"]
    none = batches_left(MACRO, {KNO3: Stock(330.0)})
    assert (none.batches, none.missing_first) == (0.0, KH2PO4)
    assert batches_left(MICRO, {}) == BatchesLeft(math.inf, None, ())


def test_how_long_by_hand() -> None:
    lasting = how_long_it_lasts(
        {KNO3: 10.0, KH2PO4: 1.0, MICRO_ML: 5.0},
        {KNO3: Stock(100.0), KH2PO4: Stock(250.0, spoils_on=date(2027, 1, 11)), Ingredient("urea", "g"): Stock(3.0)},
        today=TODAY,
    )
    assert [(one.ingredient, one.weeks, one.empty_on) for one in lasting] == [
        (MICRO_ML, 0.0, TODAY), (KNO3, 10.0, date(2027, 3, 8)), (KH2PO4, 250.0, TODAY + timedelta(weeks=250)),
        (Ingredient("urea", "g"), None, None),
    ]  # fmt: skip
    assert [(one.spoils_first, one.wasted) for one in lasting] == [(False, 0), (False, 0), (True, 248.0), (False, 0)]
    assert lasting[2].steps[-1].what == "spoils first"


@given(st.floats(0.0, 500.0), st.floats(0.1, 50.0))
def test_empty_on_the_day_that_counting_says(left: float, per_week: float) -> None:
    (one,) = how_long_it_lasts({KNO3: per_week}, {KNO3: Stock(left)}, today=TODAY)
    whole_days = 0
    while left >= per_week / 7 * (whole_days + 1) * (1 - 1e-12) and whole_days < 36_500:
        whole_days += 1
    assert one.empty_on is not None
    assert abs((one.empty_on - TODAY).days - whole_days) <= (1 if left > 0 else 0)
    assert one.weeks == pytest.approx(left / per_week)


@given(st.integers(1, 14), st.sets(st.integers(0, 6), min_size=1), st.floats(0.1, 5.0))
def test_what_the_regimes_use_is_what_the_calendar_gives(days: int, weekdays: set[int], ml: float) -> None:
    """Mass through the whole path: regime, calendar, stock and salt, over one full period."""
    regimes = [
        Regime("a", "a", (PlannedDose("macro", tuple(weekdays), ml=ml),)),
        Regime("b", "b", (PlannedDose("strong", (), ml=ml, every=EveryDays(days)), PlannedDose("dry", (0,), g=0.5))),
    ]
    weeks = days  # in so many weeks every pattern comes round
    grams = 0.0
    for regime in regimes:
        for _, act in planned(regime, start=date(2027, 12, 27), from_day=0, to_day=7 * weeks):
            assert isinstance(act, PlannedDose)
            bottle = BOTTLES[act.of]
            salts = sum(grams for name, grams in bottle.salts_g.items() if name != "KH2PO4")
            grams += act.g or (act.ml or 0.0) / 500.0 * salts
    assert ingredients_per_week(use_per_week(regimes), BOTTLES)[KNO3] * weeks == pytest.approx(grams)


def test_common_practice_166_weeks() -> None:
    weeks, step = weeks_of_stock(stock_ml=5000.0, ml_per_100_l_per_week=30.0, net_volume_l=100.0)
    assert weeks == pytest.approx(5000 / 30)
    assert (step.formula, step.result) == ("5000 mL / (30 mL × 100 L / 100 L)", "166 whole weeks")


PACKS = {KNO3: NITRE_PACK, MICRO_ML: Pack(250.0, "ml", 10.0)}


def test_a_shopping_list_by_hand() -> None:
    rates = {KNO3: 10.0, KH2PO4: 1.0, MICRO_ML: 25.0, Ingredient("urea", "g"): 0.0}
    left = {KNO3: Stock(100.0), KH2PO4: Stock(5.0), MICRO_ML: Stock(10.0)}
    lines = shopping_list(rates, left, PACKS, today=TODAY, weeks=26.0)
    assert [(line.ingredient, line.packs, line.price, line.runs_out, line.buy_by, line.overdue) for line in lines] == [
        (MICRO_ML, 3, 30.0, date(2026, 12, 30), TODAY, True),  # 2.8 days; 640 mL are 3 bottles
        (KH2PO4, None, None, date(2027, 2, 1), date(2027, 1, 25), False),
        (KNO3, 1, 8.0, date(2027, 3, 8), date(2027, 3, 1), False),
    ]
    assert lines[0].amount == pytest.approx(640.0)
    assert lines[0].steps[-1].formula == "640 ml / 250 ml, rounded up"
    assert shopping_list(rates, left, PACKS, today=TODAY, weeks=0.2) == ()


def test_what_spoils_is_bought_again() -> None:
    left = {MICRO_ML: Stock(1000.0, spoils_on=TODAY + timedelta(days=14))}
    (line,) = shopping_list({MICRO_ML: 10.0}, left, PACKS, today=TODAY, weeks=10.0)
    assert line.runs_out == TODAY + timedelta(days=14)
    assert line.amount == pytest.approx(80.0)  # of the 100 mL needed 20 are used in time


@given(st.floats(0, 500), st.floats(0.1, 50), st.floats(0.1, 60))
def test_what_is_bought_is_enough_and_no_pack_too_many(left: float, rate: float, weeks: float) -> None:
    lines = shopping_list({KNO3: rate}, {KNO3: Stock(left)}, PACKS, today=TODAY, weeks=weeks)
    bought = sum((line.packs or 0) * 500.0 for line in lines)
    assert left + bought >= rate * weeks * (1 - 1e-6)
    assert not lines or left + bought - 500.0 < rate * weeks


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: ingredients_per_week({"mikro": (1.0, 0.0)}, BOTTLES), 'there is no bottle "mikro"'),
        (lambda: ingredients_per_week({"micro": (-1.0, 0.0)}, BOTTLES), "-1 ml of micro a week"),
        (lambda: how_long_it_lasts({}, {KNO3: Stock(math.nan)}, today=TODAY), "nan g of KNO3 left"),
        (lambda: how_long_it_lasts({KNO3: -1.0}, {}, today=TODAY), "-1 g of KNO3 a week"),
        (lambda: weeks_of_stock(stock_ml=0, ml_per_100_l_per_week=1, net_volume_l=1), "stock is 0"),
        (lambda: shopping_list({}, {}, {}, today=TODAY, weeks=0), "shopping for 0 weeks"),
        (lambda: shopping_list({}, {}, {}, today=TODAY, weeks=1, lead_days=-1), "-1 days for an order"),
        (lambda: shopping_list({}, {}, {KNO3: Pack(0, "g", 1)}, today=TODAY, weeks=1), "the pack of KNO3 holds 0 g"),
        (lambda: shopping_list({}, {}, {KNO3: Pack(1, "ml", 1)}, today=TODAY, weeks=1),
         "KNO3 is used in g, its pack is in ml"),
    ],
)  # fmt: skip
def test_supply_that_cannot_be(make: Any, what: str) -> None:
    with pytest.raises(CostError) as refusal:
        make()
    assert refusal.value.what == what


def test_one_bottle_wet_and_dry_adds_up() -> None:
    both = Bottle("both", "both", salts_g={"KNO3": 50.0}, made_up_to_ml=500.0, dry_formula="KNO3")
    assert ingredients_per_week({"both": (10.0, 2.0)}, {"both": both}) == {KNO3: pytest.approx(3.0)}
