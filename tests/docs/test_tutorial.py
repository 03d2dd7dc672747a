"""The tutorial is done as it stands: every command typed, every step on a page carried out in real Chromium, in order.

What a command prints is compared loosely: figures and white space may differ, `...` stands for anything.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from docs.building.made_pages import DOCS
from docs.building.pictures import ARGUMENTS, chromium
from docs.building.reading import Step, Typed, steps, typed
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

PAGE = DOCS / "tutorial" / "first-trial.md"
WAIT_MS = 300_000


def in_order(text: str) -> list[Typed | list[Step]]:
    """Return commands and lists of steps in the order in which they stand on the page."""
    parts: list[Typed | list[Step]] = [*typed(text), *steps(text)]
    return sorted(parts, key=lambda one: one.line if isinstance(one, Typed) else one[0].line)


def loosely(text: str) -> str:
    """Return a text with its figures made alike, without the lines of tables and with single spaces."""
    return " ".join(re.sub(r"\d+", "0", re.sub(r"[─│┌┐└┘├┤┬┴┼]", " ", text)).split())


def missing(shown: tuple[str, ...], printed: str) -> list[str]:
    """Return the pieces of what a page shows that were not printed, or not in that order."""
    at, said, lost = 0, loosely(printed), []
    for piece in (loosely(one) for line in shown for one in line.split("...")):
        found = said.find(piece, at)
        if found < 0:
            lost.append(piece)
        else:
            at = found + len(piece)
    return lost


def test_what_is_printed_is_compared_loosely():
    assert missing(("dosed 3 mL ... bottle", "..."), "left:  dosed 12 mL\n of the green bottle") == []
    assert missing(("dosed", "left"), "left: dosed") == ["left"]
    assert missing(("undone",), "left: dosed") == ["undone"]


@contextmanager
def opened(words: tuple[str, ...], folder: Path, about: dict[str, str]) -> Iterator[tuple[str, str]]:
    """Run `littoral open …` on a free port without a browser of its own; give what it says and the address."""
    command = [sys.executable, "-m", *words, "--port", "0", "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=folder, env=about) as process:
        assert process.stdout is not None
        said = ""
        while "http://" not in said and (line := process.stdout.readline()):
            said += line
        try:
            yield said, next(word for word in said.split() if word.startswith("http://")).rstrip("/")
        finally:
            process.send_signal(signal.SIGINT)
            process.stdout.read()


def do(page: Page, step: Step, address: str) -> None:
    """Carry one step out by the names that a person sees. A name that is not there fails."""
    name, *more = step.names
    whole: Page | Locator = page
    if step.what in ("Press", "Unfold") and more:
        whole = page.get_by_role("region", name=more[0], exact=True)
    if step.what == "Open":
        page.goto(address + name)  # until all has loaded: what is pressed then is met by its script
    elif step.what == "Press":
        button = whole.get_by_role("button", name=name, exact=True)
        button.or_(whole.get_by_role("link", name=name, exact=True)).first.click()
    elif step.what == "Unfold":
        whole.locator("summary", has_text=name).first.click()
    elif step.what == "Choose" and more:
        page.get_by_label(more[0], exact=True).select_option(label=name)
    elif step.what == "Choose":
        page.get_by_label(name, exact=True).check()
    elif step.what == "Write":
        page.get_by_label(more[0], exact=True).fill(name)
    elif step.what == "Move":
        page.wait_for_selector("[data-ready]", state="attached")  # before that nobody listens to a slider
        page.get_by_label(name, exact=True).fill(more[0])
    else:
        expect(page.get_by_text(name).locator("visible=true").first).to_be_visible(timeout=WAIT_MS)


@pytest.fixture
def page() -> Iterator[Page]:
    path = chromium()
    if path is None:
        pytest.skip("no Chromium found: install Debian's `chromium`, or set LITTORAL_CHROMIUM to its path")
    with sync_playwright() as playwright:
        browser: Browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.set_default_timeout(WAIT_MS)
        yield page
        browser.close()


@pytest.mark.slow
@pytest.mark.browser
@pytest.mark.timeout(3600)
def test_the_tutorial_can_be_followed(tmp_path: Path, page: Page):
    about = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data"), "COLUMNS": "132", "TZ": "UTC"}
    parts = in_order(PAGE.read_text("utf-8"))
    at = 0
    while at < len(parts):
        one = parts[at]
        at += 1
        assert isinstance(one, Typed), "steps on a page follow the command that opens it"
        where = f"{PAGE.name}, line {one.line}"
        if one.words[1] != "open":
            done = subprocess.run(
                [sys.executable, "-m", *one.words], cwd=tmp_path, env=about, capture_output=True, text=True, check=False
            )
            assert done.returncode == 0, f"{where}: {done.stderr}"
            assert missing(one.prints, done.stdout) == [], f"{where} shows what was not printed:\n{done.stdout}"
            continue
        with opened(one.words, tmp_path, about) as (said, address):
            assert missing(one.prints, said) == [], where
            while at < len(parts) and isinstance(parts[at], list):
                for step in parts[at]:
                    try:
                        do(page, step, address)
                    except Exception as error:
                        raise AssertionError(f"{PAGE.name}, line {step.line}: {step.what} {step.names}") from error
                at += 1
    assert (tmp_path / "club" / "sheet.pdf").read_bytes().startswith(b"%PDF")
