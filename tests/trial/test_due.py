"""What is due on a local date, and what becomes of it by the entries."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.trial.days import moment_of, span_of
from littoral.trial.due import answered, bench_order, find_due, planned_on, tank_days
from littoral.trial.entries import (
    Care,
    Dose,
    Entry,
    GaugeReading,
    Note,
    Photo,
    Reading,
    Skipped,
    Trim,
    WaterChange,
)
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")
SCHEDULE = """
[schedule]
bench = ["right", "left"]
doses_at = "18:00"
tests = [{ of = ["nitrate", "ph"], on = ["Fri"], at = "17:00" }]
trims = [{ of = ["red-stem"], every = "14 days" }]
photos = [{ on = "every day", at = "19:00" }]
"""
TRIAL = read_trial(WHOLE + SCHEDULE, where="")[0]
assert TRIAL is not None
SUNDAY = date(2026, 3, 8)  # of the baseline: 1 stroke of macro is planned in both tanks


def entry(payload, *when: int, tank: str | None = "left", identity: str = "e") -> Entry:
    return Entry(identity, moment_of(datetime(*when), TRIAL.zone), TRIAL.zone, tank, payload, trial=TRIAL.key)


def day_of_left(*entries: Entry, today: date = SUNDAY, trial=TRIAL, **more):
    days = tank_days(trial, sorted(entries, key=lambda one: one.at), today=today, **more)
    return next(one for one in days if one.tank == "left")


def states(found) -> dict[str, str]:
    return {one.key: one.state for one in found}


def test_a_day_lists_what_is_planned_in_the_order_of_the_work_and_the_bench():
    assert bench_order(TRIAL) == ("right", "left")
    assert [one.tank for one in tank_days(TRIAL, (), today=SUNDAY)] == ["right", "left"]
    friday = planned_on(TRIAL, "left", date(2026, 3, 20))  # full feeding: micro on Fridays
    assert [(one.task, one.amount, str(one.clock)) for one in friday] == [
        ("test nitrate", "", "17:00:00"),
        ("test ph", "", "17:00:00"),
        ("dose micro", "1.2 mL", "18:00:00"),
        ("photo", "", "19:00:00"),
    ]
    saturday = planned_on(TRIAL, "left", date(2026, 3, 7))
    assert [(one.task, one.amount) for one in saturday] == [("photo", ""), ("water change", "40 %")]
    assert [one.task for one in planned_on(TRIAL, "left", date(2026, 3, 2))][-1] == "trim red-stem"


def test_nothing_is_planned_outside_the_trials_days_and_the_arms_begin_on_their_day():
    assert planned_on(TRIAL, "left", date(2026, 3, 1)) == ()
    assert planned_on(TRIAL, "left", date(2026, 4, 27)) == ()
    amounts = [
        [one.amount for one in planned_on(TRIAL, "left", date(2026, 3, day)) if one.kind == "dose"]
        for day in (15, 17, 22)
    ]
    assert amounts == [["1 stroke"], ["4 strokes"], ["4 strokes"]]


@pytest.mark.parametrize(
    ("payload", "state", "factor"),
    [
        (Dose("macro", ml=1.1), "done", 1.0),
        (Dose("macro", ml=2.2), "done otherwise", 2.0),
        (Dose("macro", ml=1.1, given=False), "missed", 0.0),
        (Dose("micro", ml=1.1), "due", None),
        (Care(12.0), "due", None),
    ],
)
def test_a_dose_is_answered_by_its_bottle(payload, state, factor):
    (dose,) = (one for one in day_of_left(entry(payload, 2026, 3, 8, 18)).due if one.kind == "dose")
    assert (dose.state, dose.factor if factor is None else pytest.approx(dose.factor)) == (state, factor)


def test_a_dose_of_the_other_tank_answers_nothing_here():
    assert day_of_left(entry(Dose("macro", ml=1.1), 2026, 3, 8, 18, tank="right")).left == 2


def test_a_dose_of_an_earlier_day_is_open_until_it_is_given_late_or_skipped():
    monday = date(2026, 3, 9)
    key = "2026-03-08/left/dose macro"
    assert [one.key for one in day_of_left(today=monday).overdue if one.date == SUNDAY] == [key]
    late = entry(Dose("macro", ml=1.1, for_date="2026-03-08"), 2026, 3, 9, 8)
    after = day_of_left(late, today=monday)
    assert [one.key for one in after.overdue if one.date == SUNDAY] == []
    assert after.besides == ()
    missed = entry(Dose("macro", ml=1.1, given=False), 2026, 3, 8, 12)
    assert [one.key for one in day_of_left(missed, today=monday).overdue if one.date == SUNDAY] == []
    # given on Monday without saying for when, it is a dose besides the plan
    unsaid = day_of_left(entry(Dose("macro", ml=1.1), 2026, 3, 9, 8), today=monday)
    assert len(unsaid.besides) == 1
    assert key in [one.key for one in unsaid.overdue]


def test_where_only_exceptions_are_noted_an_earlier_dose_is_not_overdue():
    trial = replace(TRIAL, doses_noted="exceptions")
    assert all(one.kind != "dose" for one in day_of_left(today=date(2026, 3, 12), trial=trial).overdue)


def test_a_change_done_a_day_late_counts_and_is_open_until_then():
    sunday_open = day_of_left()
    assert "2026-03-07/left/water change" in states(sunday_open.overdue)
    late = entry(WaterChange(0.4), 2026, 3, 8, 10)
    assert "2026-03-07/left/water change" not in states(day_of_left(late).overdue)
    found = answered(TRIAL, "left", [late], first=date(2026, 3, 7), until=date(2026, 3, 9))
    assert states(found)["2026-03-07/left/water change"] == "done otherwise"
    on_time = entry(WaterChange(0.4), 2026, 3, 7, 10)
    found = answered(TRIAL, "left", [on_time], first=date(2026, 3, 7), until=date(2026, 3, 9))
    assert states(found)["2026-03-07/left/water change"] == "done"


def test_what_is_planned_again_today_is_not_overdue_as_well_and_photos_never_are():
    friday = day_of_left(today=date(2026, 3, 13))
    assert "2026-03-06/left/test nitrate" not in states(friday.overdue)
    assert all(one.kind != "photo" for one in friday.overdue)
    thursday = day_of_left(today=date(2026, 3, 12))
    assert "2026-03-06/left/test nitrate" in states(thursday.overdue)


def test_tests_trims_and_photos_are_answered_by_their_own():
    reading = entry(Reading("nitrate", 10, 10, "card", "10 mg/L"), 2026, 3, 6, 17, identity="a")
    ph = entry(GaugeReading("ph", 6.8, 6.8, "pen", "6.8"), 2026, 3, 6, 17, 5, identity="b")
    photo = entry(Photo("ab" * 32, "left", "exif", "a.jpg"), 2026, 3, 6, 19, tank=None, identity="c")
    trim = entry(Trim(None, minutes=6.0), 2026, 3, 6, 20, identity="d")
    found = states(day_of_left(reading, ph, photo, trim, today=date(2026, 3, 6)).due)
    assert set(found.values()) == {"done"}
    late = answered(TRIAL, "left", [trim], first=date(2026, 3, 2), until=date(2026, 3, 7))
    assert states(late)["2026-03-02/left/trim red-stem"] == "done otherwise"
    skipped = entry(Skipped("test ph"), 2026, 3, 6, 12)
    assert states(day_of_left(skipped, today=date(2026, 3, 6)).due)["2026-03-06/left/test ph"] == "missed"


def test_minutes_of_care_run_up_from_care_and_trims():
    found = day_of_left(
        entry(Care(12.0), 2026, 3, 8, 10, identity="a"),
        entry(Trim("red-stem", minutes=6.5), 2026, 3, 8, 11, identity="b"),
        entry(Care(99.0), 2026, 3, 7, 23, 59, identity="c"),
        entry(Note("leaves float"), 2026, 3, 8, 12, identity="d"),
    )
    assert found.care_minutes == 18.5
    assert [one.id for one in found.besides] == ["a", "d"]  # the trim is the planned one of 2 March, late


def test_a_key_names_one_planned_thing():
    for day in range(56):
        for tank in TRIAL.tanks:
            for one in planned_on(TRIAL, tank, TRIAL.start + timedelta(days=day)):
                assert find_due(TRIAL, one.key) == one
    for wrong in ("", "2026-03-08", "2026-03-08/left/dose micro", "2026-03-08/lft/dose macro", "x/left/dose macro"):
        assert find_due(TRIAL, wrong) is None


def test_the_same_bottle_twice_on_a_day_is_two_things():
    doses = TRIAL.regimes["sparing"].doses
    regime = replace(TRIAL.regimes["sparing"], doses=(*doses, doses[0]))
    trial = replace(TRIAL, regimes={**TRIAL.regimes, "sparing": regime})
    once = day_of_left(entry(Dose("macro", ml=1.1), 2026, 3, 8, 18), trial=trial)
    found = {key: state for key, state in states(once.due).items() if "dose" in key}
    assert found == {"2026-03-08/left/dose macro": "done", "2026-03-08/left/dose macro/1": "due"}


@pytest.mark.parametrize(
    ("zone", "start", "day"),
    [
        ("Europe/Berlin", date(2026, 3, 2), date(2026, 3, 29)),  # 23 hours
        ("Europe/Berlin", date(2026, 10, 5), date(2026, 10, 25)),  # 25 hours
        ("America/Sao_Paulo", date(2018, 10, 22), date(2018, 11, 4)),  # no midnight
        ("Europe/Berlin", date(2028, 2, 7), date(2028, 2, 29)),  # leap day
        ("Europe/Berlin", date(2026, 12, 7), date(2026, 12, 31)),  # year end
    ],
)
def test_a_care_in_the_first_and_the_last_moment_of_a_day_is_of_that_day(zone, start, day):
    trial = replace(TRIAL, zone=zone, start=start)
    first, until = span_of(day, zone)
    moments = (first - timedelta(seconds=1), first, until - timedelta(seconds=1), until)
    entries = [
        Entry(str(place), at, zone, "left", Care(2.0**place), trial=trial.key) for place, at in enumerate(moments)
    ]
    (left,) = (one for one in tank_days(trial, entries, today=day) if one.tank == "left")
    assert left.care_minutes == 2.0 + 4.0


@given(
    st.lists(
        st.tuples(
            st.integers(0, 20), st.sampled_from(["macro", "micro"]), st.booleans(), st.none() | st.integers(0, 20)
        ),
        max_size=25,
    )
)
def test_doses_are_answered_as_a_slow_twin_does(written):
    """The twin crosses planned doses off a list, one noted dose after the other."""
    made = [
        Entry(
            str(place),
            datetime(2026, 3, 2, 11, tzinfo=UTC) + timedelta(days=day, seconds=place),
            TRIAL.zone,
            "left",
            Dose(of, ml=1.1, given=kept, for_date=None if meant is None else str(TRIAL.start + timedelta(days=meant))),
        )
        for place, (day, of, kept, meant) in enumerate(written)
    ]
    made.sort(key=lambda one: one.at)
    found = answered(TRIAL, "left", made, first=TRIAL.start, until=TRIAL.start + timedelta(days=21))
    open_ones = {one.key: "due" for one in found if one.kind == "dose"}
    for one in made:
        day = one.payload.for_date or str(one.at.date())
        key = f"{day}/left/dose {one.payload.of}"
        if open_ones.get(key) == "due":
            open_ones[key] = "answered" if one.payload.given else "missed"
    told = {one.key: one.state.replace("done otherwise", "done").replace("done", "answered")
            for one in found if one.kind == "dose"}  # fmt: skip
    assert told == open_ones
