"""Bought bottles by the three numbers of their label; limits of a week derived; packs that several bottles share."""

from __future__ import annotations

from dataclasses import replace

import pytest

from littoral.acts.mix_and_feed.bottle_form import BottleForm
from littoral.acts.mix_and_feed.cost_form import CostForm, Costs
from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.plan_week import plan_week
from littoral.acts.mix_and_feed.see_costs import see_costs
from littoral.acts.mix_and_feed.week_form import DoseForm, Week, WeekForm

BOUGHT = BottleForm("all", grade="5-10-20", label=(("NO3-N", "5 %"),), density="1.2 kg/L")


def planned(bottle: BottleForm, **more: object) -> Week:
    form = replace(WeekForm(), bottles=(bottle,), doses=(DoseForm("all", "1 mL", "Mon"),), apart=(), net_volume="100 L")
    found = plan_week(replace(form, **more))  # type: ignore[arg-type]
    assert isinstance(found, Week), found
    return found


def added(week: Week, nutrient: str) -> float:
    return next(line.week.value or 0.0 for line in week.lines if line.nutrient == nutrient)


def feeding(seen: Costs) -> float:
    return next(line.per_week.value or 0.0 for line in seen.lines if line.part == "feeding")


def test_three_numbers_count_as_they_are_said_to_count() -> None:
    oxides, elements = planned(BOUGHT), planned(replace(BOUGHT, counting="elements"))
    # 1 mL of 1.2 g/mL into 100 L is 12 mg/L: 20 % K2O of it, K 0.830 of K2O (Regulation (EU) 2019/1009)
    assert added(oxides, "potassium") == pytest.approx(12 * 0.20 * 0.830, rel=1e-3)
    assert added(elements, "potassium") == pytest.approx(12 * 0.20)
    # 10 % P2O5, P 0.436 of it, shown as PO4
    assert added(oxides, "phosphate") == pytest.approx(12 * 0.10 * 0.436 * 94.971 / 30.974, rel=1e-3)
    assert added(elements, "phosphate") == pytest.approx(12 * 0.10 * 94.971 / 30.974, rel=1e-3)


def test_both_countings_stand_side_by_side_on_the_week_and_in_costs() -> None:
    seen = see_costs(replace(CostForm(), bottles=(BOUGHT,), doses=(DoseForm("all", "1 mL", "Mon"),)))
    assert isinstance(seen, Costs)
    for readings in (planned(BOUGHT).readings, seen.readings):
        (reading,) = readings
        assert (reading.name, reading.grade, reading.counting) == ("all", "5-10-20", "oxides")
        assert [line.taken for line in reading.lines] == ["% P2O5", "% K2O"]
        assert [line.as_oxide.value for line in reading.lines] == pytest.approx([4.36, 16.6], rel=1e-2)
    assert planned(replace(BOUGHT, grade="", label=(("Fe", "0.7 %"),))).readings == ()


def test_a_counting_that_is_not_clear_warns() -> None:
    rows = planned(replace(BOUGHT, counting="not clear")).checks
    assert any(row.verdict == "warns" and "5-10-20 as oxides, or as elements" in row.what for row in rows)


@pytest.mark.parametrize(
    ("bottle", "said"),
    [
        (replace(BOUGHT, grade="5-10"), "is no grade"),
        (replace(BOUGHT, label=()), "total nitrogen alone"),
        (replace(BOUGHT, label=(("NO3-N", "5 %"), ("K2O", "20 %"))), "says it already"),
        (replace(BOUGHT, counting="perhaps"), "counting"),
        (replace(BOUGHT, dry="KNO3"), "several ways"),
    ],
)
def test_a_wrong_label_is_one_clear_fault(bottle: BottleForm, said: str) -> None:
    found = plan_week(replace(WeekForm(), bottles=(bottle,), doses=(), apart=()))
    assert isinstance(found, Refused)
    (fault,) = found.faults
    assert said in f"{fault.where} {fault.what}"


def test_each_limit_of_the_week_is_derived() -> None:
    week = planned(BOUGHT)
    assert week.limits
    assert {row.what for row in week.limits if row.limit is not None} <= {step.what for step in week.limit_steps}


def test_a_dry_salt_is_priced_by_the_pack_that_another_bottle_states() -> None:
    stock = BottleForm("macro", salts=(("KNO3", "33 g"),), made_up_to="500 mL", packs=(("KNO3", "500 g for 7.90"),))
    dry = BottleForm("nitre", dry="KNO3", tool="0.1 g")
    doses = (DoseForm("nitre", "0.5 g", "Mon"),)
    for shelf in ((stock, dry), (dry, stock)):
        seen = see_costs(replace(CostForm(), bottles=shelf, doses=doses))
        assert isinstance(seen, Costs)
        assert seen.lower_bound == ()
        assert feeding(seen) == pytest.approx(0.5 * 7.9 / 500)
    own = replace(dry, packs=(("KNO3", "100 g for 4.00"),))
    seen = see_costs(replace(CostForm(), bottles=(stock, own), doses=doses))
    assert isinstance(seen, Costs)
    assert feeding(seen) == pytest.approx(0.5 * 4 / 100)
