"""Doses really given, what they add, what the label recommends, what they cost: by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from littoral.findings.costs import costs_of
from littoral.findings.doses import changes_done, dose_remarks, doses_given, observed_days
from littoral.findings.feeding import feeding_of
from littoral.findings.from_entries import compare_costs, compare_entries
from littoral.findings.levels import levels_of
from littoral.tank.volume import Vessel
from littoral.trial.entries import Care, Dose, Note, Reading, Trim, WaterChange
from littoral.trial.model import Question

Make = Callable[..., Any]
KEPT_FULL = "too few top-ups were noted for the stated evaporation, so the tank is taken as kept full"


def noted(make_trial: Make, make_book: Make) -> Any:
    """Left: 10 mL of macro each Monday, right: 30 mL; half of the water changed on Saturdays; last note on day 55."""
    trial = make_trial()
    book = make_book(trial)
    for week in range(8):
        for tank, ml in (("left", 10.0), ("right", 30.0)):
            book.note(7 * week + 0.5, tank, Dose("macro", ml=ml, given=not (tank == "left" and week == 3)))
            book.note(7 * week + 5.4, tank, WaterChange(0.5))
    book.note(55.9, "left", Note("end"))
    return trial, book


def test_what_was_fed_per_week_in_100_litres(make_trial: Make, make_book: Make) -> None:
    trial, book = noted(make_trial, make_book)
    feeding = feeding_of(book, trial)
    left, right = feeding["left"], feeding["right"]
    assert left.net_volume_l == pytest.approx(100.0)
    assert left.weeks == pytest.approx(6.0)
    # 10 mL x 40 mg/mL in 100 L = 4 mg/L of nitrate a week, none in the missed one
    assert [week.get("nitrate", 0.0) for week in left.week_mg_per_l] == pytest.approx([4, 4, 4, 0, 4, 4, 4, 4])
    assert left.mean_mg_per_l == pytest.approx({"nitrate": 4 * 5 / 6, "potassium": 2.5 * 5 / 6})
    assert right.mean_element_mg_per_l["N"] == pytest.approx(12 / 4.4268, rel=1e-4)  # NO3/N, CHECKS 1.1
    assert right.mean_element_mg_per_l["K"] == pytest.approx(7.5)
    assert (left.arm, right.arm, left.as_planned) == ("sparing", "full", False)


def test_the_label_beside_the_real_dose(make_trial: Make, make_book: Make) -> None:
    trial, book = noted(make_trial, make_book)
    feeding = feeding_of(book, trial)
    use = feeding["right"].bottles[0]
    assert (use.ml_per_week, use.recommended_ml_per_week, use.factor) == pytest.approx((30.0, 20.0, 1.5))
    assert use.words == "1.5 times what the label recommends"
    assert feeding["left"].bottles[0].factor == pytest.approx(10 * 5 / 6 / 20)


def test_costs_by_hand(make_trial: Make, make_book: Make) -> None:
    trial, book = noted(make_trial, make_book)
    costs = costs_of(book, trial)
    # 10 EUR for 500 mL: 30 mL a week cost 0.60 EUR; a pack lasts 16.7 weeks
    assert costs["full"].per_week == pytest.approx(0.60)
    assert costs["full"].per_100_l_per_week == pytest.approx(0.60)
    assert costs["full"].per_year == pytest.approx(0.60 * 365.25 / 7)
    assert costs["full"].runs_out_first is not None
    assert costs["full"].runs_out_first.pack_lasts_weeks == pytest.approx(500 / 30)
    assert costs["sparing"].per_week == pytest.approx(0.20 * 5 / 6)


def test_a_keeper_who_notes_only_missed_doses_followed_the_plan(make_trial: Make, make_book: Make) -> None:
    trial = make_trial()
    book = make_book(trial)
    book.note(23.5, "right", Dose("macro", ml=10.0, given=False))  # a Wednesday
    book.note(55.9, "left", Note("end"))
    entries = book.entries(trial.key)
    given = doses_given(trial, entries, "right", to_day=56)
    # two weeks of baseline with one dose, then six with three, one of them missed
    assert len(given) == 2 + 18 - 1
    assert all(dose.entry_id is None for dose in given)
    assert 23 not in {int(dose.day) for dose in given}
    assert [int(change.day) for change in changes_done(trial, entries, "right", to_day=14)] == [5, 12]
    assert feeding_of(book, trial)["right"].as_planned


def test_one_noted_dose_makes_noted_doses_count_and_says_what_that_leaves_out(
    make_trial: Make, make_book: Make
) -> None:
    trial = make_trial()
    book = make_book(trial)
    book.note(21.5, "right", Dose("macro", ml=10.0))  # Monday of the fourth week, as planned
    book.note(23.5, "right", Dose("macro", ml=10.0, given=False))  # Wednesday, missed
    book.note(24.5, "right", Dose("macro", ml=3.0))  # Thursday, not planned
    book.note(27.9, "left", Note("end"))
    entries = book.entries(trial.key)
    assert [dose.day for dose in doses_given(trial, entries, "right", to_day=28)] == pytest.approx([21.5, 24.5])
    # two of the baseline, three of the third week, and the Friday of the fourth
    said = "6 planned doses were noted neither as given nor as missed; they are taken as not given"
    assert dose_remarks(trial, entries, "right", to_day=28) == (said,)
    assert levels_of(book, trial)["right"].remarks[0] == f"right tank: {said}"
    assert not feeding_of(book, trial)["right"].as_planned
    cost = compare_costs(trial, entries, Question("cost", "Dearer?", "cost"))
    assert f"right tank: {said}" in cost.remarks


def test_where_only_exceptions_are_noted_the_rest_of_the_plan_was_done(make_trial: Make, make_book: Make) -> None:
    trial = replace(make_trial(), doses_noted="exceptions")
    book = make_book(trial)
    book.note(21.5, "right", Dose("macro", ml=5.0))  # half of what was planned for that Monday
    book.note(23.5, "right", Dose("macro", ml=10.0, given=False))
    book.note(24.5, "right", Dose("macro", ml=3.0))
    book.note(27.9, "left", Note("end"))
    entries = book.entries(trial.key)
    given = doses_given(trial, entries, "right", to_day=28)
    assert [(dose.day, dose.ml) for dose in given] == [
        (0.5, 10.0), (7.5, 10.0), (14.5, 10.0), (16.5, 10.0), (18.5, 10.0),
        (pytest.approx(21.5), 5.0), (pytest.approx(24.5), 3.0), (25.5, 10.0),
    ]  # fmt: skip
    assert [dose.entry_id is None for dose in given] == [True] * 5 + [False] * 2 + [True]
    remark = "doses are taken as planned, except where an entry says otherwise"
    assert dose_remarks(trial, entries, "right", to_day=28) == (remark,)
    assert len(doses_given(trial, entries, "left", to_day=28)) == 4


def test_a_dose_given_late_stands_for_its_planned_day_and_not_beside_it(make_trial: Make, make_book: Make) -> None:
    trial = replace(make_trial(), doses_noted="exceptions")
    book = make_book(trial)
    book.note(22.3, "right", Dose("macro", ml=10.0, for_date="2026-03-23"))  # Monday's, given on Tuesday morning
    book.note(23.9, "left", Note("end"))
    given = doses_given(trial, book.entries(trial.key), "right", to_day=24)
    assert [dose.day for dose in given][-3:] == [18.5, pytest.approx(22.3), 23.5]


def test_minutes_of_trims_are_minutes_of_care(make_trial: Make, make_book: Make) -> None:
    trial = make_trial(Question("care", "Care?", "care minutes", primary=True))
    book = make_book(trial)
    book.note(20.5, "left", Care(30.0))
    book.note(20.6, "left", Trim("red-stem", minutes=12.0))
    book.note(20.7, "right", Trim("red-stem", wet_g=5.0))
    book.note(55.9, "left", Note("end"))
    found = compare_entries(trial, book.entries(trial.key), trial.questions[0])
    assert {value.tank: value.value for value in found.arms} == {"left": pytest.approx(42 / 6), "right": 0.0}


def test_the_regime_of_each_day_is_that_of_its_date(make_trial: Make) -> None:
    """Also where a baseline that no file can state ends within a day: that day is still the baseline's."""
    trial = make_trial(baseline_days=13.5)
    given = doses_given(trial, (), "right", to_day=21)
    assert [int(dose.day) for dose in given] == [0, 7, 14, 16, 18]


def test_a_trial_still_running_is_reckoned_to_its_last_entry(make_trial: Make, make_book: Make) -> None:
    trial = make_trial()
    book = make_book(trial)
    assert (observed_days(trial, ()), feeding_of(book, trial), levels_of(book, trial)) == (0, {}, {})
    assert costs_of(book, trial) == {}
    book.note(20.3, "left", Dose("macro", ml=10.0))
    assert observed_days(trial, book.entries(trial.key)) == 21
    assert feeding_of(book, trial)["left"].weeks == pytest.approx(1.0)


def test_levels_follow_the_saw_tooth_of_doses_and_changes(make_trial: Make, make_book: Make) -> None:
    """CHECKS section 5: peaks with source water S tend to S + D/w, here 10 + 12/0.5 = 34 mg/L of nitrate."""
    trial, book = noted(make_trial, make_book)
    book.note(30.6, "right", Reading("nitrate", 7.5, 15.0, "colour card", "10"))
    levels = levels_of(book, trial)
    right = levels["right"]
    after_dose = right.upper_mg_per_l["nitrate"][np.searchsorted(right.day, 49.5)]
    assert after_dose == pytest.approx(10 + 12 * (1 - 0.5**8) / 0.5, rel=1e-9)
    before_dose = right.upper_mg_per_l["nitrate"][np.searchsorted(right.day, 49.5) - 1]
    assert after_dose - before_dose == pytest.approx(12.0, rel=1e-9)
    assert right.likely_mg_per_l == {}
    assert [(one.day, one.nutrient, one.low_mg_per_l, one.high_mg_per_l) for one in right.readings] == [
        (pytest.approx(30.6), "nitrate", 7.5, 15.0)
    ]
    # noted are the Mondays; the regime plans Wednesdays and Fridays as well, in six weeks
    assert right.remarks == (
        "right tank: 12 planned doses were noted neither as given nor as missed; they are taken as not given",
    )


def test_the_likely_line_lies_below_the_upper_one(make_trial: Make, make_book: Make) -> None:
    trial, book = noted(make_trial, make_book)
    tanks = {key: replace(tank, uptake_per_day={"nitrate": 0.1}) for key, tank in trial.tanks.items()}
    levels = levels_of(book, replace(trial, tanks=tanks))["left"]
    assert set(levels.likely_mg_per_l) == {"nitrate"}
    assert (levels.likely_mg_per_l["nitrate"][1:] < levels.upper_mg_per_l["nitrate"][1:]).all()


def test_a_tank_whose_top_ups_were_not_noted_is_taken_as_full(make_trial: Make, make_book: Make) -> None:
    trial = make_trial()
    book = make_book(trial)
    book.note(0.5, "left", Dose("macro", ml=10.0))
    book.note(0.6, "left", WaterChange(0.5))
    book.note(55.5, "left", Dose("macro", ml=10.0))
    tanks = {key: replace(tank, evaporation_l_per_day=5.0) for key, tank in trial.tanks.items()}
    levels = levels_of(book, replace(trial, tanks=tanks))["left"]
    assert levels.remarks[-1] == f"left tank: {KEPT_FULL}"
    assert np.isfinite(levels.upper_mg_per_l["nitrate"]).all()


def test_a_small_tank_that_would_run_dry_after_its_last_event_is_taken_as_full(
    make_trial: Make, make_book: Make
) -> None:
    """7 L that lose half a litre a day: dry on day 14, long after the only event, long before the last note."""
    trial = make_trial()
    small = Vessel(length_cm=20, width_cm=17.5, height_cm=25, fill_cm=20)
    tanks = {key: replace(tank, vessel=small, evaporation_l_per_day=0.5) for key, tank in trial.tanks.items()}
    trial = replace(
        trial,
        tanks=tanks,
        regimes={},
        baseline_regime=None,
        arms=tuple(replace(arm, regime=None) for arm in trial.arms),
    )
    book = make_book(trial)
    book.note(1.5, "left", Dose("macro", ml=1.0))
    book.note(20.5, "left", Note("still there"))
    levels = levels_of(book, trial)["left"]
    assert levels.remarks == (f"left tank: {KEPT_FULL}",)
    assert np.isfinite(levels.upper_mg_per_l["nitrate"]).all()


def test_pots_without_water_have_no_levels_doses_or_costs(make_trial: Make, make_book: Make) -> None:
    trial, book = noted(make_trial, make_book)
    dry = replace(trial, tanks={key: replace(tank, vessel=None) for key, tank in trial.tanks.items()})
    assert (levels_of(book, dry), feeding_of(book, dry), costs_of(book, dry)) == ({}, {}, {})
