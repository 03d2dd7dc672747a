"""What the phone kept meets a logbook that has moved on: both are shown, a person decides, nothing is lost."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import Route
from tests.browser.phone.at_the_tank import CARE, NOTE, READY, kept_forms, note, send_now, until_kept, until_sent, visit

from littoral.acts.record_entry import record_note
from littoral.acts.record_planned import record_planned
from littoral.acts.told import Told
from littoral.trial.entries import Care, Note, WaterChange

pytestmark = pytest.mark.browser


def test_when_a_thing_was_made_is_said_in_full(phone, computer):
    """Each row: what was told, made at 23:59:30 in Lisbon's summer, sent so many seconds later, and what goes out."""
    made, stamp = "2026-07-01T22:59:30Z", "2026-07-01 23:59:30+01:00"
    rows = [
        ({"act": "dose"}, 1, ""),  # sent as it is made
        ({"act": "dose"}, 60, stamp),  # across midnight
        ({"act": "dose", "when": "18:30"}, 60, "2026-07-01 18:30"),
        ({"act": "dose", "when": "yesterday 07:10"}, 60, "2026-06-30 07:10"),
        ({"act": "dose", "when": "today"}, 60, stamp),
        ({"act": "dose", "when": "yesterday"}, 60, "2026-06-30"),
        ({"act": "dose", "when": "2026-06-29 08:00"}, 60, "2026-06-29 08:00"),
        ({"act": "planned", "item": "2026-07-01/left/dose macro"}, 60, stamp),
        ({"act": "planned", "item": "2026-06-30/left/dose macro"}, 60, ""),  # its planned time
        ({"act": "late", "item": "2026-06-30/left/dose macro"}, 60, stamp),
        ({"act": "dose"}, -60, ""),  # a minute ahead of the computer: it would be refused as in the future
        ({"act": "dose"}, -600, stamp),  # the clock was put back meanwhile: a person decides
    ]
    with phone.opened() as context:
        page = visit(context, f"{computer.address}/today")
        found = page.evaluate(
            """async ([made, rows]) => {
              const { whenOf } = await import('/static/moments.js?alone');
              const at = Date.parse(made);
              return rows.map(([told, later]) => whenOf(told, at, at + 1000 * later));
            }""",
            [made, rows],
        )
    assert found == [wanted for _, _, wanted in rows]


def test_a_conflict_shows_both_and_waits_for_a_person(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        context.set_offline(True)
        page.reload()
        task = page.locator("#tank-left .task[data-item*='water change']")
        item = task.get_attribute("data-item")
        task.locator("summary").click()
        task.locator("input[name=amount]").fill("25 %")
        task.get_by_role("button", name="Record").click()
        until_kept(page, 1)
        record_planned(computer.logbook, item, told=Told(who="Other hand"))
        context.set_offline(False)
        send_now(page)
        page.wait_for_selector("#kept li.decide")
        said = page.locator("#kept li.decide").inner_text()
        assert "25 %" in said
        assert "In the logbook: left tank: changed 40 % of the water" in said
        assert "Other hand" in said

    with phone.opened() as context:  # closed and opened again, it still waits for the answer
        page = visit(context, f"{computer.address}/today")
        page.wait_for_selector("#kept li.decide")
        beside = page.locator("#kept").get_by_role("link", name="Record mine beside it").get_attribute("href")
        assert beside.startswith("/entry/change?")
        assert "amount=25+%25" in beside
        page.locator("#kept").get_by_role("button", name="Keep the one that is there").click()
        assert len(computer.stored()) == 1
        page.locator("#kept").get_by_role("button", name="sure?").click()
        until_sent(page)
    (entry,) = computer.stored()
    assert entry.payload == WaterChange(0.4)


def test_a_correction_that_lost_a_race_shows_both_and_can_be_put_in_its_place(phone, computer):
    from littoral.acts.change_entry import correct_entry

    recorded = record_note(computer.logbook, "left", "seven snails", told=Told()).entries[0]
    with phone.opened() as context:
        page = kept_forms(context, computer)
        page.goto(f"{computer.address}/entry/{recorded.id}/correct")
        page.wait_for_selector(READY)
        context.set_offline(True)
        page.evaluate(
            """async ([id]) => {
              const { post } = await import('/static/post.js');
              await post(`/api/entries/${id}/corrections`, { note: 'eight snails' }, { words: 'eight snails' });
            }""",
            [recorded.id],
        )
        until_kept(page, 1)
        correct_entry(computer.logbook, recorded.id, note="nine snails", who="Other hand")
        context.set_offline(False)
        page.wait_for_selector("#kept li.decide")
        said = page.locator("#kept li.decide").inner_text()
        assert "eight snails" in said
        assert "nine snails" in said
        page.locator("#kept").get_by_role("button", name="Put mine in its place").click()
        until_sent(page)
    (entry,) = computer.stored()
    assert entry.payload == Note("eight snails")


def test_a_computer_that_was_off_and_started_anew_gets_everything(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        computer.off()
        page.goto(computer.address + CARE)
        page.wait_for_selector(READY)
        assert "offline" in page.locator("#offline").inner_text()
        page.locator("form.entry [name=amount], form.entry [data-of=amount]").first.fill("12")
        page.locator("form.entry .send button").click()
        until_kept(page, 1)
        page.goto(f"{computer.address}/today")
        page.wait_for_selector(READY)
        until_kept(page, 1)
        computer.on()  # with another token
        page.locator("#kept").get_by_role("button", name="Send now").click()
        until_sent(page)
    (entry,) = computer.stored()
    assert entry.payload == Care(12)


def test_a_phone_clock_that_is_off_is_said(phone, computer):
    with phone.opened() as context:
        page = visit(context, f"{computer.address}/today")
        assert page.locator("#clock").count() == 0
        page.clock.install(time=datetime.now(UTC) + timedelta(minutes=22, seconds=10))
        page.reload()
        page.wait_for_selector("#clock")
        assert "22 minutes ahead" in page.locator("#clock").inner_text()


def test_made_by_a_clock_that_is_ahead_it_is_kept_until_its_time_is_set_right(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        page.clock.install(time=datetime.now(UTC) + timedelta(minutes=40))
        page.goto(computer.address + NOTE)
        page.wait_for_selector(READY)
        context.set_offline(True)
        note(page, "early bird")
        until_kept(page, 1)
        page.clock.fast_forward(20_000)
        context.set_offline(False)
        send_now(page)
        page.wait_for_selector("#kept li.decide")
        assert "in the future" in page.locator("#kept").inner_text()
        assert computer.stored() == ()
        page.locator("#kept").get_by_role("button", name="Set its time right").click()
        until_sent(page)
    (entry,) = computer.stored()
    assert abs(datetime.now(UTC) - entry.at) < timedelta(minutes=3)


def test_a_refusal_that_comes_after_the_page_said_kept_loses_nothing(phone, computer):
    held: list[Route] = []
    with phone.opened() as context:
        context.route("**/api/entries", lambda route: held.append(route))
        page = context.new_page()
        page.clock.install()
        page.goto(computer.address + NOTE)
        page.wait_for_selector(READY)
        note(page, "written in a hurry")
        until_kept(page, 1)
        page.wait_for_function("() => true")  # lets the held request arrive here
        assert held
        page.clock.fast_forward(10_000)
        page.get_by_text("Kept on this phone; it is sent").wait_for()
        answer = {"kind": "faults", "detail": "refused late", "faults": [], "status": 422}
        held[0].fulfill(status=422, content_type="application/problem+json", body=json.dumps(answer))
        page.locator("#kept").get_by_text("refused late").wait_for()
        until_kept(page, 1)


def test_one_thing_that_the_computer_fails_at_holds_up_no_other(phone, computer):
    def fail_at_one(route: Route) -> None:
        if "the first" in (route.request.post_data or ""):
            route.fulfill(status=500, content_type="text/plain", body="a fault")
        else:
            route.continue_()

    with phone.opened() as context:
        page = kept_forms(context, computer)
        context.set_offline(True)
        for text in ("the first", "the second"):
            page.goto(computer.address + NOTE)
            note(page, text)
            page.get_by_text("Kept on this phone; it is sent").wait_for()
        until_kept(page, 2)
        context.route("**/api/entries", fail_at_one)
        context.set_offline(False)
        send_now(page)
        until_kept(page, 1)
    assert [one.payload for one in computer.stored()] == [Note("the second")]
