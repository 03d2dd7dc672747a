"""What is published, in real Chromium: the charts under a strict policy, the sheet on a phone, the film to its end."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import expect

from littoral.acts.publish_results import publish_results
from littoral.logbook.book import Logbook
from littoral.publish.charts import charts_of

pytestmark = pytest.mark.browser

POLICY = "default-src 'none'; script-src 'nonce-drawn'; style-src 'unsafe-inline'"
"""No 'unsafe-eval': Vega must use its interpreter (ast)."""


@pytest.fixture(scope="module")
def published(small_demo, tmp_path_factory) -> dict[str, Path]:
    return publish_results(small_demo.logbook, None, tmp_path_factory.mktemp("published"))


def _height_chart(logbook: Path) -> dict[str, object]:
    from littoral.findings.measuring import measure_photos

    with Logbook.open(logbook) as book:
        trial = book.trial(book.trials()[0])
        return charts_of(trial, measured=measure_photos(book, trial), findings=())["canopy-height"].spec


def test_a_chart_is_drawn_under_a_strict_policy_and_follows_the_day(small_demo, tmp_path, visit) -> None:
    import vl_convert

    spec = _height_chart(small_demo.logbook)
    script = vl_convert.javascript_bundle("window.embed = vegaEmbed;").replace("</script", r"<\/script")
    options = "{ast: true, actions: false, defaultStyle: false, renderer: 'svg'}"
    page_file = tmp_path / "page.html"
    page_file.write_text(
        f"<!doctype html><meta charset='utf-8'><meta http-equiv='Content-Security-Policy' content=\"{POLICY}\">"
        f"<div id='chart'></div><script nonce='drawn'>{script}</script>"
        f"<script nonce='drawn'>embed('#chart', {json.dumps(spec)}, {options}).then(made => "
        "{ window.view = made.view; document.body.dataset.drawn = 'yes'; })</script>",
        encoding="utf-8",
    )
    page = visit(page_file.as_uri(), ready="body[data-drawn]")
    rules = page.locator("#chart .mark-rule line")
    before = rules.count()
    page.evaluate("() => { view.signal('day', 3).runAsync(); }")
    expect(rules).to_have_count(before + len(spec["concat"]))
    page.evaluate("() => { view.signal('day', null).runAsync(); }")
    expect(rules).to_have_count(before)


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (390, "dark"), (1440, "light")])
def test_the_sheet_fits_the_screen_and_asks_for_nothing(published, width, scheme, visit) -> None:
    page = visit(published["sheet"].as_uri(), width=width, ready="main", color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert (
        page.evaluate("performance.getEntriesByType('resource').filter(e => !e.name.startsWith('data:')).length") == 0
    )
    shown, hidden = (".slim", ".wide") if width < 700 else (".wide", ".slim")
    assert page.locator(f".chart {shown} svg").first.is_visible()
    assert not page.locator(f".chart {hidden} svg").first.is_visible()
    assert page.evaluate("[...document.images].every(image => image.complete && image.naturalWidth > 0)")


def test_the_film_plays_to_its_end(published, tmp_path, visit) -> None:
    page_file = tmp_path / "film.html"
    page_file.write_text(
        f"<!doctype html><video id='film' muted preload='auto' src='{published['film'].as_uri()}'></video>",
        encoding="utf-8",
    )
    page = visit(page_file.as_uri(), ready="#film")
    page.wait_for_function("document.querySelector('#film').readyState >= 2")
    assert page.evaluate("[film.videoWidth, film.videoHeight]") == [1920, 1080]
    page.evaluate("film.currentTime = film.duration - 0.4; film.play()")
    page.wait_for_function("film.ended")
