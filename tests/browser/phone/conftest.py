"""A logbook whose trial runs today, a server that can be stopped and started on one port, and a phone's browser."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from playwright.sync_api import BrowserContext, Playwright, sync_playwright

from littoral.logbook.book import Logbook
from littoral.trial.entries import Entry
from littoral.trial.written.reader import read_trial

WHOLE = Path(__file__).parents[2] / "trial" / "whole-trial.toml"
RIGHT_VIEW = """
[views.right]
name = "right tank, front"
photos = "photos/right"
frame = "1600 x 1200 px"

[views.right.tanks.right]
corners = [[100, 140], [1500, 140], [1500, 1060], [100, 1060]]
width = "60 cm"
regions = [{ stand = "red-stem", polygon = [[300, 200], [520, 200], [520, 900], [300, 900]] }]

[[questions]]"""
SCHEDULE = """
[schedule]
doses_at = "18:00"
photos = [{ on = "every day", at = "19:00" }]
"""
KEY = "sparing-or-full"
DAY = 9
FAKE_CAMERA = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")
PHONE = ("--no-sandbox", "--disable-gpu", "--disable-background-networking")


def running_logbook(folder: Path) -> Path:
    """Make a logbook with one trial, in its tenth day today."""
    text = WHOLE.read_text(encoding="utf-8").replace("2026-03-02", str(date.today() - timedelta(days=DAY)))
    text = text.replace("[[questions]]", RIGHT_VIEW.lstrip(), 1) + SCHEDULE
    trial, faults = read_trial(text, where="trial.toml")
    assert trial is not None, faults
    with Logbook.create(folder) as book:
        book.take_in(trial, text)
    return folder


class Computer:
    """The computer that keeps the logbook: on, off, and on again at the same address."""

    def __init__(self, logbook: Path) -> None:
        self.logbook = logbook
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self._process: subprocess.Popen[str] | None = None

    def stored(self) -> tuple[Entry, ...]:
        """Return what is in the logbook, read by itself."""
        with Logbook.open(self.logbook) as book:
            return book.entries(KEY)

    def on(self) -> None:
        program = (
            "import sys; from pathlib import Path; from littoral.web.serve import serve; "
            "serve(Path(sys.argv[1]), port=int(sys.argv[2]), open_browser=False)"
        )
        command = [sys.executable, "-c", program, str(self.logbook), str(self.port)]
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert self._process.stdout is not None
        assert self._process.stdout.readline()

    def off(self) -> None:
        if self._process is not None:
            self._process.send_signal(signal.SIGINT)
            assert self._process.stdout is not None
            self._process.communicate()
            self._process = None


class Phone:
    """A browser with a profile folder of its own; everything it asks for is noted."""

    def __init__(self, playwright: Playwright, chromium: str, profile: Path) -> None:
        self._playwright, self._chromium, self._profile = playwright, chromium, profile
        self.asked: list[str] = []
        self.wrong: list[str] = []

    @contextmanager
    def opened(
        self, *, camera: bool = True, width: int = 390, height: int = 844, **more: object
    ) -> Iterator[BrowserContext]:
        context = self._playwright.chromium.launch_persistent_context(
            self._profile,
            executable_path=self._chromium,
            args=[*PHONE, *(FAKE_CAMERA if camera else ())],
            viewport={"width": width, "height": height},
            timezone_id="Europe/Lisbon",
            **more,
        )
        context.set_default_timeout(20_000)
        context.on("request", lambda request: self.asked.append(request.url))
        context.on("weberror", lambda error: self.wrong.append(str(error.error)))
        try:
            yield context
        finally:
            context.close()

    def hosts(self) -> set[str]:
        """Every host that was asked for anything over the network."""
        return {urlsplit(url).netloc for url in self.asked if urlsplit(url).scheme in ("http", "https", "ws", "wss")}


@pytest.fixture
def computer(tmp_path: Path) -> Iterator[Computer]:
    found = Computer(running_logbook(tmp_path / "logbook"))
    found.on()
    yield found
    found.off()


@pytest.fixture
def phone(tmp_path: Path, computer: Computer) -> Iterator[Phone]:
    """A phone; whatever a test does with it, it asks nothing of anybody else, and no script of ours breaks."""
    path = os.environ.get("LITTORAL_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        missing = "no Chromium found: install Debian's `chromium`, or set LITTORAL_CHROMIUM to its path"
        if os.environ.get("CI") == "true":
            pytest.fail(missing)
        pytest.skip(missing)
    with sync_playwright() as playwright:
        found = Phone(playwright, path, tmp_path / "profile")
        yield found
    assert found.hosts() == {f"127.0.0.1:{computer.port}"}
    assert found.wrong == []
