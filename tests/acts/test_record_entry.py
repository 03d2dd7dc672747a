"""Recording, correcting and undoing what was done, from typed text to a logbook that is read back afresh."""

from __future__ import annotations

import threading
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from tests.acts import record_tried
from tests.acts.record_tried import DOSE, NOW, TEXT, TRIAL, rows, stored, task

from littoral.acts import record_entry as acts
from littoral.acts.change_entry import undo_entry
from littoral.acts.record_planned import (
    AnsweredAlreadyError,
    record_done,
    record_doubled,
    record_late,
    record_missed,
    record_planned,
    skip_overdue,
)
from littoral.acts.see_today import see_today
from littoral.acts.told import Told
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import AlreadyRecordedError
from littoral.trial.due import find_due
from littoral.trial.entries import (
    Care,
    Dose,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Reading,
    Score,
    Skipped,
    TopUp,
    Trim,
    WaterChange,
)
from littoral.trial.written.reader import read_trial

folder = record_tried.folder


@pytest.mark.parametrize(
    ("act", "words", "payload"),
    [
        ("record_dose", ("left", "macro", "2 strokes"), Dose("macro", ml=2.2)),
        ("record_dose", ("left", "micro", "8 drops"), Dose("micro", ml=pytest.approx(0.4))),
        ("record_change", ("left", "40 %"), WaterChange(0.4)),
        ("record_top_up", ("left", "1,4 L"), TopUp(1.4)),
        ("record_trim", ("left", "red-stem", "to 9 cm, 14 g, 6 min"), Trim("red-stem", 9, 14, 6)),
        ("record_trim", ("left",), Trim(None)),
        (
            "record_reading",
            ("left", "nitrate", "10 mg/L (7.5-15), card"),
            Reading("nitrate", 7.5, 15, "card", "10 mg/L"),
        ),
        ("record_reading", ("left", "temperature", "24.5 °C"), GaugeReading("temperature", 24.5, 24.5, "", "24.5 °C")),
        ("record_score", ("left", "algae", "2"), Score("algae", 2)),
        ("record_living", ("left", "animals", "shrimp", "5 added"), Living("animals", "shrimp", 5, "added")),
        ("record_equipment", ("left", "lamp", "8 h a day"), Equipment("lamp", "8 h a day")),
        ("record_note", ("left", "leaves float"), Note("leaves float")),
        ("record_care", ("left", "12 min"), Care(12)),
    ],
)
def test_each_act_takes_typed_text(folder, act, words, payload):
    done = getattr(acts, act)(folder, *words, told=Told(who="A"), now=NOW)
    (entry,) = stored(folder)
    assert done.new == 1
    assert (entry.payload, entry.at, entry.zone, entry.who, entry.origin) == (payload, NOW, "Europe/Berlin", "A", "")
    assert done.entries == (entry,)
    assert done.words[0].startswith("left tank: ")


def test_the_same_id_twice_is_recorded_once_and_another_record_under_it_is_refused(folder):
    told = Told(id=str(uuid4()).upper())
    first = acts.record_dose(folder, "left", "macro", "2 strokes", told=told, now=NOW)
    again = acts.record_dose(folder, "left", "macro", "2 strokes", told=told, now=NOW + timedelta(minutes=3))
    assert (first.new, again.new, first.entries) == (1, 0, again.entries)
    with pytest.raises(AlreadyRecordedError, match="belongs to another entry"):
        acts.record_dose(folder, "left", "macro", "3 strokes", told=told, now=NOW)
    assert rows(folder) == 1


def test_all_mistakes_come_together_each_with_its_field(folder):
    with pytest.raises(FaultsError) as caught:
        acts.record_dose(
            folder, "lft", "makro", "2 furlongs", told=Told(when="25:99", zone="Europe/Berlim", id="7"), now=NOW
        )
    assert {fault.where for fault in caught.value.faults} == {"tank", "what", "amount", "when", "zone", "id"}
    assert rows(folder) == 0


@pytest.mark.parametrize(
    ("when", "zone", "expected"),
    [
        ("", "", NOW),
        ("18:10", "", datetime(2026, 3, 8, 17, 10, tzinfo=UTC)),
        ("yesterday", "", datetime(2026, 3, 7, 11, tzinfo=UTC)),
        ("yesterday 6:30 pm", "", datetime(2026, 3, 7, 17, 30, tzinfo=UTC)),
        ("2026-03-05 09:15", "", datetime(2026, 3, 5, 8, 15, tzinfo=UTC)),
        ("2026-03-08", "", NOW),  # noon may not have come yet; today without a time is now
        ("17:10", "Europe/London", datetime(2026, 3, 8, 17, 10, tzinfo=UTC)),
    ],
)
def test_when_it_was(folder, when, zone, expected):
    acts.record_care(folder, "left", "12 min", told=Told(when=when, zone=zone), now=NOW)
    (entry,) = stored(folder)
    assert (entry.at, entry.zone) == (expected, zone or "Europe/Berlin")


@pytest.mark.parametrize(
    ("when", "fault"),
    [
        ("18:40", 'is "18:40", in the future.'),
        ("2026-02-28 12:00", "is 2026-02-28, but the trial's days are 2026-03-02 to 2026-04-26"),
        ("2026-13-01", 'is "2026-13-01", but there is no month 13.'),
        ("noonish", 'is "noonish", not a date.'),
    ],
)
def test_a_moment_that_cannot_be_is_refused(folder, when, fault):
    with pytest.raises(FaultsError) as caught:
        acts.record_care(folder, "left", "12 min", told=Told(when=when), now=NOW)
    (one,) = caught.value.faults
    assert one.where == "when"
    assert one.what.startswith(fault)


def test_an_hour_that_the_clocks_showed_twice_must_be_named(tmp_path):
    text = TEXT.replace("start = 2026-03-02", "start = 2026-10-05")
    trial, faults = read_trial(text, where="")
    assert faults == ()
    with Logbook.create(tmp_path / "book") as book:
        book.take_in(trial, text)
    morning = datetime(2026, 10, 25, 6, tzinfo=UTC)
    with pytest.raises(FaultsError, match=r"showed twice\. Write which: 02:30\+02:00 or 02:30\+01:00"):
        acts.record_care(tmp_path / "book", "left", "1 min", told=Told(when="02:30"), now=morning)
    acts.record_care(tmp_path / "book", "left", "1 min", told=Told(when="02:30+01:00"), now=morning)
    assert stored(tmp_path / "book")[0].at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


def test_planned_doubled_otherwise_and_missed(folder):
    assert task(folder, DOSE).state == "due"
    record_planned(folder, DOSE, now=NOW)
    assert task(folder, DOSE).state == "done"
    right = DOSE.replace("left", "right")
    record_doubled(folder, right, now=NOW)
    assert task(folder, right).state == "done otherwise"
    assert task(folder, right).done == "dosed 2.2 mL (2 strokes) macro stock, 18:30"
    thursday = datetime(2026, 3, 5, 18, tzinfo=UTC)
    record_done(folder, "2026-03-05/left/dose micro", "4 drops", now=thursday)
    record_missed(folder, "2026-03-05/right/dose micro", told=Told(note="forgot"), now=thursday)
    thursdays = {one.tank: (one.payload, one.note) for one in stored(folder) if one.at == thursday}
    assert thursdays == {
        "left": (Dose("micro", ml=0.2), ""),
        "right": (Dose("micro", ml=0.4, given=False), "forgot"),
    }


def test_what_was_recorded_already_is_not_counted_twice(folder):
    done = record_planned(folder, DOSE, told=Told(id=str(uuid4())), now=NOW)
    with pytest.raises(AnsweredAlreadyError, match="is recorded as done already"):
        record_planned(folder, DOSE, now=NOW)
    assert record_planned(folder, DOSE, told=Told(id=done.entries[0].id), now=NOW).new == 0
    for identity in (done.entries[0].id, None, None):
        undo_entry(folder, identity or stored(folder)[0].id, now=NOW)
        assert task(folder, DOSE).state == "due"
        record_planned(folder, DOSE, now=NOW)
        assert len(stored(folder)) == 1


def test_two_people_who_record_the_same_dose_at_once_write_it_once(folder):
    barrier = threading.Barrier(2)
    told: list[object] = []

    def give(who: str) -> None:
        barrier.wait()
        try:
            told.append(record_planned(folder, DOSE, told=Told(who=who), now=NOW).new)
        except AnsweredAlreadyError:
            told.append("already")

    threads = [threading.Thread(target=give, args=(who,)) for who in "AB"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert told.count(1) == 1
    assert len(told) == 2
    assert rows(folder) == 1


def test_a_day_later(folder):
    monday = NOW + timedelta(days=1)
    record_late(folder, DOSE, now=monday)
    record_planned(folder, DOSE.replace("left", "right"), now=monday)  # given on its day, written down a day later
    late, in_time = sorted(stored(folder), key=lambda one: one.tank)
    assert (late.at, late.payload) == (monday, Dose("macro", ml=1.1, for_date="2026-03-08"))
    assert (in_time.at, in_time.payload) == (datetime(2026, 3, 8, 17, tzinfo=UTC), Dose("macro", ml=1.1))


def test_tests_trims_changes_and_photos_on_plan(folder):
    record_done(folder, "2026-03-06/left/test nitrate", "10 mg/L", now=NOW)
    record_done(folder, "2026-03-02/left/trim red-stem", "to 9 cm", told=Told(when="2026-03-03"), now=NOW)
    record_planned(folder, "2026-03-07/left/water change", now=NOW)
    record_missed(folder, "2026-03-07/right/water change", now=NOW)
    kinds = [(one.tank, type(one.payload)) for one in stored(folder)]
    assert sorted(kinds, key=str) == sorted(
        [("left", Trim), ("left", Reading), ("left", WaterChange), ("right", Skipped)], key=str
    )
    with pytest.raises(FaultsError, match="is empty"):
        record_planned(folder, "2026-03-06/right/test nitrate", now=NOW)
    with pytest.raises(FaultsError, match="is a photo"):
        record_planned(folder, "2026-03-08/left/photo", now=NOW)
    with pytest.raises(FaultsError, match="not a dose"):
        record_doubled(folder, "2026-03-07/left/water change", now=NOW)
    with pytest.raises(FaultsError, match="which is not planned"):
        record_planned(folder, "2026-03-08/left/dose micro", now=NOW)
    with pytest.raises(FaultsError, match="is planned for 2026-03-09"):
        record_planned(folder, "2026-03-09/left/dose micro", now=NOW)


def test_all_that_is_open_is_let_go_in_one_act(folder):
    before = see_today(folder, now=NOW).trials[0]
    open_ones = sum(len(tank.open_before) for tank in before.tanks)
    assert open_ones > 5
    told = Told(id=str(uuid4()), who="A")
    assert skip_overdue(folder, "left", told=told, now=NOW).new == open_ones // 2
    assert skip_overdue(folder, told=told, now=NOW).new == open_ones - open_ones // 2
    assert skip_overdue(folder, told=told, now=NOW).new == 0
    after = see_today(folder, now=NOW).trials[0]
    assert [tank.open_before for tank in after.tanks] == [(), ()]
    assert [one.state for one in after.tanks[0].tasks] == ["due", "due"]  # today's is left alone


def test_the_day_of_a_trial_in_words(folder):
    (trial,) = see_today(folder, now=NOW).trials
    assert (trial.date, trial.day, trial.days, trial.running) == (date(2026, 3, 8), 6, 56, "running")
    left = trial.tanks[0]
    assert [(one.words, one.clock, one.state) for one in left.tasks] == [
        ("1 stroke macro stock", "18:00", "due"),
        ("take the photo", "19:00", "due"),
    ]
    assert [(str(one.date)[-2:], one.words) for one in left.open_before] == [
        ("02", "8 drops micro bottle"),
        ("02", "trim red stem plant"),
        ("04", "1 stroke macro stock"),
        ("05", "8 drops micro bottle"),
        ("06", "test nitrate"),
        ("07", "change 40 % of the water (16.8 L)"),
    ]
    acts.record_trim(folder, "left", "red-stem", "6.5 min", told=Told(when="2026-03-08 10:00"), now=NOW)
    acts.record_care(folder, "left", "12 min", now=NOW)
    left = see_today(folder, now=NOW).trials[0].tanks[0]
    assert left.care_minutes == 18.5
    assert [one.words for one in left.besides] == ["12 min of care"]  # the trim is the open one, done late
    assert see_today(folder, day=date(2026, 3, 1), now=NOW).trials[0].running == "not begun"
    assert see_today(folder, day=date(2026, 4, 27), now=NOW).trials[0].running == "ended"
    assert see_today(folder, now=NOW).as_json()["trials"][0]["tanks"][0]["tasks"][0]["date"] == "2026-03-08"


@pytest.mark.parametrize(
    ("typed", "low", "high", "shown"),
    [
        ("10", 10.0, 10.0, "10 mg/L"),
        ("over 80", 80.0, float("inf"), ">80 mg/L"),
        ("between 10 and 20 mg/L", 10.0, 20.0, "10-20 mg/L"),
        ("2,5, by lamplight", 2.5, 2.5, "2,5 mg/L"),
        ("10 (7.5-15), colour card", 7.5, 15.0, "10 mg/L"),
    ],
)
def test_a_test_is_read_as_it_is_said_at_the_tank(folder, typed, low, high, shown):
    (entry,) = acts.record_reading(folder, "left", "nitrate", typed, now=NOW).entries
    assert isinstance(entry.payload, Reading)
    assert (entry.payload.low_mg_per_l, entry.payload.high_mg_per_l, entry.payload.shown) == (low, high, shown)


def test_no_dose_is_larger_than_the_water_that_it_goes_into(folder):
    with pytest.raises(FaultsError, match=r"more than the \d+\.?\d* L of water in the tank"):
        acts.record_dose(folder, "left", "macro", "99999 mL", now=NOW)


def test_large_amounts_are_said_in_plain_figures(folder):
    assert acts.record_dose(folder, "left", "macro", "1234 mL", now=NOW).words == (
        "left tank: dosed 1234 mL macro stock",
    )
    assert acts.record_care(folder, "left", "1000 min", now=NOW).words == ("left tank: 1000 min of care",)
    assert acts.record_dose(folder, "left", "macro", "0.00002 mL", now=NOW).words == (
        "left tank: dosed 0.00002 mL macro stock",
    )


def test_a_test_that_was_done_shows_what_it_showed(folder):
    friday = datetime(2026, 3, 6, 17, 30, tzinfo=UTC)
    record_done(folder, "2026-03-06/left/test nitrate", "10", now=friday)
    tank = see_today(folder, now=friday).trials[0].tanks[0]
    (task,) = (one for one in tank.tasks if one.kind == "test")
    assert task.done == "10 mg/L, 18:30"


def test_two_phones_that_record_the_same_dose_at_once_give_it_once(folder):
    """Each has an id of its own, as a page gives it; whoever comes second is told."""
    for day in range(2, 9):
        item = f"2026-03-{day:02}/left/dose macro"
        if find_due(TRIAL, item) is None:
            continue
        start, outcomes = threading.Barrier(6), []

        def press(item: str = item, start: threading.Barrier = start, outcomes: list[str] = outcomes) -> None:
            start.wait()
            try:
                record_planned(folder, item, told=Told(id=str(uuid4())), now=NOW)
            except AnsweredAlreadyError:
                outcomes.append("told")
            else:
                outcomes.append("recorded")

        threads = [threading.Thread(target=press) for _ in range(6)]
        for one in threads:
            one.start()
        for one in threads:
            one.join()
        assert sorted(outcomes) == ["recorded", *["told"] * 5]


def test_two_people_who_let_all_go_at_once_let_each_go_once(folder):
    start = threading.Barrier(4)

    def press() -> None:
        start.wait()
        skip_overdue(folder, told=Told(id=str(uuid4())), now=NOW)

    threads = [threading.Thread(target=press) for _ in range(4)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    said = [(one.tank, one.at, repr(one.payload)) for one in stored(folder)]
    assert said
    assert len(said) == len(set(said))
