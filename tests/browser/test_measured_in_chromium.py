"""Series and plant or camera in real Chromium: drawn, a click goes to a day, and the command prints the same."""

from __future__ import annotations

import json
import re

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import expect
from typer.testing import CliRunner

from littoral.cli.main import app

pytestmark = pytest.mark.browser
HOME = "/trial/sparing-or-full"
READY = "html[data-ready]"


def test_series_is_drawn_a_click_shows_that_day_and_the_camera_has_its_page(demo_site, small_demo, visit) -> None:
    page = visit(f"{demo_site}{HOME}/series?measure=redness&of=red-stem", ready=READY)
    canvas = page.locator("[data-chart='series-redness'] canvas")
    expect(canvas).to_be_visible()
    last = page.locator("#compare").get_attribute("data-day")
    box = canvas.bounding_box()
    page.mouse.click(box["x"] + 0.3 * box["width"], box["y"] + 0.5 * box["height"])
    expect(page.locator("#compare h2")).not_to_have_text(f"Day {last}")
    day = int(page.locator("#compare").get_attribute("data-day"))
    assert 0 < day < 15
    expect(page.locator("#compare h2")).to_have_text(f"Day {day}")
    page.get_by_label("One day on").click()
    expect(page.locator("#compare h2")).to_have_text(f"Day {day + 1}")
    expect(page).to_have_url(re.compile(f"day={day + 1}\\b"))
    sent = page.request.get(f"{demo_site}{HOME}/series.json?measure=redness&of=red-stem").json()
    typed = ["series", str(small_demo.logbook), "--measure", "redness", "--of", "red-stem"]
    assert json.loads(CliRunner().invoke(app, [*typed, "--json"]).stdout) == sent
    assert CliRunner().invoke(app, [*typed, "--csv"]).stdout.count("\n") == 1 + sum(
        len(one["photos"]) for one in sent["series"]
    )

    page.goto(f"{demo_site}{HOME}/colour")
    page.wait_for_selector(READY)
    expect(page.locator("[data-chart='camera-red-stem'] canvas")).to_be_visible()
    chart = page.locator("[data-chart='series-camera'] canvas")
    expect(chart).to_be_hidden()  # folded: the answer and its picture come first
    page.get_by_text("What is left of the camera on each photo").click()
    expect(chart).to_be_visible()
    assert chart.bounding_box()["width"] > 600
    assert page.evaluate("document.documentElement.scrollWidth") <= 1440
    sent = page.request.get(f"{demo_site}{HOME}/colour.json").json()
    told = CliRunner().invoke(app, ["colour", str(small_demo.logbook), "--of", "red-stem", "--json"])
    assert json.loads(told.stdout)["stands"] == [one for one in sent["stands"] if one["stand"] == "red-stem"]
