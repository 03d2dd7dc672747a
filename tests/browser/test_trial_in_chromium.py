"""The golden path: open a trial, scrub its twin view, read a finding, follow its evidence to a day."""

from __future__ import annotations

import re

import httpx
import pytest

pytestmark = pytest.mark.browser
TRIAL = "/trial/sparing-or-full"
LABEL = "[data-show=label]"
DRAWN = ".charts[data-drawn]"


def day_of(page) -> int:
    return int(re.fullmatch(r"Day (\d+)", page.locator(LABEL).inner_text())[1])


def sources(page) -> list[str]:
    return [image.get_attribute("src") for image in page.locator(".twin img").all()]


def wait_for_pictures_of(page, day: int) -> None:
    """Wait until both tanks show what the data says they show on `day`, decoded."""
    moments = page.evaluate("async () => (await fetch(document.querySelector('#twin').dataset.moments)).json()")
    wanted = {tank: looks["even"] for tank, looks in next(m for m in moments if m["day"] == day)["tanks"].items()}
    # The predicate is not async: a promise counts as true, and nothing would be waited for.
    page.wait_for_function(
        """(wanted) => [...document.querySelectorAll('.twin')].every((figure) => {
          const image = figure.querySelector('img');
          return image.getAttribute('src') === wanted[figure.dataset.tank] && image.complete && image.naturalWidth > 0;
        })""",
        arg=wanted,
    )


def drawing(page, chart: str) -> str:
    return page.locator(f"[data-chart='{chart}'] canvas").evaluate("canvas => canvas.toDataURL()")


def wait_until_redrawn(page, chart: str, before: str) -> None:
    page.wait_for_function(
        "([chart, before]) => document.querySelector(`[data-chart='${chart}'] canvas`).toDataURL() !== before",
        arg=[chart, before],
    )


def test_scrub_with_the_keyboard(demo_site, visit):
    page = visit(demo_site + TRIAL, ready=DRAWN)
    last = int(page.locator("#day").get_attribute("max"))
    page.locator("#day").focus()
    page.keyboard.press("Home")
    assert day_of(page) == 0
    wait_for_pictures_of(page, 0)
    first_pictures, first_drawing = sources(page), drawing(page, "canopy-height")

    page.keyboard.press("ArrowRight")
    assert day_of(page) == 1
    page.keyboard.press("PageUp")
    assert day_of(page) == 8
    assert page.locator("#day").get_attribute("aria-valuetext") == "Day 8, Tuesday 10 March 2026"
    wait_for_pictures_of(page, 8)
    assert all(now != then for now, then in zip(sources(page), first_pictures, strict=True))
    wait_until_redrawn(page, "canopy-height", first_drawing)

    page.keyboard.press("PageDown")
    page.keyboard.press("ArrowLeft")
    assert day_of(page) == 0
    page.keyboard.press("ArrowLeft")
    assert day_of(page) == 0
    page.keyboard.press("End")
    assert day_of(page) == last
    page.keyboard.press("ArrowUp")
    assert day_of(page) == last
    page.wait_for_function("last => new URL(location.href).searchParams.get('day') === String(last)", arg=last)


def test_the_arrows_step_wherever_the_focus_is_but_in_a_field(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=5")
    page.keyboard.press("ArrowRight")
    assert day_of(page) == 6
    page.locator(".looks a").first.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("End")  # moves the page, as it does everywhere
    assert day_of(page) == 5
    page.locator(".scroll").first.focus()
    page.keyboard.press("ArrowRight")
    assert day_of(page) == 5


def test_scrub_with_the_pointer(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=5")
    box = page.locator("[data-scrub]").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + box["width"] / 4, y, steps=5)
    page.mouse.up()
    steps = int(page.locator("#day").get_attribute("max")) + 1
    assert day_of(page) == round(5 + steps / 4)
    wait_for_pictures_of(page, day_of(page))
    page.mouse.move(x - 200, y)  # after the button is up nothing follows any more
    assert day_of(page) == round(5 + steps / 4)


def test_scrub_with_a_finger(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=10", width=390, height=844, has_touch=True, is_mobile=True)
    page.locator("[data-scrub]").scroll_into_view_if_needed()
    box = page.locator("[data-scrub]").bounding_box()
    y = box["y"] + box["height"] / 2
    touch = page.context.new_cdp_session(page)

    def send(kind: str, x: float | None) -> None:
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [] if x is None else [{"x": x, "y": y}]})

    send("touchStart", 300)
    for x in range(290, 95, -10):
        send("touchMove", x)
    send("touchEnd", None)
    assert day_of(page) < 10


def test_a_missing_photo_is_marked_and_held(demo_site, visit):
    page = visit(demo_site + TRIAL)
    moments = page.evaluate("async () => (await fetch(document.querySelector('#twin').dataset.moments)).json()")
    day, tank = next(
        (moment["day"], tank) for moment in moments for tank, shown in moment["tanks"].items() if shown["held"]
    )
    page.locator("#day").fill(str(int(day)))
    wait_for_pictures_of(page, int(day))
    gap = page.locator(f"[data-tank={tank}] .gap")
    assert gap.is_visible()
    shown_day = int(re.fullmatch(r"no photo this day, day (\d+) shown", gap.inner_text())[1])
    assert shown_day < day
    before = moments[shown_day]["tanks"][tank]
    assert not before["held"]
    assert page.locator(f"[data-tank={tank}] img").get_attribute("src") == before["even"]
    assert page.locator(f"[data-tank={tank}] img").get_attribute("alt").endswith(f"Day {shown_day}")


def test_the_look_as_photographed(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=3")
    even = sources(page)
    page.locator("a[data-look=original]").click()
    page.wait_for_function(
        "() => [...document.querySelectorAll('.twin img')].every(image => image.src.includes('/original.jpg'))"
    )

    assert all(now != then for now, then in zip(sources(page), even, strict=True))
    assert page.locator("a[data-look=original]").get_attribute("aria-current") == "true"


def test_play_and_pause(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=2")
    page.get_by_role("button", name="Play").click()
    page.wait_for_function("() => document.querySelector('[data-show=label]').textContent === 'Day 5'")
    page.get_by_role("button", name="Pause").click()
    stopped = day_of(page)
    assert page.locator("[data-play]").get_attribute("aria-pressed") == "false"
    page.locator("[data-step='1']").click()
    assert day_of(page) == stopped + 1


def test_a_click_into_a_chart_goes_to_its_day(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=2", ready=DRAWN)
    canvas = page.locator("[data-chart='canopy-height'] canvas")
    canvas.scroll_into_view_if_needed()
    before = drawing(page, "canopy-height")
    canvas.click(position={"x": 180, "y": 90})
    right = day_of(page)
    assert right > 2
    wait_until_redrawn(page, "canopy-height", before)
    canvas.click(position={"x": 120, "y": 90})
    assert day_of(page) < right


def test_read_a_finding_and_follow_its_evidence(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=0")
    document = httpx.get(f"{demo_site}{TRIAL}/findings.json").json()
    assert page.locator(".finding").count() == len(document["findings"])
    finding = page.locator(".finding").first
    assert finding.locator(".wording").inner_text() == document["findings"][0]["wording"]

    finding.locator("summary", has_text="What this rests on").click()
    page.wait_for_function(
        """() => {
          const pictures = [...document.querySelector('.finding').querySelectorAll('.carrying img')];
          return pictures.length > 0 && pictures.every((one) => one.naturalWidth > 0);
        }"""
    )
    link = finding.locator(".carrying .both a").last
    day = int(float(link.get_attribute("data-day")))
    assert day > 0
    link.click()
    assert day_of(page) == day
    wait_for_pictures_of(page, day)
    page.wait_for_function("() => Math.abs(document.querySelector('#twin').getBoundingClientRect().top) < 40")
    assert page.evaluate("() => document.activeElement.id") == "day"


def test_nothing_moves_while_scrubbing(demo_site, visit):
    for width in (390, 1440):
        page = visit(f"{demo_site}{TRIAL}?day=0", width=width, ready=DRAWN)
        places = []
        for day in range(int(page.locator("#day").get_attribute("max")) + 1):
            page.locator("#day").fill(str(day))
            places.append(page.evaluate(
                "() => [document.querySelector('.tide').offsetTop, document.querySelector('#charts').offsetTop]"
            ))  # fmt: skip
        moved = [max(top) - min(top) for top in zip(*places, strict=True)]
        assert moved[0] == 0, width
        assert moved[1] <= 1, (width, moved)  # `offsetTop` is rounded, and the charts begin 7,000 px down


@pytest.mark.parametrize("width", [390, 768, 1440])
def test_charts_are_drawn_into_room_that_was_kept_for_them(demo_site, width, visit):
    page = visit(demo_site + TRIAL, width=width, ready=DRAWN)
    rooms = page.evaluate(
        """() => [...document.querySelectorAll('.drawing')].map((place) => ({
          kept: Math.max(...[...place.querySelectorAll('.room')].map((room) => room.getBoundingClientRect().height)),
          drawn: place.querySelector('canvas').getBoundingClientRect().height,
          high: place.clientHeight,
        }))"""
    )
    assert len(rooms) >= 5
    assert all(0 <= room["kept"] - room["drawn"] <= 8 and room["kept"] == room["high"] for room in rooms), rooms


@pytest.mark.parametrize(
    "width", [390, pytest.param(768, marks=pytest.mark.slow), 1440, pytest.param(2560, marks=pytest.mark.slow)]
)
def test_no_page_scrolls_sideways(demo_site, width, visit):
    for path, ready in (("/", "h1"), ("/new", "form"), (TRIAL, DRAWN), (f"{TRIAL}/file", "pre")):
        page = visit(demo_site + path, width=width, ready=ready)
        page.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")
        assert page.evaluate("() => document.documentElement.scrollWidth") == width, path


def test_dark_paper_draws_dark_charts(demo_site, visit):
    def corner(scheme: str) -> list[int]:
        page = visit(demo_site + TRIAL, color_scheme=scheme, ready=DRAWN)
        return page.locator("[data-chart='canopy-height'] canvas").evaluate(
            "canvas => [...canvas.getContext('2d').getImageData(1, 1, 1, 1).data]"
        )

    assert corner("light") == [0xFB, 0xFC, 0xF9, 255]
    assert corner("dark") == [0x10, 0x18, 0x16, 255]


def test_every_control_has_a_name_and_a_visible_focus(demo_site, visit):
    page = visit(demo_site + TRIAL)
    nameless = page.evaluate(
        """() => [...document.querySelectorAll('a, button, input, summary, [tabindex]')]
          .filter((one) => !(one.getAttribute('aria-label') || one.textContent.trim() || one.labels?.length
            || one.querySelector('img[alt]:not([alt=""])')))
          .map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert nameless == []
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip"
    for _ in range(3):
        page.keyboard.press("Tab")
    assert page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_without_script_the_days_are_links(demo_site, visit):
    page = visit(f"{demo_site}{TRIAL}?day=3", ready="#twin", java_script_enabled=False)
    assert page.locator(LABEL).inner_text() == "Day 3"
    page.locator("[data-step='1']").click()
    assert page.locator(LABEL).inner_text() == "Day 4"
    page.locator("a[data-look=original]").click()
    assert all("/original.jpg" in source for source in sources(page))


def test_a_name_bound_to_this_computer_is_refused(chromium, demo_site):
    page = chromium.new_page()
    answer = page.goto(demo_site.replace("127.0.0.1", "rebound.example"))
    assert answer.status == 421
    assert "Trials" not in page.content()
    page.close()


def test_an_empty_logbook_leads_to_a_trial(empty_site, visit):
    page = visit(empty_site, ready="h1", expected="status of 422")
    assert page.get_by_text("There is no trial in this logbook yet.").is_visible()
    page.get_by_role("link", name="All settings on one page").click()
    page.get_by_label("What is the trial about?").fill("Brighter or dimmer light")
    page.get_by_label("First day").fill("2026-03-02")
    page.get_by_role("button", name="Start it").click()
    page.wait_for_url("**/trial/*/file")
    assert "Brighter or dimmer light" in page.locator("pre").inner_text()
    with page.expect_download() as download:
        page.get_by_role("link", name="Download trial.toml").click()
    assert download.value.suggested_filename == "trial.toml"

    page.get_by_role("link", name="To the page of this trial").click()
    page.wait_for_selector("#twin[data-ready]")
    assert page.locator(".gap", has_text="no photo yet").first.is_visible()

    page.goto(f"{empty_site}/new")
    page.get_by_label("What is the trial about?").fill("Brighter or dimmer light")
    page.get_by_label("Inside of the glass").fill("60 by 30")
    page.get_by_role("button", name="Start it").click()
    assert page.get_by_role("alert").is_visible()
    assert page.get_by_label("Inside of the glass").input_value() == "60 by 30"

    # and the short way: three answers, two clicks, the first dose
    page.goto(f"{empty_site}/start")
    page.get_by_label("Name on the bottle").fill("Green bottle")
    page.get_by_label("One dose for one tank").fill("2 mL")
    page.get_by_label("What it holds").fill("NO3 6 %, K2O 3 %")
    page.get_by_role("button", name="Start, and see today’s list").click()
    page.get_by_role("heading", name="Your trial has begun").wait_for()
    page.get_by_role("button", name="Done").first.click()
    page.locator('li[data-state="done"]', has_text="2 mL Green bottle").wait_for()
