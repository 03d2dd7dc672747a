"""A view drawn by mouse, by finger and by keyboard, kept, refused, and undone."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from littoral.acts.draw_view import see_view

pytestmark = pytest.mark.browser
TRIAL, VIEW = "sparing-or-full", "left"
PAGE = f"/trial/{TRIAL}/views/{VIEW}"


@pytest.fixture(scope="module")
def logbook(small_demo, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(small_demo.logbook, tmp_path_factory.mktemp("drawn") / "logbook"))


@pytest.fixture
def site(serve, logbook: Path) -> Iterator[str]:
    with serve(logbook) as address:
        yield address


def panes(page) -> dict:
    return json.loads(page.locator("input[name=panes]").input_value())


def stand(page) -> list[list[float]]:
    return panes(page)["left"]["regions"][0]["polygon"]


def choose(page, words: str):
    page.get_by_role("button", name=words, exact=False).and_(page.locator(".choose")).first.click()
    corners = page.locator(".corner")
    expect(corners.first).to_be_visible()
    return corners


def test_with_the_mouse_a_corner_a_new_corner_and_a_whole_shape_are_one_step_each_to_undo(site, visit):
    page = visit(site + PAGE, ready="html[data-ready]")
    corners = choose(page, "red stem plant")
    before = stand(page)
    at = corners.nth(1).locator(".dot").bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    page.mouse.down()
    page.mouse.move(at["x"] + 30, at["y"] - 12, steps=6)
    page.mouse.up()
    moved = stand(page)
    assert moved[1][0] > before[1][0] + 10
    assert moved[1][1] < before[1][1]
    assert [moved[0], *moved[2:]] == [before[0], *before[2:]]

    between = page.locator(".between").first.bounding_box()
    page.mouse.move(between["x"] + between["width"] / 2, between["y"] + between["height"] / 2)
    page.mouse.down()
    page.mouse.move(between["x"], between["y"] - 25, steps=4)
    page.mouse.up()
    assert len(stand(page)) == len(before) + 1

    undo = page.get_by_role("button", name="Undo", exact=True)
    undo.click()
    assert stand(page) == moved
    undo.click()
    assert stand(page) == before
    expect(undo).to_be_disabled()
    page.get_by_role("button", name="Redo").click()
    assert stand(page) == moved


def test_with_keys_alone_corners_move_are_added_and_removed(site, visit):
    page = visit(site + PAGE, ready="html[data-ready]")
    item = page.locator(".choose", has_text="red stem plant")
    item.focus()
    page.keyboard.press("Enter")
    first = page.locator(".corner").first
    expect(first).to_be_focused()
    before = stand(page)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    assert stand(page)[0] == [before[0][0] + 1, before[0][1] + 10]
    expect(page.locator(".corner").first).to_be_focused()
    page.keyboard.press("Insert")
    assert len(stand(page)) == len(before) + 1
    page.keyboard.press("Delete")
    assert len(stand(page)) == len(before)
    for _ in range(4):
        page.keyboard.press("Control+z")
    assert stand(page) == before
    # Never fewer than three, and glass keeps its four.
    page.locator(".corner").first.focus()
    for _ in range(len(before)):
        page.keyboard.press("Delete")
    assert len(stand(page)) == 3
    choose(page, "glass of left tank")
    page.keyboard.press("Delete")
    assert len(panes(page)["left"]["corners"]) == 4
    expect(page.locator("[data-part=said]")).to_contain_text("four corners")


def drag(touch, x: float, y: float, *, across: float, down: float) -> None:
    """Put a finger down, move it in six steps, and lift it."""
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 7):
        point = {"x": x + across * step / 6, "y": y + down * step / 6}
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_with_a_finger_on_a_phone(site, chromium, logbook):
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    try:
        page = context.new_page()
        page.goto(site + PAGE)
        page.locator("html[data-ready]").wait_for()
        choose(page, "red stem plant")
        before = stand(page)
        dot = page.locator(".corner").nth(2)
        dot.scroll_into_view_if_needed()
        box = dot.locator(".reach").bounding_box()
        assert box["width"] >= 24  # WCAG 2.2, 2.5.8: at least 24 by 24 CSS pixels
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        touch = context.new_cdp_session(page)
        drag(touch, x, y, across=20, down=15)
        page.wait_for_function(
            """before => {
              const drawn = JSON.parse(document.querySelector('input[name=panes]').value);
              return drawn.left.regions[0].polygon[2][0] > before + 5;
            }""",
            arg=before[2][0],
        )
        # The whole of the chosen region goes with the finger, and comes back in one step.
        held = stand(page)
        area = page.locator(".shape.stand.chosen").bounding_box()
        drag(touch, area["x"] + area["width"] / 2, area["y"] + 0.4 * area["height"], across=24, down=-18)
        moved = stand(page)
        steps = {(round(x - a), round(y - b)) for (x, y), (a, b) in zip(moved, held, strict=True)}
        assert len(steps) == 1
        (across, down) = steps.pop()
        assert across > 24 > 0 > -18 > down  # pixels of the photo are smaller than those of the phone
        page.get_by_role("button", name="Undo", exact=True).tap()
        assert stand(page) == held
        # A finger on a region that is not chosen moves the page, as anywhere, and chooses the region.
        whole = panes(page)
        other = page.locator(".shape.stand:not(.chosen)").last.bounding_box()
        drag(touch, other["x"] + other["width"] / 2, other["y"] + other["height"] / 2, across=0, down=-60)
        assert panes(page) == whole
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    finally:
        context.close()


def test_what_is_drawn_is_kept_from_its_day_on_and_can_be_undone(site, visit, logbook):
    page = visit(site + PAGE, ready="html[data-ready]")
    choose(page, "red stem plant")
    page.keyboard.press("Shift+ArrowLeft")
    wanted = stand(page)
    page.get_by_label("From which day of the trial").fill("14")
    page.get_by_role("button", name="Keep this drawing").click()
    expect(page.get_by_role("status").filter(has_text="Kept.")).to_be_visible()
    seen = see_view(logbook, TRIAL, VIEW)
    assert seen.from_day == 14
    assert seen.panes["left"]["regions"][0]["polygon"] == wanted
    page.get_by_role("button", name="Undo it").click()
    expect(page.get_by_role("status").filter(has_text="Undone")).to_be_visible()
    assert see_view(logbook, TRIAL, VIEW).since == ((None, None),)


def test_what_is_refused_stays_as_it_was_drawn(site, visit, logbook):
    page = visit(site + PAGE, ready="html[data-ready]", expected="422")
    choose(page, "red stem plant")
    page.keyboard.press("Shift+ArrowLeft")
    wanted = stand(page)
    page.get_by_label("From which day of the trial").fill("9000")
    page.get_by_role("button", name="Keep this drawing").click()
    expect(page.get_by_role("alert")).to_contain_text("The day it holds from is 9000. The trial has the days 0 to")
    page.locator("html[data-ready]").wait_for()  # another page now: it draws once its script has run
    assert stand(page) == wanted
    assert see_view(logbook, TRIAL, VIEW).since == ((None, None),)


def test_a_region_is_added_and_corners_are_proposed(site, visit):
    page = visit(site + PAGE, ready="html[data-ready]")
    page.get_by_label("What", exact=True).select_option("stone")
    page.get_by_label("Which", exact=True).fill("flat stone")
    page.get_by_role("button", name="Add it").click()
    added = panes(page)["left"]["regions"][-1]
    assert added["stone"] == "flat stone"
    assert len(added["polygon"]) == 4
    before = panes(page)["left"]["corners"]
    page.get_by_role("button", name="Propose the glass corners").click()
    expect(page.locator("[data-part=said]")).to_contain_text("Corners are proposed for one tank")
    after = panes(page)["left"]["corners"]
    assert (
        max(abs(a - b) for one, other in zip(after, before, strict=True) for a, b in zip(one, other, strict=True)) < 30
    )
