"""Littoral at a tank without a connection: nothing recorded there is lost, doubled, or dated wrongly."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta

import httpx
import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import BrowserContext, Page, Route
from tests.photos_made import dark, file_of, shot, with_hand

from littoral.acts.add_photo import add_photo
from littoral.acts.record_entry import record_note
from littoral.acts.record_planned import record_planned
from littoral.acts.told import Told
from littoral.logbook.book import Logbook
from littoral.trial.entries import Care, Note, Photo, WaterChange

pytestmark = pytest.mark.browser
KEY = "sparing-or-full"
READY = "html[data-phone=ready]"
NOTE = f"/entry/note?trial={KEY}&tank=left"
CARE = f"/entry/care?trial={KEY}&tank=left"
CAMERA = f"/camera?trial={KEY}&tank=left"


def visit(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector(READY)
    return page


def keep_for_offline(page: Page) -> None:
    """Wait until the worker keeps Today and the forms of the left tank that are used here."""
    page.evaluate(
        """async (wanted) => {
          await navigator.serviceWorker.ready;
          const kept = async (address) => (await caches.open('littoral-pages')).match(new URL(address, location.href));
          while (!(await Promise.all(wanted.map(kept))).every(Boolean)) {
            await new Promise((done) => { setTimeout(done, 100); });
          }
        }""",
        ["/today", NOTE, CARE, NOTE.replace("left", "right"), CAMERA],
    )


def until_sent(page: Page) -> None:
    page.wait_for_selector("#kept[hidden]", state="attached")


def send_now(*pages: Page) -> None:
    """Press "Send now" in every page, without waiting for what comes of it."""
    for page in pages:
        page.evaluate(
            "() => { for (const one of document.querySelectorAll('#kept > button')) setTimeout(() => one.click()); }"
        )


def until_kept(page: Page, count: int) -> None:
    page.wait_for_function("(count) => document.querySelectorAll('#kept li').length === count", arg=count)


def note(page: Page, text: str) -> None:
    """Write a note in the form that is open, and send it."""
    page.locator("textarea").fill(text)
    page.locator("form.entry .send button").click()


def take_photo(page: Page) -> None:
    page.wait_for_selector("#camera[data-state=live]")
    page.locator("[data-part=shutter]").click()
    page.locator("[data-part=keep]").click()
    page.wait_for_selector("#camera[data-state=done]")


def kept_forms(context: BrowserContext, computer) -> Page:
    """Look at Today once with a connection, so that its pages are on the phone."""
    page = visit(context, f"{computer.address}/today")
    keep_for_offline(page)
    return page


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


def test_the_last_photo_lies_over_the_live_picture(phone, computer):
    with phone.opened() as context:
        page = visit(context, computer.address + CAMERA)
        assert page.locator("[data-part=overlay]").count() == 0
        take_photo(page)
        assert "in the logbook" in page.locator("[data-part=told]").inner_text()
        page.goto(computer.address + CAMERA)
        page.wait_for_selector("#camera[data-state=live]")
        overlay = page.locator("[data-part=overlay]")
        assert overlay.evaluate("image => image.decode().then(() => image.naturalWidth)") > 100
        assert float(overlay.evaluate("image => getComputedStyle(image).opacity")) == 0.45
        page.locator("[data-part=slider]").fill("80")
        assert float(overlay.evaluate("image => getComputedStyle(image).opacity")) == 0.8
        picture, over = (page.locator(f"[data-part={part}]").bounding_box() for part in ("video", "overlay"))
        assert picture == over
        context.set_offline(True)
        page.goto(computer.address + CAMERA)  # with the overlay of before
        page.wait_for_selector("#camera[data-state=live]")
        assert (
            page.locator("[data-part=overlay]").evaluate("image => image.decode().then(() => image.naturalWidth)") > 100
        )
    assert len(computer.stored()) == 1


def test_without_a_live_camera_a_photo_is_chosen_and_what_is_none_is_refused(phone, computer, tmp_path):
    from PIL import Image

    Image.new("RGB", (800, 600), (30, 90, 60)).save(tmp_path / "IMG_0001.jpg")
    (tmp_path / "film.gif").write_bytes(b"GIF89a" + bytes(300))
    with phone.opened(camera=False) as context:
        page = visit(context, computer.address + CAMERA)
        page.wait_for_selector("#camera[data-state=beside]")
        assert page.locator("[data-part=pick]").get_attribute("capture") == "environment"
        page.locator("[data-part=pick]").set_input_files(tmp_path / "film.gif")
        page.wait_for_selector("[data-part=told].wrong")
        page.locator("[data-part=pick]").set_input_files(tmp_path / "IMG_0001.jpg")
        page.wait_for_selector("#camera[data-state=taken]")
        page.locator("[data-part=keep]").click()
        page.wait_for_selector("#camera[data-state=done]")
    (entry,) = computer.stored()
    assert entry.payload.file_name == "IMG_0001.jpg"
    with Logbook.open(computer.logbook) as book:
        assert book.original(entry.payload.sha256).read_bytes() == (tmp_path / "IMG_0001.jpg").read_bytes()


def test_a_doubtful_photo_of_a_phones_own_format_is_shown_at_once_to_keep_or_take_again(phone, computer, tmp_path):
    add_photo(computer.logbook, file_of(shot("left", 1)), "left")
    (tmp_path / "a.heic").write_bytes(file_of(with_hand(shot("left", 2)), kind="HEIC"))
    (tmp_path / "b.heic").write_bytes(file_of(dark(shot("left", 3)), kind="HEIC"))
    with phone.opened(camera=False) as context:
        page = visit(context, computer.address + CAMERA)
        page.wait_for_selector("#camera[data-state=beside]")
        for name, button, state in (("a.heic", "retaken", "beside"), ("b.heic", "all-the-same", "done")):
            page.locator("[data-part=pick]").set_input_files(tmp_path / name)
            page.locator("#camera[data-state=unshown] [data-part=keep]").click()
            page.wait_for_selector("#camera[data-state=doubt]")
            assert "Look twice:" in page.locator("[data-part=told]").inner_text()
            page.locator(f"[data-part={button}]").click()
            page.wait_for_selector(f"#camera[data-state={state}]")
    first, *two = sorted(computer.stored(), key=lambda one: one.payload.file_name)
    assert {one.payload.file_name: one.payload.decided for one in (first, *two)} == {
        "a.heic": "set aside", "b.heic": "kept", "left.jpg": "",
    }  # fmt: skip
    assert first.note.startswith("taken again: something seems to be in front")


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
