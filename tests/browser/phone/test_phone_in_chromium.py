"""Littoral at a tank without a connection: nothing recorded there is lost, doubled, or dated wrongly."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

import httpx
import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from tests.browser.phone.at_the_tank import (
    CAMERA,
    KEY,
    NOTE,
    READY,
    kept_forms,
    note,
    send_now,
    take_photo,
    until_kept,
    until_sent,
    visit,
)

from littoral.logbook.book import Logbook
from littoral.trial.entries import Note, Photo, WaterChange

pytestmark = pytest.mark.browser


def test_it_can_be_installed(phone, computer):
    with phone.opened() as context:
        page = visit(context, f"{computer.address}/today")
        page.evaluate("() => navigator.serviceWorker.ready")
        page.reload()
        page.wait_for_selector(READY)
        session = context.new_cdp_session(page)
        assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
        manifest = session.send("Page.getAppManifest")
        assert manifest["errors"] == []
        assert manifest["url"] == f"{computer.address}/app.webmanifest"
        cached = page.evaluate("() => caches.keys()")
        assert sum(name.startswith("littoral-shell-") for name in cached) == 1


def test_entries_and_a_photo_made_offline_outlive_the_browser_and_arrive_once(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        context.set_offline(True)
        page.goto(f"{computer.address}/today")
        page.wait_for_selector(READY)
        said = page.locator("#offline").inner_text()
        assert re.search(r"as of [0-9]{2}:[0-9]{2}, offline", said)
        assert "ask before you give a dose twice" in said
        begun = datetime.now(UTC).replace(microsecond=0)
        page.locator("#tank-left .task[data-item*='water change'] button.big").click()
        until_kept(page, 1)
        page.goto(computer.address + NOTE)
        note(page, "leaves float")
        until_kept(page, 2)
        page.goto(computer.address + CAMERA)
        take_photo(page)
        until_kept(page, 3)
        ended = datetime.now(UTC)
        assert computer.stored() == ()
        computer.off()

    with phone.opened() as context:  # the computer is still away, and everything is there
        page = visit(context, f"{computer.address}/today")
        until_kept(page, 3)
        assert "3 waiting" in page.locator("#kept h2").inner_text()
        assert page.locator("#kept canvas.thumb").count() == 1
        computer.on()
        send_now(page)
        until_sent(page)
        page.reload()
        page.wait_for_selector("#tank-left .task[data-item*='water change'][data-state=done]")

    found = computer.stored()
    assert {type(one.payload) for one in found} == {WaterChange, Note, Photo}
    assert len(found) == 3
    assert [one for one in found if not begun <= one.at <= ended] == []
    assert {one.zone for one in found} == {"Europe/Lisbon"}
    (photo,) = (one for one in found if isinstance(one.payload, Photo))
    assert (photo.tank, photo.payload.view, photo.payload.dated_by) == ("left", "left", "phone")
    with Logbook.open(computer.logbook) as book:
        assert book.original(photo.payload.sha256).read_bytes()[:3] == b"\xff\xd8\xff"


def test_what_was_made_at_a_moment_keeps_it_however_late_it_is_sent(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        computer.off()
        page.clock.install(time=datetime.now(UTC) - timedelta(days=2, hours=3))
        page.goto(computer.address + NOTE)
        note(page, "two days ago")
        until_kept(page, 1)
    with phone.opened() as context:  # by a clock that shows the day on which it is sent
        page = visit(context, f"{computer.address}/today")
        until_kept(page, 1)
        computer.on()
        send_now(page)
        until_sent(page)
    (entry,) = computer.stored()
    assert abs(datetime.now(UTC) - timedelta(days=2, hours=3) - entry.at) < timedelta(minutes=5)


@pytest.mark.parametrize("locks", [pytest.param(True, marks=pytest.mark.slow), False])
def test_two_tabs_send_everything_once(phone, computer, locks):
    with phone.opened() as context:
        if not locks:  # a browser that does not know them, or a page that is not a secure one
            context.add_init_script("Object.defineProperty(navigator, 'locks', { value: undefined });")
        first = kept_forms(context, computer)
        computer.off()
        for number in range(4):
            first.goto(computer.address + NOTE)
            note(first, f"note {number}")
            until_kept(first, number + 1)
        second = visit(context, f"{computer.address}/today")
        until_kept(second, 4)
        posts: list[str] = []
        context.on("request", lambda asked: posts.append(asked.url) if asked.method == "POST" else None)
        computer.on()
        send_now(first, second)
        until_sent(first)
        until_sent(second)
    assert sorted(one.payload.text for one in computer.stored()) == [f"note {number}" for number in range(4)]
    if locks:
        assert len(posts) == 4


def test_two_things_from_one_kept_form_are_two(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        context.set_offline(True)
        for count, text in enumerate(("first", "second"), start=1):
            page.goto(computer.address + NOTE)
            note(page, text)
            until_kept(page, count)
        note(page, "third, without leaving the form")
        until_kept(page, 3)
        context.set_offline(False)
        until_sent(page)
    assert {one.payload.text for one in computer.stored()} == {
        "first", "second", "third, without leaving the form",
    }  # fmt: skip


def test_what_waits_can_be_undone(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        context.set_offline(True)
        page.goto(computer.address + NOTE)
        note(page, "a slip")
        until_kept(page, 1)
        page.locator("#kept").get_by_role("button", name="Undo").click()
        until_sent(page)
        context.set_offline(False)
        page.goto(f"{computer.address}/today")
        page.wait_for_selector(READY)
    assert computer.stored() == ()


def test_a_planned_thing_pressed_again_on_a_copy_of_today_is_one(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        computer.off()
        for _ in range(2):
            page.goto(f"{computer.address}/today")
            page.wait_for_selector(READY)
            page.locator("#tank-left .task[data-item*='water change'] button.big").click()
            page.get_by_text("Kept on this phone; it is sent").wait_for()
            until_kept(page, 1)
        computer.on()
        send_now(page)
        until_sent(page)
    assert [one.payload for one in computer.stored()] == [WaterChange(0.4)]


def test_let_all_go_of_an_earlier_day_is_asked_about_and_not_sent(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        computer.off()
        page.clock.install(time=datetime.now(UTC) - timedelta(days=1))
        page.goto(f"{computer.address}/today")
        page.wait_for_selector(READY)
        page.locator("#tank-left details.open-before summary").first.click()
        page.locator("#tank-left").get_by_role("button", name=re.compile("Let all")).click()
        until_kept(page, 1)
    with phone.opened() as context:
        page = visit(context, f"{computer.address}/today")
        computer.on()
        send_now(page)
        page.wait_for_selector("#kept li.decide")
        assert "pressed on an earlier day" in page.locator("#kept li.decide").inner_text()
        assert computer.stored() == ()
        page.locator("#kept").get_by_role("button", name="Throw it away").click()
        page.locator("#kept").get_by_role("button", name="sure?").click()
        until_sent(page)
    assert computer.stored() == ()


def test_what_waits_is_sent_without_an_open_page(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        session = context.new_cdp_session(page)
        seen: list[dict[str, object]] = []
        session.on("ServiceWorker.workerRegistrationUpdated", lambda news: seen.extend(news["registrations"]))
        session.send("ServiceWorker.enable")
        computer.off()
        page.goto(computer.address + NOTE)
        note(page, "sent by the worker")
        until_kept(page, 1)
        page.goto("about:blank")
        computer.on()
        sync = {"origin": computer.address, "registrationId": seen[-1]["registrationId"], "tag": "littoral-send"}
        with context.expect_event("requestfinished", lambda asked: asked.url.endswith("/api/entries")):
            session.send("ServiceWorker.dispatchSyncEvent", {**sync, "lastChance": False})
    assert [one.payload.text for one in computer.stored()] == ["sent by the worker"]


def test_a_form_of_another_tank_never_stands_in(phone, computer):
    with phone.opened() as context:
        page = kept_forms(context, computer)
        context.set_offline(True)
        page.goto(f"{computer.address}/entry/note?trial={KEY}&tank=nowhere")
        assert "does not answer" in page.locator("h1").inner_text()
        page.goto(f"{computer.address}/entry/note?trial={KEY}&tank=right")
        assert page.locator("form.entry").count() == 1


def test_a_phone_that_can_keep_nothing_says_so(phone, computer):
    with phone.opened() as context:
        context.add_init_script("indexedDB.open = () => { throw new DOMException('no room', 'QuotaExceededError'); };")
        page = visit(context, computer.address + NOTE)
        note(page, "sent at once all the same")
        page.wait_for_url("**/today**")
        page.goto(computer.address + NOTE)
        page.wait_for_selector(READY)
        context.set_offline(True)
        note(page, "cannot be kept")
        page.get_by_text("nothing was recorded").wait_for()
        assert page.locator("textarea").input_value() == "cannot be kept"
    assert [one.payload.text for one in computer.stored()] == ["sent at once all the same"]


def test_the_worker_runs_under_a_policy_of_its_own(computer):
    answer = httpx.get(f"{computer.address}/sw.js")
    assert answer.headers["content-security-policy"] == "default-src 'none'; connect-src 'self'"
    assert not any(line.startswith(("import", "export")) for line in answer.text.splitlines())
