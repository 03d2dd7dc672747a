"""Real Chromium against the real page, started as a person starts it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--host-resolver-rules=MAP rebound.example 127.0.0.1",
)
READY = "#twin[data-ready]"


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    path = os.environ.get("LITTORAL_CHROMIUM") or next(filter(None, map(shutil.which, CHROMIUM)), None)
    if path is None:
        missing = "no Chromium found: install Debian's `chromium`, or set LITTORAL_CHROMIUM to its path"
        if os.environ.get("CI") == "true":
            pytest.fail(missing)
        pytest.skip(missing)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield browser
        browser.close()


@contextmanager
def served(logbook: Path, *, proxy: str = "") -> Iterator[str]:
    """Serve a logbook in a process of its own, on a free port, and give the address it prints.

    `proxy` is the address of a reverse proxy that it says it is shared by.
    """
    program = (
        "import sys; from pathlib import Path; from littoral.web.serve import serve; "
        "from littoral.web.access.share import Share; share = Share(proxy=sys.argv[2]) if sys.argv[2] else None; "
        "serve(Path(sys.argv[1]), port=0, open_browser=False, share=share)"
    )
    command = [sys.executable, "-c", program, str(logbook), proxy]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        said = process.stdout.readline()
        try:
            yield next(word for word in said.split() if word.startswith("http://")).rstrip("/")
        finally:
            process.send_signal(signal.SIGINT)
            process.stdout.read()


@pytest.fixture(scope="session")
def serve() -> Callable[[Path], AbstractContextManager[str]]:
    """Serve a logbook of the test's own."""
    return served


@pytest.fixture(scope="session")
def demo_site(small_demo) -> Iterator[str]:
    """The small demo, measured, on its page."""
    from littoral.acts.measure_photos import measure_photos

    measure_photos(small_demo.logbook)
    with served(small_demo.logbook) as address:
        yield address


@pytest.fixture
def empty_site(tmp_path: Path) -> Iterator[str]:
    """A logbook that holds nothing yet."""
    from littoral.logbook.book import Logbook

    Logbook.create(tmp_path / "logbook").close()
    with served(tmp_path / "logbook") as address:
        yield address


Visit = Callable[..., Page]


@pytest.fixture
def visit(chromium: Browser) -> Iterator[Visit]:
    """Open an address in a fresh window; any console error, broken policy or script error fails the test at its end.

    Ask for it last: it is then closed before the server that it looks at, which else would seem to have failed.

    `expected` is a part of the one message that belongs there.
    """
    wrong: list[str] = []
    contexts = []

    def note(said: ConsoleMessage, expected: str) -> None:
        if said.type in ("error", "warning") and not (expected and expected in said.text):
            wrong.append(said.text)

    def open_page(
        address: str, *, width: int = 1440, height: int = 900, ready: str = READY, expected: str = "", **more: object
    ) -> Page:
        context = chromium.new_context(viewport={"width": width, "height": height}, **more)
        context.set_default_timeout(60_000)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda said: note(said, expected))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(address)
        page.wait_for_selector(ready)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert wrong == []
