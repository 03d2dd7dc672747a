"""Mixing and feeding in real Chromium: type an amount and see what follows, ask why, be stopped, go on to the week."""

from __future__ import annotations

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser
AWAKE = "#sheet[data-awake]"
PATHS = ("/mix", "/water", "/week", "/costs")


def figure(page: Page, key: str):
    return page.locator(f"[data-figure='{key}']")


def tops(page: Page) -> list[int]:
    """Where every field lies on the page, in whole pixels."""
    return page.evaluate(
        "() => [...document.querySelectorAll('.amount')]"
        ".map(one => Math.round(one.getBoundingClientRect().top + scrollY))"
    )


def test_what_is_typed_moves_what_follows(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready=AWAKE)
    dose = page.get_by_label("one dose", exact=True)
    expect(figure(page, "adds.nitrate")).to_have_text("2.12 mg/L")
    dose.press("ControlOrMeta+a")
    page.keyboard.type("4.4")
    # twice the dose adds twice as much
    expect(figure(page, "adds.nitrate")).to_have_text("4.24 mg/L")
    expect(figure(page, "dose.nitrate")).to_have_text("4.24 mg/L")
    assert dose.input_value() == "4.4"
    assert page.evaluate("() => document.activeElement.id") == "dose"
    page.keyboard.press("Tab")
    expect(dose).to_have_value("4.4 mL")  # how the number alone was taken
    page.reload()
    page.wait_for_selector(AWAKE)
    expect(figure(page, "adds.nitrate")).to_have_text("4.24 mg/L")


def test_why_opens_in_place_by_the_keyboard_and_stays_open(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready=AWAKE)
    why = page.locator("details[data-why='adds.nitrate']")
    why.locator("summary").focus()
    page.keyboard.press("Enter")
    steps = why.locator("li")
    expect(steps.last).to_contain_text("40.477 mg/mL × 2.2 mL / 42 L = 2.12 mg/L")
    number, derived = figure(page, "adds.nitrate").bounding_box(), why.locator(".derived").bounding_box()
    assert 0 < derived["y"] - number["y"] < 60  # right below the line it stands in
    assert derived["width"] > 600
    page.get_by_label("one dose", exact=True).fill("4.4 mL")
    expect(steps.last).to_contain_text("40.477 mg/mL × 4.4 mL / 42 L = 4.24 mg/L")
    expect(why).to_have_attribute("open", "")


def test_a_why_in_a_table_opens_across_it_and_keeps_the_columns(demo_site, visit):
    page = visit(f"{demo_site}/week", ready=AWAKE)
    before = figure(page, "peak.nitrate").bounding_box()["x"], figure(page, "mean.nitrate").count()
    why = page.locator("details[data-why='trough.nitrate']")
    why.locator("summary").click()
    assert why.locator(".derived").bounding_box()["width"] > 600
    assert (figure(page, "peak.nitrate").bounding_box()["x"], figure(page, "mean.nitrate").count()) == before


def test_a_mistake_is_told_at_its_field_and_old_numbers_step_back(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready=AWAKE)
    salt = page.get_by_label("salt 1", exact=True)
    salt.fill("MgSO4")
    told = page.locator("[data-field='salts.1.of'] .told")
    expect(told).to_contain_text("MgSO4·7H2O")
    expect(told).to_be_visible()
    assert salt.get_attribute("aria-invalid") == "true"
    expect(page.locator(".sheet[data-behind]")).to_have_count(1)
    salt.fill("MgSO4·7H2O")
    expect(told).to_have_text("")
    expect(page.locator(".sheet[data-behind]")).to_have_count(0)
    expect(figure(page, "in.magnesium")).to_be_visible()


def test_the_unit_that_bites_is_told_at_its_field(demo_site, visit):
    page = visit(f"{demo_site}/water", ready=AWAKE)
    page.get_by_label("level, amount 4").focus()
    trap = page.locator("[data-field='levels.4.is'] .trap")
    expect(trap).to_be_visible()
    expect(trap).to_contain_text("NO3-N")


def test_a_dose_past_a_limit_is_stopped_and_can_be_overridden_deliberately(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready=AWAKE)
    page.get_by_label("one dose", exact=True).fill("200 mL")
    stop = page.locator(".stop")
    expect(stop.get_by_role("heading")).to_have_text("Stopped")
    expect(page.get_by_text("Nothing to weigh while the dose is stopped.")).to_be_visible()
    reason = page.get_by_label("the reason to override the limit")
    reason.fill("a tub without animals")
    expect(stop.get_by_role("heading")).to_have_text("Stopped")
    page.get_by_role("button", name="Override the limit").click()
    expect(stop.get_by_role("heading")).to_have_text("Overridden")
    expect(stop.locator("q")).to_have_text("a tub without animals")
    with page.expect_download() as download:
        page.get_by_role("link", name="Weigh-out list").click()
    assert download.value.suggested_filename == "weigh-out.csv"
    page.get_by_label("one dose", exact=True).fill("2000 mL")  # passes more limits than were overridden
    expect(stop.get_by_role("heading")).to_have_text("Stopped")
    page.get_by_label("one dose", exact=True).fill("2 mL")
    expect(stop).to_have_count(0)


def test_rows_come_and_go_without_leaving_the_page(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready=AWAKE)
    page.evaluate("() => { window.same = true; }")
    page.get_by_role("button", name="+ another salt").click()
    expect(page.get_by_label("salt, amount 4")).to_be_focused()
    page.keyboard.type("5")
    page.get_by_label("salt 4", exact=True).fill("MgSO4·7H2O")
    expect(figure(page, "in.magnesium")).to_be_visible()
    page.get_by_role("button", name="take away K2SO4").click()
    expect(page.get_by_label("salt 3", exact=True)).to_have_count(0)
    expect(figure(page, "in.magnesium")).to_be_visible()
    assert page.evaluate("() => window.same") is True
    page.go_back()
    expect(page.get_by_label("salt 3", exact=True)).to_have_value("K2SO4")


def test_a_week_draws_its_levels_and_takes_advice(demo_site, visit):
    page = visit(f"{demo_site}/week", ready=AWAKE)
    line = page.locator("figure.curve", has_text="nitrate").locator("polyline")
    before = line.get_attribute("points")
    page.get_by_label("dose 1", exact=True).fill("4 strokes")
    page.wait_for_function(
        "before => document.querySelector('figure.curve polyline').getAttribute('points') !== before", arg=before
    )
    page.get_by_role("button", name="+ a band").click()
    page.get_by_label("nutrient to keep").fill("nitrate")
    page.get_by_label("where it shall stay").fill("5 to 20 mg/L")
    expect(page.locator("figure.curve .band")).to_have_count(1)
    page.get_by_role("button", name="Advise me").click()
    expect(page.locator("#advised")).to_contain_text("proven")
    page.get_by_role("link", name="Take these doses over").click()
    page.wait_for_selector(AWAKE)
    assert page.get_by_label("dose 1", exact=True).input_value() != "4 strokes"


def test_from_the_shelf_to_the_purse(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready=AWAKE)
    page.get_by_role("link", name="On to a week with this bottle").click()
    page.wait_for_selector(AWAKE)
    assert page.get_by_label("short name of bottle 1").input_value() == "macro-stock"
    page.get_by_role("link", name="On to what this week costs").click()
    page.wait_for_selector(AWAKE)
    expect(figure(page, "per-week")).to_be_visible()


def test_a_trial_fills_the_sheets(demo_site, visit):
    page = visit(f"{demo_site}/mix?trial=sparing-or-full", ready=AWAKE)
    page.get_by_role("link", name="Plan a week", exact=True).click()
    page.wait_for_selector(AWAKE)
    expect(page.locator(".head")).to_contain_text("Begun from the trial")
    assert page.get_by_label("net volume", exact=True).input_value() != ""
    page.get_by_label("net volume", exact=True).fill("100 L")
    page.wait_for_url("**/week?trial=sparing-or-full*net_volume=100+L")


FIRST_AMOUNT = {
    "/mix": "one dose",
    "/water": "how much water to build",
    "/week": "net volume",
    "/costs": "net volume of one tank",
}


@pytest.mark.parametrize("width", [390, 768, 1440])
@pytest.mark.parametrize("path", PATHS)
def test_nothing_moves_while_an_amount_is_typed_and_nothing_scrolls_sideways(demo_site, width, path, visit):
    page = visit(demo_site + path, width=width, ready=AWAKE, reduced_motion="reduce")
    amount = page.get_by_label(FIRST_AMOUNT[path], exact=True)
    amount.fill("2.1 mL" if path == "/mix" else "21 L")
    page.wait_for_url(f"**{path}?*")

    def typed(key: str) -> tuple[list[int], int]:
        """Type one figure over the one before it; give where all fields lie on the page, and this one on the screen."""
        page.keyboard.press("Backspace")
        with page.expect_response(f"**{path}.json") as answer:
            page.keyboard.type(key)
        answer.value.finished()
        page.wait_for_function("() => !document.querySelector('.sheet[data-behind]')")
        return tops(page), round(amount.bounding_box()["y"])

    amount.press("End")
    for _ in range(3 if path == "/mix" else 2):  # before the unit
        page.keyboard.press("ArrowLeft")
    first = typed("2")
    assert [typed(key) for key in "345"] == [first] * 3
    here = page.evaluate("() => [...document.querySelectorAll('.amount')].indexOf(document.activeElement.parentNode)")
    page.keyboard.type("5")  # ten times as much may lengthen what is said below, never what is above or here
    page.wait_for_timeout(300)
    assert tops(page)[: here + 1] == first[0][: here + 1]
    assert round(amount.bounding_box()["y"]) == first[1]
    page.evaluate("() => document.querySelectorAll('details').forEach(one => { one.open = true; })")
    assert page.evaluate("() => document.documentElement.scrollWidth") == width


@pytest.mark.parametrize("path", PATHS)
def test_every_control_has_a_name_and_is_large_enough_to_hit(demo_site, path, visit):
    page = visit(demo_site + path, width=390, ready=AWAKE)
    nameless = page.evaluate(
        """() => [...document.querySelectorAll('main a, main button, main input:not([type=hidden]), select, summary')]
          .filter((one) => !(one.getAttribute('aria-label') || one.textContent.trim()))
          .map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert nameless == []
    # WCAG 2.2, success criterion 2.5.8: a target is 24 by 24 CSS pixels
    small = page.evaluate(
        """() => [...document.querySelectorAll('main button, main input:not([type=hidden]), select, summary')]
          .filter((one) => one.offsetParent && !one.classList.contains('unseen'))
          .map((one) => [one.outerHTML.slice(0, 60), one.getBoundingClientRect()])
          .filter(([, box]) => Math.round(box.width) < 24 || Math.round(box.height) < 24)
          .map(([text, box]) => `${text} ${box.width} x ${box.height}`)"""
    )
    assert small == []


def test_without_script_a_sheet_is_a_plain_form(demo_site, visit):
    page = visit(f"{demo_site}/mix", ready="#sheet", java_script_enabled=False)
    page.get_by_label("one dose", exact=True).fill("4.4 mL")
    page.locator(".again").click()
    expect(figure(page, "adds.nitrate")).to_have_text("4.24 mg/L")
    page.get_by_role("button", name="+ another salt").click()
    expect(page.get_by_label("salt 4", exact=True)).to_be_visible()
    page.locator("details[data-why='adds.nitrate'] summary").click()
    expect(page.locator("details[data-why='adds.nitrate'] li").last).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_words_of_a_verdict_can_be_read(demo_site, scheme, visit):
    page = visit(f"{demo_site}/mix?dose=200+mL", color_scheme=scheme, ready=AWAKE)
    colours = page.evaluate(
        """() => [...document.querySelectorAll('.stop .verdict, .stop h3')].map((one) => getComputedStyle(one).color)"""
    )
    paper = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
    assert colours
    for colour in colours:
        assert _contrast(colour, paper) >= 4.5  # WCAG 2.2, success criterion 1.4.3


def _contrast(one: str, other: str) -> float:
    def luminance(colour: str) -> float:
        parts = [int(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
