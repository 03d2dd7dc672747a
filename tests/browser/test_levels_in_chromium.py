"""Levels in real Chromium: one day in every chart; a dose dragged, stepped or typed moves its bands, and back."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import Page, expect
from tests.browser.conftest import served

pytestmark = pytest.mark.browser
LEVELS = "/trial/two-tanks/levels"
READY = "#now[data-ready]"


@pytest.fixture(scope="module")
def levels_site(levels_logbook) -> Iterator[str]:
    """The small trial of levels on its page."""
    with served(levels_logbook) as address:
        yield address


@pytest.fixture
def levels(visit, levels_site) -> Page:
    return visit(levels_site + LEVELS, ready=READY)


def drawing(page: Page, nutrient: str) -> str:
    return page.locator(f"[data-chart='bands-{nutrient}'] canvas").evaluate("canvas => canvas.toDataURL()")


def open_drawer(page: Page):
    """Open the what-if of the left tank and give its first bar, the macro dose."""
    page.get_by_text("What if a tank were fed otherwise?").click()
    return page.get_by_role("slider", name=re.compile("macro stock")).first


def shown_words(page: Page) -> list[str]:
    text = page.locator("#what-if").get_attribute("data-shown")
    return json.loads(text) if text else []


def settled_words(page: Page) -> list[str]:
    """Return what is said once the bars rest and limits were looked at too."""
    page.wait_for_selector("#what-if[data-limits]")
    return shown_words(page)


def level_in(words: list[str]) -> float:
    return float(re.search(r"change ([\d.]+) ", words[0])[1])


def test_a_dose_dragged_by_the_pointer_moves_the_band(levels):
    bar = open_drawer(levels)
    before = drawing(levels, "nitrate")
    box = bar.bounding_box()
    x = box["x"] + box["width"] / 2
    levels.mouse.move(x, box["y"] + 70)
    levels.mouse.down()
    levels.mouse.move(x, box["y"] + 30, steps=5)
    levels.mouse.up()
    words = settled_words(levels)
    dosed = float(bar.get_attribute("aria-valuenow"))
    assert dosed > 4.4
    assert levels.locator(".lever input").first.input_value() == f"{dosed:g}"
    now, plan = re.search(r"change ([\d.]+) \(.* instead of ([\d.]+) mg/L", words[0]).groups()
    assert float(now) > float(plan)
    expect(levels.locator("[data-follows]")).to_contain_text("Nitrate: before")
    assert drawing(levels, "nitrate") != before
    after = bar.bounding_box()
    assert (after["x"], after["y"]) == (box["x"], box["y"])  # the bar stays under the finger


def test_a_dose_stepped_by_the_keyboard_moves_the_band_and_back(levels):
    bar = open_drawer(levels)
    bar.focus()
    before = drawing(levels, "nitrate")
    for key in ("PageUp", "ArrowUp", "ArrowDown", "PageUp"):
        levels.keyboard.press(key)
    assert float(bar.get_attribute("aria-valuenow")) == pytest.approx(4.4 + 10 * 0.3)
    assert bar.get_attribute("aria-valuetext") == "7.4 mL"
    first = settled_words(levels)
    levels.keyboard.press("Home")
    none = settled_words(levels)
    assert level_in(none) < level_in(first)
    levels.get_by_role("button", name="Back to the plan").click()
    expect(levels.locator("[data-follows]")).to_contain_text("As planned")
    assert bar.get_attribute("aria-valuetext") == "4.4 mL"
    levels.wait_for_function(
        "before => document.querySelector(\"[data-chart='bands-nitrate'] canvas\").toDataURL() === before", arg=before
    )


def test_a_dose_may_be_typed_and_a_slip_is_marked(levels):
    open_drawer(levels)
    field = levels.get_by_label("macro stock", exact=True).first
    field.fill("12,5")
    settled_words(levels)
    assert levels.get_by_role("slider").first.get_attribute("aria-valuenow") == "12.5"
    field.fill("a lot")
    assert field.get_attribute("aria-invalid") == "true"
    field.blur()
    assert field.input_value() == "12.5"


def test_a_limit_that_would_be_passed_is_told_with_care(levels):
    open_drawer(levels)
    levels.get_by_label("macro stock", exact=True).first.fill("40")
    stop = levels.locator("[data-follows] .stop")
    expect(stop).to_contain_text("This may pass a published limit")
    expect(stop).to_contain_text("Not an aquarium limit.")
    expect(stop).to_contain_text("test before you act")


def test_another_tank_has_its_own_bars(levels):
    open_drawer(levels)
    levels.get_by_label("macro stock", exact=True).first.fill("12")
    settled_words(levels)
    levels.get_by_role("group", name="Tank", exact=True).get_by_label("right tank").check()
    bar = levels.get_by_role("slider", name=re.compile("macro stock"))
    expect(bar).to_have_count(1)  # those of the other tank are hidden
    assert bar.get_attribute("aria-valuetext") == "1.1 mL"
    expect(levels.locator("[data-follows]")).to_contain_text("As planned")


def test_a_finger_drags_a_bar_on_a_telephone(levels_site, visit):
    page = visit(levels_site + LEVELS, ready=READY, width=390, height=844, has_touch=True, is_mobile=True)
    bar = open_drawer(page)
    box = bar.bounding_box()
    session = page.context.new_cdp_session(page)
    x = box["x"] + box["width"] / 2

    def touch(kind: str, *points: float) -> None:
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for y in points]})

    touch("touchStart", box["y"] + 70)
    for y in (60, 50, 40, 25):
        touch("touchMove", box["y"] + y)
    touch("touchEnd")
    assert settled_words(page)
    assert float(bar.get_attribute("aria-valuenow")) > 4.4
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390


def test_one_day_for_all_charts_address_and_twin_view(levels):
    link = levels.get_by_role("link", name="See the tanks on this day")
    label = levels.locator("[data-show=label]")
    start = int(label.inner_text().removeprefix("Day "))
    before = drawing(levels, "nitrate"), drawing(levels, "potassium")
    levels.locator("body").press("ArrowLeft")
    expect(label).to_have_text(f"Day {start - 1}")
    assert link.get_attribute("href") == f"/trial/two-tanks?day={start - 1}#twin"
    levels.wait_for_url(re.compile(rf"day={start - 1}$"))
    levels.wait_for_function(
        "before => ['nitrate', 'potassium'].every((one, at) => "
        "document.querySelector(`[data-chart='bands-${one}'] canvas`).toDataURL() !== before[at])",
        arg=list(before),
    )
    levels.locator("[data-chart='bands-nitrate'] canvas").click(position={"x": 200, "y": 100})
    expect(label).not_to_have_text(f"Day {start - 1}")
    levels.get_by_role("link", name="One day on").click()
    levels.reload()
    levels.wait_for_selector(READY)
    assert "day=" in levels.url


def test_leaf_signs_and_the_standard_by_keyboard(levels):
    levels.get_by_label("Old leaves turn yellow all over").check()
    levels.get_by_role("button", name="What may be behind it?").press("Enter")
    levels.wait_for_selector("#causes")
    assert "sign=old-yellow" in levels.url
    summary = levels.locator(".standard summary")
    summary.focus()
    levels.keyboard.press("Enter")
    expect(levels.locator(".standard .care")).to_contain_text("Gloves and eye protection")


@pytest.mark.slow
def test_other_priors_come_when_asked_for(levels):
    levels.locator("#sure summary").first.click()
    levels.get_by_role("button", name="Try other priors").click()
    expect(levels.locator("#sure")).to_contain_text("priors half as wide", timeout=120_000)
