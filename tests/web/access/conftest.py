"""The page opened to a network: a client at each place, straight into the application."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.applications import Starlette

from littoral.acts.list_trials import ListedTrial
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial
from littoral.web.access.codes import Codes
from littoral.web.access.doors import doors_of
from littoral.web.app import create_app

PORT = 8765
LAN = "192.168.1.5"
TEXT = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
PROXY = "https://tanks.example.org"


@dataclass
class EmptyBench:
    """Lists one trial and remembers what was started."""

    started: list[Mapping[str, str]] = field(default_factory=list)

    def trials(self) -> tuple[ListedTrial, ...]:
        return (ListedTrial("small", "Secret trial", "Two tanks.", False, 0, 0, None),)

    def start(self, form: Mapping[str, str]) -> str:
        self.started.append(form)
        return "small"


@dataclass
class Clock:
    """Seconds that pass only when a test says so."""

    now: float = 1000.0

    def __call__(self) -> float:
        return self.now


@dataclass
class Place:
    """Somebody who asks from `client` for `base`, and keeps cookies as a browser does."""

    app: Starlette
    client: str
    base: str
    cookies: httpx.Cookies = field(default_factory=httpx.Cookies)

    def __call__(self, method: str, path: str, *, headers: Any = None, **more: Any) -> httpx.Response:
        async def ask() -> httpx.Response:
            through = httpx.ASGITransport(app=self.app, client=(self.client, 5000))
            async with httpx.AsyncClient(transport=through, base_url=self.base, cookies=self.cookies) as asking:
                answer = await asking.request(method, path, headers={"accept": "text/html", **(headers or {})}, **more)
                self.cookies = asking.cookies
                return answer

        with ThreadPoolExecutor(1) as thread:  # this one may hold the loop that drives a browser
            return thread.submit(asyncio.run, ask()).result()

    def get(self, path: str, **more: Any) -> httpx.Response:
        return self("GET", path, **more)

    def token(self, path: str = "/pair") -> str:
        text = self.get(path).text
        return text.split('name="token" value="')[1].split('"')[0]

    def post(self, path: str, data: Mapping[str, str], *, token: str | None = None, **more: Any) -> httpx.Response:
        sent = {"token": self.token() if token is None else token, **data}
        headers = {"origin": self.base, "sec-fetch-site": "same-origin", **more.pop("headers", {})}
        return self("POST", path, data=sent, headers=headers, **more)

    def pair(self, code: str, name: str) -> httpx.Response:
        return self.post("/pair", {"code": code, "name": name})


@dataclass
class Network:
    """One application and the places around it."""

    app: Starlette
    bench: EmptyBench
    folder: Path
    clock: Clock
    codes: Codes
    base: str

    def here(self) -> Place:
        return Place(self.app, "127.0.0.1", f"http://127.0.0.1:{PORT}")

    def phone(self, address: str = "192.168.1.30") -> Place:
        return Place(self.app, address, self.base)

    def paired(self, name: str, *, role: str = "keeper", address: str = "192.168.1.30") -> Place:
        place = self.phone(address)
        answer = place.pair(self.codes.make(role=role).text, name)
        assert answer.status_code == 303
        return place


Opened = Callable[..., Network]


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[Opened]:
    made: list[Starlette] = []

    def open_(*, proxy: str = "") -> Network:
        Logbook.create(tmp_path).close()
        clock, bench = Clock(), EmptyBench()
        codes = Codes(clock)
        doors = doors_of(PORT, addresses=() if proxy else (LAN,), names=() if proxy else ("tanks.local",), proxy=proxy)
        app = create_app(
            tmp_path,
            port=PORT,
            bench=bench,
            today=lambda: date(2026, 2, 27),
            doors=doors,
            codes=codes,  # type: ignore[arg-type]
        )
        made.append(app)
        return Network(app, bench, tmp_path, clock, codes, proxy or f"http://{LAN}:{PORT}")

    yield open_
    for app in made:
        app.state.waiting.close()


@pytest.fixture
def network(opened: Opened) -> Network:
    return opened()


@pytest.fixture
def proxied(opened: Opened) -> Network:
    return opened(proxy=PROXY)


@pytest.fixture
def shared(tmp_path: Path, network: Network) -> Iterator[Network]:
    """The same network around a logbook with a trial in it."""
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    folder = tmp_path / "with-trial"
    with Logbook.create(folder) as book:
        book.take_in(trial, TEXT)
    codes = Codes()
    app = create_app(
        folder, port=8765, doors=doors_of(8765, addresses=("192.168.1.5",)), codes=codes, today=lambda: date(2026, 4, 8)
    )
    network.app, network.codes, network.folder = app, codes, folder
    yield network
    app.state.waiting.close()


def ask_raw(
    app: Any,
    *,
    path: str = "/",
    method: str = "GET",
    headers: list[tuple[bytes, bytes]],
    client: str = "127.0.0.1",
    body: Callable[[], Any] | None = None,
    query: bytes = b"",
) -> tuple[int, str]:
    """Call the application directly: an HTTP client would mend the headers and paths that are tested here."""
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        if body is not None:
            return await body()
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": query, "root_path": "", "headers": headers,
        "server": ("127.0.0.1", PORT), "client": (client, 5000),
    }  # fmt: skip
    with ThreadPoolExecutor(1) as thread:
        thread.submit(asyncio.run, app(scope, receive, send)).result()
    text = b"".join(message.get("body", b"") for message in sent if message["type"] == "http.response.body")
    return sent[0]["status"], text.decode()


@pytest.fixture
def raw() -> Callable[..., tuple[int, str]]:
    return ask_raw
