"""Seeing costs as the page and the command ask for them, against arithmetic done by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from littoral.acts.mix_and_feed.bottle_form import BottleForm
from littoral.acts.mix_and_feed.cost_form import BoughtForm, CostForm, Costs, KitForm, PowerForm
from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.see_costs import see_costs
from littoral.acts.mix_and_feed.week_form import DoseForm

DAY = date(2026, 3, 2)


def seen(form: CostForm) -> Costs:
    found = see_costs(form, today=DAY)
    assert isinstance(found, Costs), found
    return found


def test_five_litres_last_166_weeks() -> None:
    """Common practice, no source: 5 L of stock at 30 mL per 100 L a week in 100 L last 166 whole weeks."""
    ready = BottleForm("ready", label=(("K2O", "5 %"),), label_by="volume", packs=(("bottle", "5 L for 20.00"),))
    form = CostForm(bottles=(ready,), doses=(DoseForm("ready", "30 mL", "Mon"),), net_volume="100 L")
    found = seen(form)
    assert found.supply[0].weeks.value == pytest.approx(5000 / 30)
    assert int(found.supply[0].weeks.value or 0) == 166
    assert found.lines[0].per_week.value == pytest.approx(30 / 5000 * 20)
    assert found.shopping == ()


def test_no_day_beyond_ten_years_is_named() -> None:
    """1 mL a week of 500 mL lasts 500 weeks and is dated; half of that lasts longer than anybody can foresee."""
    ready = BottleForm("ready", label=(("K2O", "5 %"),), label_by="volume", packs=(("bottle", "500 mL for 20.00"),))
    near = seen(CostForm(bottles=(ready,), doses=(DoseForm("ready", "1 mL", "Mon"),)))
    assert near.supply[0].empty_on
    assert "500 weeks" in near.runs_out_first
    far = seen(CostForm(bottles=(ready,), doses=(DoseForm("ready", "0.5 mL", "Mon"),)))
    assert far.supply[0].weeks.value == pytest.approx(1000)
    assert far.supply[0].empty_on == ""
    assert far.supply[0].weeks.text in far.runs_out_first
    assert "1000" not in far.runs_out_first


def test_every_part_of_a_week() -> None:
    found = seen(
        replace(
            CostForm(),
            gas_fill="500 g",
            gas_price="15 to 20",
            gas_per_day="2 g",
            power=(PowerForm("lamp", "24 W", "8 h"),),
            kits=(KitForm("nitrate test", "18", "60", "1"),),
            things=(BoughtForm("lamp", "120", "5 years", "20"),),
            minutes="30",
            hour="12",
        )
    )
    by_part = {line.part: line.per_week.value for line in found.lines}
    feeding = 4.4 / 500 * (33 * 7.90 / 500 + 2.6 * 6.50 / 250 + 8 * 6.90 / 500) + 0.8 / 250 * 9.80
    assert by_part == {
        "feeding": pytest.approx(feeding),
        "gas": pytest.approx(2 * 7 / 500 * 17.5),
        "power": pytest.approx(24 * 8 * 7 / 1000 * 0.35),
        "water": pytest.approx(17 / 1000 * 4.50),
        "test kits": pytest.approx(18 / 60),
        "equipment": pytest.approx(100 / (5 * 365.25 / 7)),
        "minutes": pytest.approx(30 / 60 * 12),
    }
    week = sum(value or 0.0 for value in by_part.values())
    assert found.per_week.value == pytest.approx(week)
    assert found.per_100_l.value == pytest.approx(week / 0.42)
    assert found.per_year.value == pytest.approx(week * 365.25 / 7)
    assert "(" in found.per_week.text  # the price of gas is a range, and so is the sum
    assert found.at_start.value == 120
    assert all(line.per_week.steps for line in found.lines)


def test_minutes_cost_nothing_unless_an_hour_has_a_price() -> None:
    assert all(line.part != "minutes" for line in seen(replace(CostForm(), minutes="30")).lines)


def test_what_runs_out_first_and_what_to_buy_by_when() -> None:
    found = seen(replace(CostForm(), tanks="6", left=(("KNO3", "10 g"), ("micro", "250 mL"))))
    # six tanks: 6 x 4.4 of 500 mL hold 33 g, so 1.7424 g a week; 10 g last 5.739 weeks, 40 days
    assert found.supply[0].name == "KNO3, potassium nitrate"
    assert found.supply[0].weeks.value == pytest.approx(10 / 1.7424)
    assert found.supply[0].empty_on == "2026-04-11"
    assert found.runs_out_first.startswith("KNO3, potassium nitrate runs out first")
    line = next(one for one in found.shopping if one.name.startswith("KNO3"))
    assert (line.buy_by, line.packs.text, line.overdue) == ("2026-04-04", "1 × 500 g", False)
    assert line.packs.steps
    assert found.printable.rows[0].buy_by == "2026-04-04"


def test_spoilage_comes_before_use() -> None:
    found = seen(replace(CostForm(), bought=(("micro", "2025-12-01"),), keeps=(("micro", "26 weeks"),)))
    micro = next(line for line in found.supply if line.name == "micro bottle")
    # until 2026-06-01 13 weeks at 0.8 mL: 239.6 of 250 mL are thrown away
    assert micro.spoils == "spoils first: 240 mL would be thrown away"
    assert any(line.name == "micro bottle" for line in found.shopping)


def test_a_thing_without_a_price_makes_the_sum_a_lower_bound() -> None:
    form = CostForm(bottles=(BottleForm("nitre", dry="KNO3"),), doses=(DoseForm("nitre", "0.2 g", "Mon"),))
    found = seen(form)
    assert found.lower_bound == ("KNO3",)
    assert found.shopping_total.text == "at least 0.00 EUR"


def test_a_batch_and_what_is_missing_for_the_next() -> None:
    found = seen(replace(CostForm(), left=(("K2SO4", "4 g"),)))
    batch = found.batches[0]
    assert batch.batches_left.value == pytest.approx(0.5)
    assert batch.missing_first == "K2SO4"
    assert batch.price is not None
    assert batch.price.value == pytest.approx(33 * 7.90 / 500 + 2.6 * 6.50 / 250 + 8 * 6.90 / 500)


def test_break_even() -> None:
    form = replace(CostForm(), things=(BoughtForm("better lamp", "120", "5 years"),), other_name="old lamp",
                   other_start="0", other_week="3.00")  # fmt: skip
    found = seen(form)
    paid = found.paid_per_week.value
    assert paid is not None
    assert found.break_even is not None
    assert found.break_even.value == -(-120 // (3.00 - paid))
    assert found.break_even.steps


def test_ways_that_start_alike_differ_by_the_week() -> None:
    paid = seen(CostForm()).paid_per_week.value
    assert paid is not None
    asked = replace(CostForm(), other_name="ready mix", other_start="0")
    for week, said in (("0.50", "ready mix costs"), ("5.00", "one tank costs")):
        found = seen(replace(asked, other_week=week)).break_even
        assert found is not None
        assert found.text.startswith(f"both cost the same at the start, and {said}")
        assert found.value == pytest.approx(abs(paid - float(week)))


def test_what_costs_more_each_week_never_pays_for_itself() -> None:
    found = seen(replace(CostForm(), other_name="ready mix", other_start="10", other_week="5.00")).break_even
    assert found is not None
    assert found.text == "ready mix does not pay for itself"
    assert found.value is None


WRONG = {
    "tanks": ("tanks", {"tanks": "1.5"}, "whole number"),
    "price": ("kwh_price", {"kwh_price": "-1"}, "is \"-1\""),
    "range": ("gas_price", {"gas_fill": "500 g", "gas_price": "20 to 15", "gas_per_day": "2 g"}, "lower end first"),
    "half a gas": ("gas_per_day", {"gas_fill": "500 g", "gas_price": "20"}, "is empty"),
    "hours": ("power", {"power": (PowerForm("lamp", "24 W", "30 h"),)}, "A day has 24"),
    "gains": ("things", {"things": (BoughtForm("lamp", "10", "1 years", "20"),)}, "cannot gain"),
    "left": ("left", {"left": (("gold", "1 g"),)}, "Name one of"),
    "keeps": ("bought", {"keeps": (("micro", "52 weeks"),)}, "when micro was bought"),
    "today": ("today", {"today": "2026-02-30"}, "no date"),
    "pack": (
        "bottles.a.packs",
        {"bottles": (*CostForm().bottles, BottleForm("a", dry="KNO3", packs=(("KNO3", "much"),)))},
        "not a content and a price",
    ),
    "uncertain": ("uncertainty", {"uncertainty": "150 %"}, "above 100 %"),
    "another's pack": (
        "bottles.macro.packs",
        {"bottles": (replace(CostForm().bottles[0], packs=(("KCl", "1 kg for 9.00"),)), CostForm().bottles[1])},
        "not in this bottle",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_each_mistake_is_one_message_at_its_field(case: str) -> None:
    field, change, said = WRONG[case]
    found = see_costs(replace(CostForm(), **change), today=DAY)
    assert isinstance(found, Refused)
    assert [(fault.where, said in str(fault)) for fault in found.faults] == [(field, True)], found.faults
