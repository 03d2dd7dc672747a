"""A week's amount laid out over its days, strokes counted into a cylinder, level spoons: as the forms take them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.acts.mix_and_feed.bottle_form import MACRO, MICRO, BottleForm
from littoral.acts.mix_and_feed.cost_form import CostForm, Costs
from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.plan_week import plan_week
from littoral.acts.mix_and_feed.see_costs import see_costs
from littoral.acts.mix_and_feed.week_form import ChangeForm, DoseForm, Week, WeekForm, WeeklyForm

SPOON = BottleForm("nitre", dry="KNO3", tool="1.25 mL spoon")
BOTH = BottleForm("all", salts=(("KH2PO4", "2 g"), ("FeSO4·7H2O", "1 g")), made_up_to="500 mL")
PURE = WeekForm(source=())
"""Water with nothing in it: no published limit is near."""
COUNTED = replace(MACRO, cylinder="12.0 11.8 12.1 mL")


def planned(form: WeekForm) -> Week:
    found = plan_week(form)
    assert isinstance(found, Week), found
    return found


def laid(how: str, *, of: str = "macro", amount: str = "7 mL", **more: object) -> Week:
    return planned(replace(PURE, doses=(), weekly=(WeeklyForm(of, amount, how),), **more))  # type: ignore[arg-type]


def shown(week: Week) -> list[tuple[str, str]]:
    return [(line.when, line.amount.text) for line in week.doses]


@pytest.mark.parametrize(
    ("how", "expected"),
    [
        ("evenly", [("daily", "1 mL")]),
        ("", [("daily", "1 mL")]),
        ("Evenly on Mon, Thu", [("Mon, Thu", "3.5 mL")]),
        ("every other day", [("every other day", "2 mL")]),
        ("every other day from day 1", [("every 2 days from day 1", "2 mL")]),
        ("half after the water change", [("Sat", "3.5 mL"), ("Mon, Tue, Wed, Thu, Fri, Sun", "0.5833 mL")]),
        ("40 % after the water change, the rest on Mon, Wed", [("Sat", "2.8 mL"), ("Mon, Wed", "2.1 mL")]),
        ("all of it after the change on Sat", [("Sat", "7 mL")]),
        ("macro and micro days", [("Sat, Mon, Wed", "2.333 mL")]),
        ("micro days", [("Sun, Tue, Thu", "2.333 mL")]),
    ],
)
def test_each_way_of_laying_out_by_hand(how: str, expected: list[tuple[str, str]]) -> None:
    week = laid(how)
    assert shown(week) == expected
    for line in week.doses:
        assert line.row == "weekly.1"
        assert line.amount.steps[-1].result == line.amount.text
        assert line.amount.steps[0].formula == "7 mL"


@given(
    st.integers(1, 400).map(lambda tenths: f"{tenths / 100:g} mL"),
    st.sampled_from(["evenly", "every other day", "half after the water change", "macro and micro days", "25 % after "
                     "the change, the rest on Mon, Fri"]),
)  # fmt: skip
def test_however_it_is_laid_out_the_week_adds_the_same(amount: str, how: str) -> None:
    nitrate = next(line for line in laid(how, amount=amount).lines if line.nutrient == "nitrate")
    # 33 g KNO3 in 500 mL at 62.005 / 101.103 g/g (IUPAC standard atomic weights), into 42 L
    expected = float(amount.split()[0]) * 33_000 * 62.005 / 101.103 / 500 / 42
    assert nitrate.week.value == pytest.approx(expected, rel=1e-5)


def test_macro_and_micro_never_meet_and_the_days_say_so() -> None:
    weekly = (WeeklyForm("macro", "6 mL", "macro and micro days"), WeeklyForm("micro", "1 mL", "macro and micro days"))
    days = planned(replace(PURE, doses=(), weekly=weekly)).days
    assert [day.day for day in days] == ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
    assert [len(day.doses) for day in days] == [1, 1, 1, 1, 0, 1, 1]
    assert days[5].change == "40 %"
    assert days[5].doses == ("2 mL of macro stock",)


def test_every_other_day_is_shown_for_two_weeks() -> None:
    days = laid("every other day").days
    assert len(days) == 14
    assert [bool(day.doses) for day in days] == [True, False] * 7


def asked(how: str, of: str = "macro", amount: str = "7 mL") -> dict[str, object]:
    return {"weekly": (WeeklyForm(of, amount, how),)}


TWICE = (ChangeForm("20 %", "Wed, Sat"),)
WRONG: dict[str, tuple[dict[str, object], str]] = {
    "way": (asked("as it comes"), 'Write "evenly"'),
    "bottle": (asked("evenly", of="x"), "no bottle"),
    "amount": (asked("evenly", amount="-7 mL"), "below zero"),
    "day": (asked("evenly on Someday"), "unknown weekday"),
    "period": (asked("evenly on every 3 days"), "Name weekdays"),
    "share": (asked("140 % after the change"), "above 100 %"),
    "no change": ({"changes": (), **asked("half after the change")}, "no water change"),
    "two changes": ({"changes": TWICE, **asked("half after the change")}, "after which"),
    "not changed then": (asked("half after the change on Tue"), "no water is changed"),
    "both": ({"bottles": (BOTH,), "apart": (), **asked("macro and micro days", of="all")}, "in one"),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_what_cannot_be_laid_out_is_one_message_at_its_row(case: str) -> None:
    change, said = WRONG[case]
    found = plan_week(replace(WeekForm(), doses=(), **change))  # type: ignore[arg-type]
    assert isinstance(found, Refused)
    assert [(fault.where, fault.line, said in str(fault)) for fault in found.faults] == [("weekly", 1, True)], found


def test_strokes_counted_into_a_cylinder_are_the_tool() -> None:
    week = planned(replace(WeekForm(), bottles=(COUNTED, MICRO)))
    (tool,) = week.tools
    mean, sd = 35.9 / 30, math.sqrt((0.0333333**2 + 0.1666667**2 + 0.1333333**2) / 2) / math.sqrt(10)
    assert tool.one.value == pytest.approx(mean)
    assert tool.varies is not None
    assert tool.varies.value == pytest.approx(sd, rel=1e-4)
    assert tool.one.steps
    assert tool.varies.steps
    dose = week.doses[0]
    assert dose.amount.value == pytest.approx(2 * mean)
    assert [step.what for step in dose.amount.steps] == [
        "one stroke", "spread of one stroke", "doubt of the mean", "one dose",
    ]  # fmt: skip
    assert dose.really is not None
    low, high = 2 * mean - 1.96 * sd * math.sqrt(2), 2 * mean + 1.96 * sd * math.sqrt(2)
    assert dose.really.text == f"really {low:.3g} to {high:.3g} mL, 19 times of 20"
    assert any(row.what == "strokes are alike, macro stock" for row in week.checks)


def test_a_counted_pump_needs_no_other_word_and_one_reading_has_no_spread() -> None:
    once = replace(MACRO, cylinder="6 mL", cylinder_strokes="5", stroke="", tool="")
    week = planned(replace(WeekForm(), bottles=(once, MICRO)))
    assert week.doses[0].amount.value == pytest.approx(2.4)
    assert week.tools[0].varies is None
    assert week.doses[0].really is None
    assert any(row.verdict == "cannot tell" and "strokes" in row.what for row in week.checks)


def test_an_amount_between_the_steps_says_the_nearest() -> None:
    line = laid("evenly", bottles=(COUNTED, MICRO)).doses[0]
    assert line.really is not None
    assert line.really.text.startswith("nearest 1 stroke, 1.197 mL, really ")
    assert line.really.steps[0].result == "1 stroke, 1.197 mL"


def test_doses_in_level_spoons_and_the_advice_to_weigh() -> None:
    form = replace(
        PURE, bottles=(SPOON,), doses=(DoseForm("nitre", "2 level spoons", "Mon"),), apart=(), net_volume="300 L"
    )
    week = planned(form)
    # 1.25 mL of 1.0 to 1.3 g/mL: 1.25 to 1.625 g, 1.4375 in the middle
    assert week.doses[0].amount.value == pytest.approx(2 * 1.4375)
    assert week.doses[0].really is not None
    assert week.doses[0].really.text == "really 2.5 to 3.25 g"
    assert any("weigh where it matters" in row.comment and row.verdict == "warns" for row in week.checks)
    own = planned(replace(form, bottles=(replace(SPOON, bulk="1.1 to 1.2 g/mL"),)))
    assert own.doses[0].amount.value == pytest.approx(2 * 1.25 * 1.15)
    assert own.tools[0].one.steps[0].source == "your own figure"
    assert all(row.verdict == "holds" for row in own.checks if "spoon" in row.what)


@pytest.mark.parametrize(
    ("bottle", "field", "said"),
    [
        (replace(MACRO, cylinder="12.0 11.8 12.1"), "bottles.macro.cylinder", "without a unit"),
        (replace(MACRO, cylinder="12.0 mL 11.8 g"), "bottles.macro.cylinder", "12.0 11.8 12.1 mL"),
        (replace(MACRO, cylinder="0 mL"), "bottles.macro.cylinder", "above zero"),
        (replace(MACRO, cylinder="12 g"), "bottles.macro.cylinder", "no unit of dose volume"),
        (replace(MACRO, cylinder="12 mL", cylinder_strokes="2.5"), "bottles.macro.cylinder_strokes", "whole number"),
        (replace(SPOON, key="macro", cylinder="12 mL"), "bottles.macro.cylinder", "dosed dry"),
        (replace(SPOON, key="macro", bulk="heavy"), "bottles.macro.bulk", "does not begin with a number"),
        (replace(SPOON, key="macro", dry="CuSO4·5H2O"), "bottles.macro.tool", "no bulk density"),
        (replace(MACRO, tool="1 mL spoon"), "bottles.macro.tool", "a liquid"),
    ],
)
def test_a_measure_that_cannot_be_is_told_at_its_field(bottle: BottleForm, field: str, said: str) -> None:
    found = plan_week(replace(WeekForm(), bottles=(bottle, MICRO), doses=(DoseForm("micro", "1 mL", "Mon"),)))
    assert isinstance(found, Refused)
    assert [(fault.where, said in str(fault)) for fault in found.faults] == [(field, True)], found.faults


def test_a_spoon_of_what_is_not_measured_by_spoons() -> None:
    found = plan_week(replace(WeekForm(), doses=(DoseForm("macro", "1 spoon", "Mon"),)))
    assert isinstance(found, Refused)
    assert "not measured by a spoon" in str(found.faults[0])


def test_costs_are_the_same_however_a_week_is_laid_out() -> None:
    def costs(form: CostForm) -> Costs:
        found = see_costs(form)
        assert isinstance(found, Costs), found
        return found

    weekly = replace(CostForm(), doses=(), weekly=(WeeklyForm("macro", "7 mL", "half after the water change"),))
    daily = replace(CostForm(), doses=(DoseForm("macro", "1 mL", "daily"),))
    assert costs(weekly).per_week.value == pytest.approx(costs(daily).per_week.value)
    counted = costs(replace(weekly, bottles=(COUNTED, MICRO)))
    assert [line.of for line in counted.tools] == ["macro"]
    assert any("strokes are alike" in row.what for row in counted.checks)
    for batch in counted.batches:
        assert batch.batches_left.steps[-1].what == "batches left"
