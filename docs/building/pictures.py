"""Pictures for the documentation: the program's own charts of the demo, and its pages in real Chromium.

Each is written for light and for dark, beside a JSON with its words. What cannot be made here is said and left out.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from docs.building.picture_names import PAGES, TRIAL, PageShown

from littoral.acts.import_trial import import_trial
from littoral.acts.levels_page import view_levels
from littoral.acts.photos.colour_page import see_colour
from littoral.acts.view_design import view_design
from littoral.acts.view_trial import view_trial
from littoral.demo.scenario import write_demo
from littoral.errors import LittoralError
from littoral.publish.chart import Chart
from littoral.publish.draw import to_svg
from littoral.publish.look import for_dark_paper

if TYPE_CHECKING:
    from playwright.sync_api import Browser, FloatRect, Page, ViewportSize

WIDTH_PX = 720
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking")
SMALL = (800, 600)


def pictures(out: Path, *, work: Path) -> None:
    """Write every picture that can be made here to `out`; `work` keeps the demo and a first trial for next time."""
    demo, first = work / "logbook", work / "first"
    if not (demo / "logbook.sqlite3").exists():
        print("docs: rendering a small demo for the pictures", flush=True)
        import_trial(demo, write_demo(work / "files", size=SMALL))
    if not (first / "logbook.sqlite3").exists():
        told = ("--tanks", "left, right", "--feed", "Green bottle", "--holds", "NO3 6 %, K2O 3 %", "--dose", "2 mL")
        subprocess.run([sys.executable, "-m", "littoral", "start", str(first), *told], check=True, capture_output=True)
    for what, draw in CHARTS.items():
        try:
            for chart in draw(demo):
                _write_chart(chart, out)
        except LittoralError as error:
            print(f"docs: charts of {what} are left out: {error}", flush=True)
    _photograph(out, {"demo": demo, "first": first})


def _wide(charts: Iterator[Mapping[int, Chart]] | Any) -> Iterator[Chart]:
    for by_width in charts:
        yield by_width[min(by_width, key=lambda px: abs(px - WIDTH_PX))]


CHARTS: Mapping[str, Callable[[Path], Iterator[Chart]]] = {
    "the trial": lambda demo: _wide(view_trial(demo, TRIAL).charts),
    "its design": lambda demo: _wide(view_design(demo).charts),
    "its levels": lambda demo: _wide(part.charts for part in view_levels(demo, TRIAL, now=datetime.now(UTC)).nutrients),
    "its colours": lambda demo: _wide(see_colour(demo).charts),
}


def _write_chart(chart: Chart, out: Path) -> None:
    svg = to_svg(chart.spec)
    (out / f"{chart.key}-light.svg").write_text(svg, encoding="utf-8")
    (out / f"{chart.key}-dark.svg").write_text(for_dark_paper(svg), encoding="utf-8")
    _write_words(out, chart.key, "svg", alt=chart.alt, caption=chart.caption)


def _write_words(out: Path, name: str, kind: str, *, alt: str, caption: str, narrow: bool = False) -> None:
    told = {"kind": kind, "alt": alt, "caption": caption, "narrow": narrow}
    (out / f"{name}.json").write_text(json.dumps(told, ensure_ascii=False), encoding="utf-8")


def chromium() -> str | None:
    """Return the path of Chromium, or None where there is none."""
    return os.environ.get("LITTORAL_CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUM)), None)


def _photograph(out: Path, logbooks: Mapping[str, Path]) -> None:
    path = chromium()
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        path = None
    if path is None:
        print("docs: no Chromium or Playwright here, so pictures of pages are left out", flush=True)
        return
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        for of, folder in logbooks.items():
            with served(folder) as address:
                for shown in (one for one in PAGES if one.of == of):
                    for theme in ("light", "dark"):
                        _one_page(browser, address, shown, theme, out)
        browser.close()


def _one_page(browser: Browser, address: str, shown: PageShown, theme: Literal["light", "dark"], out: Path) -> None:
    from playwright.sync_api import Error

    size: ViewportSize = {"width": shown.width, "height": shown.height}
    context = browser.new_context(viewport=size, color_scheme=theme, device_scale_factor=1.5)
    page = context.new_page()
    page.set_default_timeout(120_000)
    try:
        page.goto(address + shown.path)
        page.wait_for_selector(shown.ready)
        page.screenshot(path=out / f"{shown.name}-{theme}.png", full_page=True, clip=_clip(page, shown))
        _write_words(out, shown.name, "png", alt=shown.alt, caption="", narrow=shown.width < 600)
    except Error as error:
        print(f"docs: the picture of {shown.path} is left out: {error.message}", flush=True)
    context.close()


def _clip(page: Page, shown: PageShown) -> FloatRect:
    """Return the rectangle of the page that is shown: the window, or a part of the page with a little around it."""
    if shown.part == "main":
        return {"x": 0, "y": 0, "width": shown.width, "height": shown.height}
    page.evaluate("scrollTo(0, 0)")
    box = page.locator(shown.part).first.bounding_box()
    assert box is not None, "what was waited for is there"
    around = 16
    x, y = max(box["x"] - around, 0), box["y"] - around
    width = min(box["width"] + 2 * around, shown.width - x)
    return {"x": x, "y": y, "width": width, "height": min(box["height"] + 2 * around, shown.tallest)}


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a logbook in a process of its own as `littoral open` does, on a free port, and give its address."""
    command = [sys.executable, "-m", "littoral", "open", str(folder), "--port", "0", "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        said = process.stdout.readline()
        try:
            yield next(word for word in said.split() if word.startswith("http://")).rstrip("/")
        finally:
            process.send_signal(signal.SIGINT)
            process.stdout.read()
