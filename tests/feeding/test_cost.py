"""What feeding costs, by hand on paper, and which pack is empty first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.feeding.bottles import Bottle, Pack
from littoral.feeding.cost import CostError, cost_of_feeding

MACRO = Bottle(
    "macro",
    "macro stock",
    salts_g={"KNO3": 33.0, "KH2PO4": 2.6},
    made_up_to_ml=500.0,
    packs={"KNO3": Pack(500.0, "g", 7.90), "KH2PO4": Pack(250.0, "g", 6.50)},
)
MICRO = Bottle("micro", "micro bottle", packs={"bottle": Pack(250.0, "ml", 9.80)})
DRY = Bottle("nitre", "dry nitre", dry_formula="KNO3", packs={"KNO3": Pack(500.0, "g", 7.90)})
BOTTLES = {bottle.key: bottle for bottle in (MACRO, MICRO, DRY)}


def test_by_hand() -> None:
    cost = cost_of_feeding({"macro": 100.0, "micro": 20.0}, {"nitre": 2.0}, BOTTLES, weeks=4.0, net_volume_l=40.0)
    # 100 mL of stock hold 6.6 g KNO3 and 0.52 g KH2PO4
    kno3, kh2po4, micro, nitre = 6.6 / 500 * 7.90, 0.52 / 250 * 6.50, 20 / 250 * 9.80, 2 / 500 * 7.90
    assert [part.ingredient for part in cost.parts] == ["KNO3", "KH2PO4", "bottle", "KNO3"]
    assert [part.cost_per_week for part in cost.parts] == [
        pytest.approx(price / 4.0) for price in (kno3, kh2po4, micro, nitre)
    ]
    assert cost.per_week == pytest.approx((kno3 + kh2po4 + micro + nitre) / 4.0)
    assert cost.per_100_l_per_week == pytest.approx(cost.per_week * 2.5)
    assert cost.per_year == pytest.approx(cost.per_week * 365.25 / 7)
    assert cost.unpriced == ()


def test_what_is_empty_first() -> None:
    cost = cost_of_feeding({"macro": 100.0, "micro": 20.0}, {}, BOTTLES, weeks=4.0, net_volume_l=40.0)
    first = cost.runs_out_first
    assert first is not None
    assert (first.bottle, first.ingredient) == ("micro", "bottle")
    assert first.pack_lasts_weeks == pytest.approx(50.0)  # 250 mL at 5 mL a week
    assert {part.ingredient: part.pack_lasts_weeks for part in cost.parts}["KNO3"] == pytest.approx(500 / 6.6 * 4)


def test_what_has_no_price_is_named() -> None:
    bare = Bottle("bare", "unpriced", {"iron": 1.0})
    half = Bottle("half", "half priced", salts_g={"KNO3": 10.0, "K2SO4": 10.0}, made_up_to_ml=100.0,
                  packs={"KNO3": Pack(500.0, "g", 7.90)})  # fmt: skip
    wrong = Bottle("wrong", "priced by the gram", packs={"bottle": Pack(250.0, "g", 9.80)})
    dry = Bottle("dry", "unpriced salt", dry_formula="K2SO4")
    bottles = {bottle.key: bottle for bottle in (bare, half, wrong, dry)}
    used_ml = {"bare": 5.0, "half": 5.0, "wrong": 5.0}
    cost = cost_of_feeding(used_ml, {"dry": 1.0}, bottles, weeks=1.0, net_volume_l=40.0)
    assert cost.unpriced == (("bare", "bottle"), ("half", "K2SO4"), ("wrong", "bottle"), ("dry", "K2SO4"))
    assert cost.per_week == pytest.approx(0.5 / 500 * 7.90)


def test_nothing_used_costs_nothing_and_lasts() -> None:
    cost = cost_of_feeding({"macro": 0.0}, {}, BOTTLES, weeks=4.0, net_volume_l=40.0)
    assert (cost.per_week, cost.runs_out_first, cost.unpriced) == (0.0, None, ())
    assert cost_of_feeding({}, {}, BOTTLES, weeks=4.0, net_volume_l=40.0).parts == ()


@pytest.mark.parametrize(
    ("used_ml", "weeks", "net_volume_l", "what"),
    [
        ({"mikro": 1.0}, 1.0, 40.0, 'there is no bottle "mikro"'),
        ({"micro": -1.0}, 1.0, 40.0, "-1 ml of micro used"),
        ({"micro": 1.0}, 0.0, 40.0, "weeks is 0"),
        ({"micro": 1.0}, 1.0, 0.0, "net volume is 0"),
    ],
)
def test_costs_that_cannot_be(used_ml: dict[str, float], weeks: float, net_volume_l: float, what: str) -> None:
    with pytest.raises(CostError) as refusal:
        cost_of_feeding(used_ml, {}, BOTTLES, weeks=weeks, net_volume_l=net_volume_l)
    assert refusal.value.what == what
    assert str(refusal.value) == f"cost of feeding: {what}. {refusal.value.right}"


@given(st.floats(0.1, 500.0), st.floats(0.5, 52.0))
def test_a_pack_used_up_costs_its_price(used_ml: float, weeks: float) -> None:
    cost = cost_of_feeding({"micro": used_ml}, {}, BOTTLES, weeks=weeks, net_volume_l=40.0)
    assert cost.runs_out_first is not None
    assert cost.runs_out_first.pack_lasts_weeks is not None
    assert cost.per_week * cost.runs_out_first.pack_lasts_weeks == pytest.approx(9.80)
