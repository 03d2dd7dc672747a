"""The page to publish from, in real Chromium: choose, look before, make a film, see it to its end, take it away."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PATIENCE_MS = 100_000
"""What is made by a process of its own may wait long for a busy computer."""


@pytest.fixture(scope="module")
def publish_site(two_photos, serve, tmp_path_factory) -> Iterator[str]:
    """A copy of the trial with two photos, to write jobs into."""
    book = tmp_path_factory.mktemp("publish") / "logbook"
    shutil.copytree(two_photos.logbook, book)
    with serve(book) as address:
        yield f"{address}/trial/{two_photos.key}/publish"


def test_a_film_is_chosen_made_and_plays_to_its_end(publish_site, visit, tmp_path: Path) -> None:
    page = visit(publish_site, ready="#film")
    form = page.locator("#film form")
    picture = form.locator(".look-before img")
    before = picture.get_attribute("src")
    form.locator("[name=format][value=square]").check()
    form.locator("[name=height_px]").select_option("360")
    form.locator("[name=seconds]").fill("4")
    expect(picture).not_to_have_attribute("src", before or "", timeout=PATIENCE_MS)
    page.wait_for_function("() => document.querySelector('#film img').naturalWidth === 540")
    form.get_by_role("button", name="Make the film").click()
    expect(page.locator(".job.done video")).to_be_visible(timeout=PATIENCE_MS)
    page.wait_for_function("() => document.querySelector('video').readyState >= 1")
    size = "() => { const v = document.querySelector('video'); return [v.videoWidth, v.videoHeight]; }"
    assert page.evaluate(size) == [360, 360]
    page.evaluate("() => { const v = document.querySelector('video'); v.muted = true; v.currentTime = 3.4; v.play(); }")
    page.wait_for_function("() => document.querySelector('video').ended")
    track = page.evaluate(
        "() => { const t = document.querySelector('video').textTracks[0]; t.mode = 'hidden'; return t.kind; }"
    )
    assert track == "captions"
    page.wait_for_function("() => document.querySelector('video').textTracks[0].cues?.length >= 2")
    with page.expect_download() as saved:
        page.get_by_role("link", name="film.mp4").click()
    assert saved.value.suggested_filename.endswith("-film.mp4")
    saved.value.save_as(tmp_path / "film.mp4")
    assert (tmp_path / "film.mp4").stat().st_size > 1000
    page.get_by_role("button", name="Remove").click()
    expect(page.locator(".job")).to_have_count(0, timeout=PATIENCE_MS)


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1440, "light")])
def test_it_fits_the_screen_and_shows_what_belongs_to_a_choice(publish_site, visit, width, scheme) -> None:
    page = visit(publish_site, ready="#still", width=width, color_scheme=scheme)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width
    still = page.locator("#still form")
    expect(still.locator(".of-chart")).to_be_hidden()
    still.locator("[name=still_kind][value=chart]").check()
    expect(still.locator(".of-chart")).to_be_visible()
    expect(still.locator("[name=days]")).to_be_hidden()
    for one in page.locator(".choice span").all():
        box = one.bounding_box()
        assert box is None or box["height"] >= (44 if width == 390 else 30)


def test_what_is_wrong_is_said_beside_the_picture(publish_site, visit) -> None:
    page = visit(publish_site, ready="#still", expected="422")
    page.locator("#still [name=days]").fill("400")
    page.locator("#still [name=days]").blur()
    expect(page.locator("#still [data-wrong]")).to_contain_text("Day 400 has no photo near it", timeout=PATIENCE_MS)


def test_without_script_a_still_is_made_as_well(publish_site, visit) -> None:
    page = visit(publish_site, ready="#still", java_script_enabled=False)
    page.locator("#still").get_by_role("button", name="Make the still").click()
    for _ in range(PATIENCE_MS // 250):
        page.goto(publish_site)
        if page.locator(".job.done").count():
            break
        page.wait_for_timeout(250)
    assert page.locator(".job.done img").count() == 1


def test_jobs_are_told_to_other_programs_too(publish_site, visit) -> None:
    page = visit(f"{publish_site}/jobs.json", ready="body")
    assert isinstance(json.loads(page.locator("body").inner_text()), list)
