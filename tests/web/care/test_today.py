"""Today's list as a page without script: one press for what went as planned, two for what did not."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from littoral.trial.entries import Dose, Skipped, WaterChange, Withdrawn
from littoral.trial.entries import Reading as WaterReading

DOSE = "2026-03-08/left/dose macro"
RIGHT = "2026-03-08/right/dose macro"


def test_it_lists_each_tank_in_bench_order_with_what_is_due(bench):
    text = bench.get("/today").text
    assert "Sunday 8 March 2026" in text
    assert text.index('id="tank-left"') < text.index('id="tank-right"')
    assert "1 stroke macro stock" in text
    assert "test nitrate" in text
    assert 'placeholder="6.8"' in text  # pH has no mg/L
    assert 'href="/camera?trial=sparing-or-full&amp;tank=left"' in text
    assert '<a href="/today">Today</a>' in text


def test_one_press_records_as_planned_and_shows_it_with_undo(bench):
    answer = bench.press(bench.get("/today"), "planned", DOSE)
    assert answer.status_code == 303
    (entry,) = bench.entries()
    assert entry.payload == Dose(of="macro", ml=1.1)
    text = bench.get(answer.headers["location"]).text
    assert "Recorded: left tank: dosed 1.1 mL (1 stroke) macro stock" in text
    assert "done as planned" in text
    assert f'name="entry" value="{entry.id}"' in text


def test_the_same_form_twice_records_once(bench):
    page = bench.get("/today")
    assert bench.press(page, "planned", DOSE).status_code == 303
    assert bench.press(page, "planned", DOSE).status_code == 303
    assert len(bench.entries()) == 1


def test_what_somebody_else_recorded_is_shown_and_not_doubled(bench):
    mine, theirs = bench.get("/today"), bench.get("/today")
    bench.press(theirs, "done", DOSE, amount="2 mL")
    answer = bench.press(mine, "planned", DOSE)
    assert answer.status_code == 409
    assert "Somebody recorded this already" in answer.text
    assert "<strong>left tank: dosed 2 mL macro stock</strong>" in answer.text
    assert len(bench.entries()) == 1


@pytest.mark.parametrize(
    ("act", "typed", "payload"),
    [
        ("done", {"amount": "2 mL"}, Dose(of="macro", ml=2.0)),
        ("missed", {}, Dose(of="macro", ml=1.1, given=False)),
        ("doubled", {}, Dose(of="macro", ml=2.2)),
    ],
)
def test_two_presses_record_what_really_happened(bench, act, typed, payload):
    assert bench.press(bench.get("/today"), act, DOSE, **typed).status_code == 303
    assert bench.entries()[0].payload == payload


def test_a_test_takes_its_reading_and_a_wrong_one_stays_in_the_field(bench):
    item = "2026-03-08/left/test nitrate"
    wrong = bench.press(bench.get("/today"), "done", item, amount="10 mg")
    assert wrong.status_code == 422
    assert 'value="10 mg"' in wrong.text
    assert 'role="alert"' in wrong.text
    assert not bench.entries()
    assert bench.press(wrong, "done", item, amount="10 mg/L").status_code == 303
    assert isinstance(bench.entries()[0].payload, WaterReading)


def test_undo_takes_it_back_and_it_is_due_again(bench):
    bench.press(bench.get("/today"), "planned", DOSE)
    (entry,) = bench.entries()
    answer = bench.form("/today", act="undo", entry=entry.id, trial="sparing-or-full", tank="left")
    assert answer.status_code == 303
    assert not bench.entries()
    shown = bench.get(answer.headers["location"]).text
    assert "Undone: left tank" in shown
    assert "Bring it back" in shown
    (withdrawal,) = re.findall(r'name="act" value="undo"><input type="hidden" name="entry" value="([^"]+)"', shown)[:1]
    bench.form("/today", act="undo", entry=withdrawal, trial="sparing-or-full", tank="left")
    assert bench.entries()[0].payload == entry.payload


def test_a_stale_undo_shows_what_somebody_made_of_it(bench):
    bench.press(bench.get("/today"), "planned", DOSE)
    (entry,) = bench.entries()
    bench.send(f"/api/entries/{entry.id}/corrections", {"amount": "3 mL", "who": "Ada"})
    answer = bench.form("/today", act="undo", entry=entry.id, trial="sparing-or-full", tank="left")
    assert answer.status_code == 409
    assert "3 mL" in answer.text
    assert bench.entries()[0].payload == Dose(of="macro", ml=3.0)


def test_open_things_are_done_late_or_let_go_without_loss(bench):
    bench.later(days=2)
    page = bench.get("/today")
    assert "Open from earlier days" in page.text
    assert "two doses at once can harm animals" in page.text
    assert bench.press(page, "late", DOSE).status_code == 303
    assert bench.entries()[0].payload.for_date == "2026-03-08"
    assert bench.press(bench.get("/today"), "planned", RIGHT).status_code == 303
    then = next(entry for entry in bench.entries() if entry.tank == "right")
    assert then.at == datetime(2026, 3, 8, 17, 0, tzinfo=UTC)  # at its planned time, 18:00 in Berlin
    assert bench.form("/today", act="skip", trial="sparing-or-full", tank="left").status_code == 303
    kinds = {type(entry.payload) for entry in bench.entries() if entry.tank == "left"}
    assert Skipped in kinds
    after = bench.get("/today?tank=left").text
    assert "Open from earlier days" not in after
    assert 'id="tank-right"' not in after


def test_minutes_of_care_run_up(bench):
    assert "0 min of care today" in bench.get("/today").text
    for minutes in ("7 min", "5 min"):
        bench.send("/api/entries", {"act": "care", "tank": "left", "amount": minutes})
    assert "12 min of care today" in bench.get("/today").text


def test_an_empty_logbook_an_early_and_an_ended_trial_say_so(empty, bench):
    assert "There is no trial in this logbook yet" in empty.get("/today").text
    bench.now = datetime(2026, 3, 1, 12, tzinfo=UTC)
    assert "It begins in 1 day." in bench.get("/today").text
    bench.now = datetime(2027, 3, 1, 12, tzinfo=UTC)
    assert "It ended after 56 days" in bench.get("/today").text


def test_several_trials_stand_below_each_other_and_record_apart(two_trials):
    page = two_trials.get("/today")
    assert "The &lt;second&gt; trial" in page.text
    assert page.text.count('id="tank-left"') == 2
    assert two_trials.press(page, "planned", DOSE).status_code == 303
    assert two_trials.get("/today?trial=second").text.count('class="tank-today"') == 2


@pytest.mark.parametrize(
    "sent", [{"act": "nonsense"}, {}, {"act": "undo", "entry": "nothing"}, {"act": "skip", "tank": "x"}]
)
def test_a_press_that_means_nothing_is_refused_in_words(bench, sent):
    answer = bench.form("/today", trial="sparing-or-full", **sent)
    assert answer.status_code in (409, 422)
    assert 'role="alert"' in answer.text
    assert not bench.entries()


def test_a_water_change_of_another_share(bench):
    bench.now = datetime(2026, 3, 14, 18, tzinfo=UTC)
    item = "2026-03-14/left/water change"
    assert bench.press(bench.get("/today"), "done", item, amount="50 %").status_code == 303
    assert bench.entries()[0].payload == WaterChange(0.5)
    assert "changed 50 % of the water" in bench.get("/today").text
    assert not any(isinstance(entry.payload, Withdrawn) for entry in bench.entries())


def test_a_wrong_date_in_the_address_is_said(bench):
    assert bench.get("/today?day=yesterdayish").status_code == 422
    assert "Saturday 7 March 2026" in bench.get("/today?day=2026-03-07").text


def test_a_tank_that_there_is_not_is_said_and_no_empty_page_is_shown(bench):
    answer = bench.get("/today?tank=middle")
    assert answer.status_code == 404
    assert "The tanks are left, right." in answer.text


def test_a_day_to_come_is_shown_and_cannot_be_recorded(bench):
    text = bench.get("/today?day=2026-03-11").text
    assert "still to come" in text
    assert "macro stock" in text
    assert "Open from earlier days" not in text
    assert 'value="planned"' not in text
    assert 'value="planned"' in bench.get("/today?day=2026-03-08").text
