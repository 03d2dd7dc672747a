"""Care at the bench in a real browser: one tap, two taps, undo, forms with script and without."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import expect

from littoral.logbook.book import Logbook
from littoral.trial.entries import Care, Dose, Score, Trim
from littoral.trial.written.reader import read_trial

pytestmark = pytest.mark.browser
AWAKE = "html[data-ready]"
TODAY = datetime.now(UTC).date()
TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8").replace(
    "start = 2026-03-02", f"start = {TODAY - timedelta(days=10)}"
).replace('zone = "Europe/Berlin"', 'zone = "UTC"').replace(
    'on = ["Sun", "Wed"]', 'on = "every day"'
) + '[schedule]\ntests = [{ of = ["nitrate"], on = "every day" }]\nphotos = [{ on = "every day", at = "19:00" }]\n'


@pytest.fixture
def site(tmp_path: Path, serve) -> Iterator[tuple[str, Path]]:
    folder = tmp_path / "logbook"
    trial, faults = read_trial(TEXT, where="trial.toml")
    assert trial is not None, faults
    with Logbook.create(folder) as book:
        book.take_in(trial, TEXT)
    with serve(folder) as address:
        yield address, folder


def payloads(folder: Path) -> list[object]:
    with Logbook.open(folder) as book:
        return [entry.payload for entry in book.entries("sparing-or-full")]


def dose(page, tank: str):
    return page.locator(f"#tank-{tank} .task", has_text="macro stock").first


def test_one_tap_records_and_undo_brings_it_back(site, visit):
    address, folder = site
    page = visit(f"{address}/today", width=390, height=844, ready=AWAKE)
    dose(page, "left").get_by_role("button", name="Done").click()
    expect(page.locator("#said")).to_contain_text("Recorded: left tank: dosed 1.1 mL (1 stroke) macro stock")
    expect(dose(page, "left")).to_have_attribute("data-state", "done")
    assert payloads(folder) == [Dose(of="macro", ml=1.1)]
    dose(page, "left").get_by_role("button", name="Undo").click()
    expect(dose(page, "left")).to_have_attribute("data-state", "due")
    assert payloads(folder) == []


def test_two_taps_record_what_really_happened(site, visit):
    address, folder = site
    page = visit(f"{address}/today", width=390, height=844, ready=AWAKE)
    dose(page, "right").get_by_text("Otherwise").click()
    dose(page, "right").get_by_role("button", name="Given twice").click()
    expect(dose(page, "right")).to_have_attribute("data-state", "done otherwise")
    assert payloads(folder) == [Dose(of="macro", ml=2.2)]


def test_a_wrong_amount_is_told_where_it_was_typed(site, visit):
    address, folder = site
    page = visit(f"{address}/today", width=390, height=844, ready=AWAKE, expected="422")
    test = page.locator("#tank-left .task", has_text="test nitrate").first
    test.get_by_role("textbox").fill("ten")
    test.get_by_role("button", name="Record").click()
    expect(test.locator(".notice")).to_contain_text('is "ten"')
    expect(test.get_by_role("textbox")).to_have_value("ten")
    assert payloads(folder) == []


def test_everything_to_press_is_large_enough_for_wet_hands(site, visit):
    address, _ = site
    for path in ("/today", "/entry/dose?tank=left", "/entry/score?tank=left"):
        page = visit(f"{address}{path}", width=390, height=844, ready=AWAKE)
        small = page.evaluate(
            """() => [...document.querySelectorAll(
                 '.bench button, .bench summary, .bench a, .bench input:not([type=hidden]), .bench select')]
               .filter((one) => one.checkVisibility())
               .map((one) => [one.textContent.trim() || one.name, one.getBoundingClientRect().height])
               .filter(([, height]) => height < 48)"""
        )
        assert small == [], path
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_form_joins_its_parts_as_the_server_does(site, visit):
    address, folder = site
    page = visit(f"{address}/entry/trim?trial=sparing-or-full&tank=left&what=red-stem", ready=AWAKE)
    page.get_by_label("Cut down to").fill("9")
    page.get_by_label("Minutes it took").fill("6 min")
    page.get_by_role("button", name="Record it").click()
    page.wait_for_url("**/today**")
    expect(page.locator(".did")).to_contain_text("trimmed red stem plant to 9 cm")
    assert payloads(folder) == [Trim("red-stem", 9.0, None, 6.0)]


def test_a_score_is_tapped_by_its_picture(site, visit):
    address, folder = site
    page = visit(f"{address}/entry/score?trial=sparing-or-full&tank=left", width=390, height=844, ready=AWAKE)
    page.locator(".step-of", has_text="some: seen at a glance").click()
    page.get_by_role("button", name="Record it").click()
    page.wait_for_url("**/today**")
    assert payloads(folder) == [Score("algae", 2)]


def test_faults_of_a_form_stand_beside_the_fields_and_nothing_is_lost(site, visit):
    address, folder = site
    page = visit(f"{address}/entry/dose?trial=sparing-or-full&tank=left&what=macro", ready=AWAKE, expected="422")
    page.get_by_label("How much").fill("3 spoons")
    page.get_by_role("button", name="Record it").click()
    page.wait_for_selector("#amount-wrong")
    expect(page.get_by_label("How much")).to_have_value("3 spoons")
    page.get_by_label("How much").fill("3 mL")
    page.get_by_role("button", name="Record it").click()
    page.wait_for_url("**/today**")
    assert payloads(folder) == [Dose(of="macro", ml=3.0)]


def test_without_script_the_same_buttons_work(site, visit):
    address, folder = site
    page = visit(f"{address}/today", width=390, height=844, ready="#tank-left", java_script_enabled=False)
    dose(page, "left").get_by_role("button", name="Done").click()
    expect(page.locator(".did")).to_contain_text("Recorded: left tank: dosed 1.1 mL")
    dose(page, "right").get_by_text("Otherwise").click()
    dose(page, "right").get_by_role("button", name="Missed").click()
    expect(dose(page, "right")).to_have_attribute("data-state", "missed")
    assert len(payloads(folder)) == 2


def test_the_clock_counts_minutes_of_care_through_a_reload(site, visit):
    address, folder = site
    page = visit(f"{address}/today", width=390, height=844, ready=AWAKE)
    page.locator("#tank-left [data-timer]").click()
    page.evaluate("""() => { const key = Object.keys(localStorage).find((one) => one.startsWith("littoral-clock"));
      localStorage.setItem(key, String(Date.now() - 7 * 60_000)); }""")
    page.reload()
    page.wait_for_selector(AWAKE)
    page.get_by_role("button", name="Stop and record 7 min").click()
    expect(page.locator("#tank-left .minutes")).to_contain_text("7 min of care today")
    assert len(payloads(folder)) == 1


def test_the_clock_stopped_by_a_double_tap_counts_its_minutes_once(site, visit):
    address, folder = site
    page = visit(f"{address}/today", width=390, height=844, ready=AWAKE)
    timer = page.locator("#tank-left [data-timer]")
    timer.click()
    expect(timer).to_have_text("Stop and record 1 min")
    timer.evaluate("(button) => { button.click(); button.click(); }")
    expect(timer).to_have_text("Start the clock")
    expect(page.locator("#tank-left [data-minutes]")).to_have_text("1 min of care today")
    assert payloads(folder) == [Care(1.0)]


def test_a_day_to_come_wakes_without_a_fault(site, visit):
    address, _ = site
    day = TODAY + timedelta(days=2)
    page = visit(f"{address}/today?day={day}", width=390, height=844, ready=AWAKE)
    expect(page.get_by_text("still to come")).to_be_visible()
