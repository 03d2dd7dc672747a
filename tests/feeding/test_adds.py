"""What doses add, by the dose and by the week, and what a label would recommend."""

from __future__ import annotations

import pytest

from littoral.chemistry.salts import content_of_salt
from littoral.chemistry.stock import content_of_stock
from littoral.feeding.adds import (
    DoseError,
    dose_adds_mg,
    label_recommends_mg_per_l_per_week,
    label_recommends_ml_per_week,
    week_adds_mg_per_l,
)
from littoral.feeding.bottles import Bottle, Recommended
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime

STOCK = Bottle("macro", "macro stock", content_of_stock({"KNO3": 40.0}, made_up_to_ml=500.0))
DRY = Bottle("nitre", "potassium nitrate", content_mg_per_g=content_of_salt("KNO3"))
MICRO = Bottle("micro", "micro bottle", {"iron": 7.42}, recommended=Recommended(ml=6.0, per_l=100.0, days=7.0))
BOTTLES = {bottle.key: bottle for bottle in (STOCK, DRY, MICRO)}


def test_worked_example() -> None:
    # CHECKS Ex9: 10 mL of 40 g KNO3 in 500 mL, into 200 L
    adds = dose_adds_mg(STOCK, ml=10.0)
    assert round(adds["nitrate"] / 200.0, 4) == 2.4531
    assert round(adds["potassium"] / 200.0, 5) == 1.54687
    # the same salt by the gram
    assert dose_adds_mg(DRY, g=0.8) == {key: pytest.approx(value) for key, value in adds.items()}


@pytest.mark.parametrize(
    ("bottle", "amount", "what"),
    [
        (STOCK, {}, "given in neither mL nor g"),
        (STOCK, {"ml": 1.0, "g": 1.0}, "given in both mL and g"),
        (STOCK, {"g": 1.0}, "it has no content per g"),
        (DRY, {"ml": 1.0}, "it has no content per mL"),
        (STOCK, {"ml": -1.0}, "-1 mL"),
        (DRY, {"g": float("inf")}, "inf g"),
    ],
)
def test_doses_that_cannot_be(bottle: Bottle, amount: dict[str, float], what: str) -> None:
    with pytest.raises(DoseError) as refusal:
        dose_adds_mg(bottle, **amount)
    assert refusal.value.what == what
    assert str(refusal.value).startswith(f"dose of {bottle.key}: {what}. ")
    assert refusal.value.right


def test_a_week() -> None:
    regime = Regime(
        "full",
        "full",
        (
            PlannedDose("macro", (0, 2, 4), ml=4.0),
            PlannedDose("nitre", (6,), g=0.1),
            PlannedDose("micro", (1, 1), ml=1.0),  # a weekday named twice is one dose, as in the calendar
        ),
        (PlannedChange(0.4, (5,)),),
    )
    week = week_adds_mg_per_l(regime, BOTTLES, net_volume_l=50.0)
    grams_of_salt = 3 * 4.0 * 40.0 / 500.0 + 0.1
    assert week["nitrate"] == pytest.approx(content_of_salt("KNO3")["nitrate"] * grams_of_salt / 50.0)
    assert week["iron"] == pytest.approx(7.42 / 50.0)
    assert week_adds_mg_per_l(Regime("none", "none", ()), BOTTLES, net_volume_l=50.0) == {}


def test_a_week_of_a_bottle_that_is_not_there() -> None:
    regime = Regime("r", "r", (PlannedDose("mikro", (0,), ml=1.0),))
    with pytest.raises(DoseError, match=r"no such bottle\. Bottles there are: macro, nitre, micro\."):
        week_adds_mg_per_l(regime, BOTTLES, net_volume_l=50.0)


def test_what_the_label_recommends() -> None:
    assert label_recommends_ml_per_week(MICRO, net_volume_l=40.0) == pytest.approx(2.4)
    daily = Bottle("d", "daily", {"iron": 1.0}, recommended=Recommended(ml=1.0, per_l=50.0, days=1.0))
    assert label_recommends_ml_per_week(daily, net_volume_l=40.0) == pytest.approx(5.6)
    assert label_recommends_mg_per_l_per_week(MICRO, net_volume_l=40.0) == {"iron": pytest.approx(0.06 * 7.42)}
    assert label_recommends_ml_per_week(STOCK, net_volume_l=40.0) is None
    assert label_recommends_mg_per_l_per_week(STOCK, net_volume_l=40.0) is None


@pytest.mark.parametrize("net_volume_l", [0.0, -5.0, float("nan")])
def test_no_water(net_volume_l: float) -> None:
    with pytest.raises(ValueError, match="net_volume_l must be above zero"):
        label_recommends_ml_per_week(MICRO, net_volume_l=net_volume_l)
    with pytest.raises(ValueError, match="net_volume_l must be above zero"):
        week_adds_mg_per_l(Regime("none", "none", ()), BOTTLES, net_volume_l=net_volume_l)
