"""Every page of the application, measured by axe-core in both themes on a phone and on a desk: nothing is found wrong.

The pages are taken from the application's own routes: a new page without a visit fails here.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Error, Page
from tests.browser.every_page.axe import said, violations
from tests.browser.every_page.visits import LEADS_ON, NO_PAGES, NOT_PAGES, VISITS, Book, Visit
from tests.browser.every_page.walk import Site, open_folded, open_visit, sites, window

from littoral.web.app import ROUTES

LOOKS = (("light", 1440), ("dark", 390), ("light", 390), ("dark", 1440))
SLOWEST = ("color-contrast",)
"""The rule that takes longest, left to the slow proof."""
NARROW, WIDE, ZOOMED = 320, 2560, 720
"""The narrowest phone and the widest screen; 200 % zoom of 1440 px leaves 720."""
OWN_SCROLL = """() => [...document.querySelectorAll("table, pre, .charts svg")]
  .filter((one) => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .filter((one) => one.checkVisibility() && !one.closest("[tabindex], .drawing"))
  .map((one) => one.outerHTML.slice(0, 90))"""

RINGLESS = """() => {
  const one = document.activeElement;
  if (!one || one === document.body || one.matches(".corner")) return ""; // a corner's dot changes colour instead
  const style = (part) => getComputedStyle(part);
  const ring = (part) => part && style(part).outlineStyle !== "none" && parseFloat(style(part).outlineWidth) >= 2;
  const shown = [one, one.nextElementSibling, one.closest("label"), one.closest(".step-of, .pick, .button")];
  return shown.some(ring) ? "" : one.outerHTML.slice(0, 90);
}"""
STOPS = 40
"""How many stops of the Tab key are looked at on a page."""


def test_every_page_has_a_visit() -> None:
    pages = {
        route.path
        for route in ROUTES
        if "GET" in (route.methods or ()) and not route.path.endswith(NOT_PAGES) and route.path not in NO_PAGES
    }
    assert pages - {visit.route for visit in VISITS} == set()
    assert {visit.route for visit in VISITS} - pages == {""}, "a visit to a page there is not"


def test_every_form_that_can_be_refused_has_a_visit_that_shows_it() -> None:
    sent = {
        route.path for route in ROUTES if "POST" in (route.methods or ()) and not route.path.endswith(NOT_PAGES)
    } - LEADS_ON
    assert sent - {visit.sent for visit in VISITS} == {"/trial/{key}/views/{view}"}, "that one is sent by its script"


@pytest.fixture(scope="module")
def books(demo_site, small_demo, tmp_path_factory) -> Iterator[dict[Book, Site]]:
    with sites(small_demo.logbook, tmp_path_factory.mktemp("every-page"), demo_at=demo_site) as at:
        yield at


def look_at(
    page: Page, visit: Visit, at: dict[Book, Site], widths: tuple[int, ...], without: tuple[str, ...]
) -> list[str]:
    """Open a page, fold everything open, and return all that is wrong with it."""
    status = open_visit(page, visit, at)
    found = [] if status == visit.status else [f"answered {status}, expected {visit.status}"]
    open_folded(page)
    found += said(violations(page, without=without))
    size = page.viewport_size
    assert size is not None
    for width in (size["width"], *widths):
        page.set_viewport_size({"width": width, "height": size["height"]})
        over = page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
        found += [f"{over} px wider than a window of {width} px"] if over > 0 else []
        found += [f"beyond the edge at {width} px: {one}" for one in page.evaluate(OWN_SCROLL)]
    page.set_viewport_size(size)
    return found


def walk(
    chromium: Browser, books: dict[Book, Site], visits: list[Visit], looks: tuple[tuple[str, int], ...], *, whole: bool
) -> None:
    """Look at every page, in one of the looks in turn; `whole` measures contrast and further widths too."""
    wrong: dict[str, list[str]] = {}
    contexts = [window(chromium, theme=theme, width=width) for theme, width in looks]
    pages = [context.new_page() for context in contexts]
    errors: list[str] = []
    for page in pages:
        page.on("pageerror", lambda error: errors.append(str(error)))
    for place, visit in enumerate(visits):
        (theme, width), page = looks[place % len(looks)], pages[place % len(looks)]
        try:
            others = ((NARROW,) if width == 390 else (WIDE, ZOOMED)) if whole else ()
            found = look_at(page, visit, books, others, () if whole else SLOWEST)
        except Error as error:  # the other pages are looked at none the less
            found = [str(error)]
        if found or errors:
            wrong[f"{visit.name} {theme} {width}"] = [*found, *errors]
        errors.clear()
    for context in contexts:
        context.close()
    assert wrong == {}


@pytest.mark.browser
def test_every_page_once(chromium: Browser, books: dict[Book, Site]) -> None:
    """Each page in one look, the four looks in turn; the contrast of all colours in use is tests/web/test_look.py's."""
    walk(chromium, books, [visit for visit in VISITS if not visit.like], LOOKS, whole=False)


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.parametrize("look", LOOKS, ids=[f"{theme}-{width}" for theme, width in LOOKS])
def test_every_page_in_every_look(chromium: Browser, books: dict[Book, Site], look: tuple[str, int]) -> None:
    walk(chromium, books, list(VISITS), (look,), whole=True)


@pytest.mark.browser
@pytest.mark.slow
def test_whatever_has_the_focus_shows_it(chromium: Browser, books: dict[Book, Site]) -> None:
    """By the Tab key from the top of each page: every stop has a ring at least 2 px wide."""
    context = window(chromium, theme="light", width=1440)
    page = context.new_page()
    ringless: dict[str, list[str]] = {}
    for visit in VISITS:
        open_visit(page, visit, books)
        found = []
        for _ in range(STOPS):
            page.keyboard.press("Tab")
            found.append(page.evaluate(RINGLESS))
        if any(found):
            ringless[visit.name] = [one for one in found if one]
    context.close()
    assert ringless == {}
