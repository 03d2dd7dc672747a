"""A real logbook behind the application, and a client that asks as a browser would; the clock is the test's."""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest

from littoral.logbook.book import Logbook
from littoral.trial.entries import Entry
from littoral.trial.written.reader import read_trial
from littoral.web.app import create_app

PORT = 8765
BASE = f"http://127.0.0.1:{PORT}"
TEXT = (
    (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
    + """
[schedule]
doses_at = "18:00"
tests = [{ of = ["nitrate", "ph"], on = ["Sun"], at = "17:00" }]
trims = [{ of = ["red-stem"], every = "14 days" }]
photos = [{ on = "every day", at = "19:00" }]
"""
)


@dataclass
class AtBench:
    """Somebody at the bench: pages, forms and JSON of one logbook."""

    folder: Path
    now: datetime = datetime(2026, 3, 8, 17, 30, tzinfo=UTC)  # Sunday, 18:30 in Berlin
    headers: dict[str, str] = field(default_factory=lambda: {"origin": BASE, "sec-fetch-site": "same-origin"})

    def __post_init__(self) -> None:
        self.app = create_app(self.folder, port=PORT, now=lambda: self.now)

    def __call__(self, method: str, path: str, *, accept: str = "text/html", **more: Any) -> httpx.Response:
        headers = {"accept": accept, **self.headers, **more.pop("headers", {})}

        async def ask() -> httpx.Response:
            through = httpx.ASGITransport(app=self.app, raise_app_exceptions=True)
            async with httpx.AsyncClient(transport=through, base_url=BASE) as client:
                return await client.request(method, path, headers=headers, **more)

        with ThreadPoolExecutor(1) as thread:
            return thread.submit(asyncio.run, ask()).result()

    def get(self, path: str) -> httpx.Response:
        return self("GET", path)

    def json(self, path: str) -> Any:
        answer = self("GET", path, accept="application/json")
        assert answer.status_code == 200, answer.text
        return answer.json()

    def form(self, path: str, **fields: str) -> httpx.Response:
        return self("POST", path, data={"token": self.app.state.token, **fields})

    def send(self, path: str, body: object, **more: Any) -> httpx.Response:
        headers = {"x-littoral-token": self.app.state.token}
        return self("POST", path, accept="application/json", json=body, headers=headers, **more)

    def press(self, page: httpx.Response, act: str, item: str, **typed: str) -> httpx.Response:
        """Send the form of a page that has this act for this item, as a browser without script would."""
        for sent in forms_of(page.text, "/today"):
            if sent.get("item") == item and (sent.get("act") == act or act in sent["buttons"]):
                return self(
                    "POST", "/today", data={**{k: v for k, v in sent.items() if k != "buttons"}, "act": act, **typed}
                )
        raise AssertionError(f"no form for {act} of {item}")

    def entries(self) -> tuple[Entry, ...]:
        with Logbook.open(self.folder) as book:
            return book.entries("sparing-or-full")

    def later(self, **by: float) -> None:
        self.now += timedelta(**by)


def forms_of(text: str, action: str) -> list[dict[str, Any]]:
    """Return the forms of a page that are sent to an address: their fields, and the values of their buttons."""
    found = []
    for body in re.findall(rf'<form method="post" action="{re.escape(action)}"[^>]*>(.*?)</form>', text, re.DOTALL):
        fields: dict[str, Any] = {
            name: html.unescape(value)
            for name, value in re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', body)
        }
        found.append({**fields, "buttons": re.findall(r'<button[^>]*name="act" value="([^"]+)"', body)})
    return found


def make(folder: Path, texts: Mapping[str, str]) -> Path:
    with Logbook.create(folder) as book:
        for text in texts.values():
            trial, faults = read_trial(text, where="trial.toml")
            assert trial is not None, faults
            book.take_in(trial, text)
    return folder


@pytest.fixture
def bench(tmp_path: Path) -> AtBench:
    return AtBench(make(tmp_path / "logbook", {"sparing-or-full": TEXT}))


@pytest.fixture
def two_trials(tmp_path: Path) -> AtBench:
    second = TEXT.replace('key = "sparing-or-full"', 'key = "second"').replace(
        'title = "Sparing or full feeding in two 54-litre tanks"', 'title = "The <second> trial"'
    )
    return AtBench(make(tmp_path / "logbook", {"sparing-or-full": TEXT, "second": second}))


@pytest.fixture
def empty(tmp_path: Path) -> AtBench:
    return AtBench(make(tmp_path / "empty", {}))
