"""Localhost is not trusted: each guard has its own refusal."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from littoral.web.access.doors import doors_of
from littoral.web.guard import CONTENT_POLICY
from littoral.web.limits import MAX_BODY_BYTES, MAX_TARGET_BYTES


def ask_raw(app: Any, *, path: str = "/", method: str = "GET", headers: list[tuple[bytes, bytes]]) -> tuple[int, str]:
    """Call the application directly: an HTTP client would mend the headers and paths that are tested here."""
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "", "headers": headers,
        "server": ("127.0.0.1", 8765), "client": ("127.0.0.1", 5000),
    }  # fmt: skip
    with ThreadPoolExecutor(1) as thread:  # this one may hold the loop that drives a browser
        thread.submit(asyncio.run, app(scope, receive, send)).result()
    body = b"".join(message.get("body", b"") for message in sent if message["type"] == "http.response.body")
    return sent[0]["status"], body.decode()


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765", "[::1]:8765", "LOCALHOST:8765"])
def test_loopback_names_with_the_port_are_answered(asking, host):
    assert asking.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "example.org",
        "example.org:8765",
        "127.0.0.1",
        "127.0.0.1:8766",
        "localhost.example.org:8765",
        "127.0.0.1:8765.",
        "[::1]",
    ],
)
def test_any_other_host_is_refused(asking, host):
    answer = asking.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "127.0.0.1:8765" in answer.text
    assert "Trials" not in answer.text


@pytest.mark.parametrize("hosts", [[], [b"127.0.0.1:8765", b"127.0.0.1:8765"]])
def test_no_host_or_two_are_refused(asking, hosts):
    status, text = ask_raw(asking.app, headers=[(b"host", host) for host in hosts])
    assert status == 400
    assert "Host header" in text


def test_a_page_on_port_80_answers_without_the_port():
    assert "localhost" in doors_of(80).local
    assert "localhost" not in doors_of(8765).local


def test_every_answer_carries_the_policy(asking):
    for path in ("/", "/nowhere", "/static/page.css", "/trial/small/days.json"):
        headers = asking.get(path).headers
        assert headers["content-security-policy"] == CONTENT_POLICY
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["cross-origin-resource-policy"] == "same-origin"
    assert "unsafe" not in CONTENT_POLICY


def test_a_crash_carries_the_policy_and_says_nothing_of_the_inside(asking, bench):
    def crash() -> None:
        raise RuntimeError("secret inside")

    bench.before_page = crash
    answer = asking.get("/trial/small")
    assert answer.status_code == 500
    assert answer.headers["content-security-policy"] == CONTENT_POLICY
    assert "secret" not in answer.text


def test_no_page_holds_inline_script_or_style(asking):
    for path in ("/", "/new", "/trial/small", "/trial/small/file"):
        text = asking.get(path).text
        assert "<style" not in text
        assert " style=" not in text
        assert " onclick" not in text
        assert text.count("<script") == text.count("<script defer src=") + text.count('<script type="module" src=')


FORM = {"title": "Mine", "glass": "60 x 30 x 30 cm", "start": "2026-03-02"}


def test_a_form_of_our_own_is_taken(asking, bench):
    answer = asking.post("/new", FORM)
    assert answer.status_code == 303
    assert bench.started == [FORM]


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://example.org"},
        {"origin": "null"},
        {"origin": "http://localhost:8765"},  # another of our names, but not the one asked for
        {"origin": "https://127.0.0.1:8765"},
        {"origin": ""},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "none"},
    ],
)
def test_a_form_from_elsewhere_is_refused(asking, bench, headers):
    assert asking.post("/new", FORM, headers=headers).status_code == 403
    assert bench.started == []


@pytest.mark.parametrize("token", ["", "wrong", "ü"])
def test_a_form_without_the_token_is_refused(asking, bench, token):
    answer = asking.post("/new", {**FORM, "token": token})
    assert answer.status_code == 403
    assert "reload" in answer.text
    assert bench.started == []


def test_two_tokens_are_none(asking, bench):
    body = f"token={asking.app.state.token}&token=x&title=Mine"
    headers = {"origin": asking.base, "content-type": "application/x-www-form-urlencoded"}
    assert asking("POST", "/new", content=body, headers=headers).status_code == 403
    assert bench.started == []


def test_each_start_has_its_own_token(asking, bench):
    from littoral.web.app import create_app

    assert create_app(bench.folder, port=8765, bench=bench).state.token != asking.app.state.token


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_only_reading_and_forms(asking, method):
    assert asking(method, "/").status_code == 405


def test_other_bodies_than_plain_forms_are_refused(asking):
    headers = {"origin": asking.base, "content-type": "application/json"}
    assert asking("POST", "/new", content=b"{}", headers=headers).status_code == 415


def _body(size: int, token: str) -> bytes:
    head = f"token={token}&title=Mine&more=".encode()
    return head + b"a" * (size - len(head))


@pytest.mark.parametrize(("over", "status"), [(0, 303), (1, 413)])
@pytest.mark.parametrize("chunked", [False, True])
def test_a_body_one_over_the_limit_is_refused(asking, over, status, chunked):
    body = _body(MAX_BODY_BYTES + over, asking.app.state.token)

    async def pieces():  # sent without a length: the limit must hold while reading, too
        for at in range(0, len(body), 4096):
            yield body[at : at + 4096]

    headers = {"origin": asking.base, "content-type": "application/x-www-form-urlencoded"}
    answer = asking("POST", "/new", content=pieces() if chunked else body, headers=headers)
    assert answer.status_code == status


def test_a_length_that_is_no_number_is_refused(asking):
    headers = [(b"host", b"127.0.0.1:8765"), (b"origin", b"http://127.0.0.1:8765"), (b"content-length", b"-1"),
               (b"content-type", b"application/x-www-form-urlencoded")]  # fmt: skip
    assert ask_raw(asking.app, path="/new", method="POST", headers=headers)[0] == 400


@pytest.mark.parametrize("digits", [12, 13, 5000])
def test_a_length_of_many_digits_is_too_large(asking, digits):
    headers = [(b"host", b"127.0.0.1:8765"), (b"origin", b"http://127.0.0.1:8765"),
               (b"content-length", b"9" * digits), (b"content-type", b"application/x-www-form-urlencoded")]  # fmt: skip
    assert ask_raw(asking.app, path="/new", method="POST", headers=headers)[0] == 413


@pytest.mark.parametrize(("over", "status"), [(0, 404), (1, 414)])
def test_an_address_one_over_the_limit_is_refused(asking, over, status):
    assert asking.get("/" + "a" * (MAX_TARGET_BYTES - 1 + over)).status_code == status


TRAVERSALS = [
    "/static/../guard.py",
    "/static/..%2fguard.py",
    "/static/%2e%2e/guard.py",
    "/trial/small/photo/../../../../etc/passwd/left/even.jpg",
    "/trial/small/photo/..%2f..%2fetc%2fpasswd/left/even.jpg",
    "/trial/small/photo/photo-left-1/..%2f..%2f/even.jpg",
    "/trial/small/published/../sheet.html",
    "/trial/small/published/..%2f..%2fsheet.html",
    "/trial/../small",
    "/trial/..",
]


@pytest.mark.parametrize("path", TRAVERSALS)
@pytest.mark.parametrize("decoded", [False, True])
def test_no_path_leads_out(asking, path, decoded):
    from urllib.parse import unquote

    asked = unquote(path) if decoded else path
    assert ask_raw(asking.app, path=asked, headers=[(b"host", b"127.0.0.1:8765")])[0] == 404


def test_a_websocket_is_closed(asking):
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "websocket.connect"}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    app: Callable[..., Any] = asking.app
    scope = {"type": "websocket", "path": "/", "headers": [(b"host", b"127.0.0.1:8765")], "query_string": b""}
    with ThreadPoolExecutor(1) as thread:  # this one may hold the loop that drives a browser
        thread.submit(asyncio.run, app(scope, receive, send)).result()
    assert sent == [{"type": "websocket.close", "code": 1008}]
