"""Sharing opens exactly the doors that were asked for; each trick at them has its own refusal."""

from __future__ import annotations

import asyncio
import re

import pytest

from littoral.web.access.doors import FORWARDING, WrongNameError, doors_of, is_loopback
from littoral.web.access.opening import NotLocalError, opened_doors, shared_addresses, sharing_words
from littoral.web.access.share import Share
from littoral.web.app import ROUTES
from littoral.web.guard import Guard
from littoral.web.limits import MAX_RANGE_CHARS, MAX_UPLOAD_BYTES, MAX_UPLOAD_FIELDS

HOST = b"192.168.1.5:8765"
FORM = {"title": "Mine"}


def test_the_names_of_the_network_are_answered_and_no_others(network):
    phone = network.phone()
    for host in ("192.168.1.5:8765", "tanks.local:8765", "TANKS.local:8765"):
        assert phone.get("/pair", headers={"host": host}).status_code == 200
    for host in ("rebound.example.org:8765", "192.168.1.5", "192.168.1.6:8765", "tanks.local.example.org:8765", "x"):
        answer = phone.get("/pair", headers={"host": host})
        assert answer.status_code == 421  # DNS rebinding ends here
        assert "token" not in answer.text


def test_a_phone_that_says_localhost_is_not_here(network):
    for host in ("127.0.0.1:8765", "localhost:8765", "[::1]:8765"):
        answer = network.phone().get("/", headers={"host": host})
        assert answer.status_code == 421
        assert "Secret" not in answer.text


def test_this_computer_under_its_name_in_the_network_is_a_device_like_others(network):
    place = network.phone("192.168.1.5")
    assert place.get("/").status_code == 303
    assert place.get("/devices").status_code == 403


@pytest.mark.parametrize("header", FORWARDING)
def test_whatever_came_through_a_proxy_is_not_believed_to_be_here(network, header):
    for place in (network.here(), network.phone()):
        answer = place.get("/", headers={header: "127.0.0.1"})
        assert answer.status_code == 400
        assert "--behind-proxy" in answer.text
        assert "Secret" not in answer.text


@pytest.mark.parametrize("path", ["/devices", "/devices/", "/devices/code", "/here"])
def test_codes_and_devices_are_shown_to_keepers_only(network, path):
    for place in (network.phone(), network.paired("phone", role="helper"), network.paired("guest", role="reader")):
        answer = place.get(path)
        assert answer.status_code == 403
        assert re.search("on the computer|may not let others in", answer.text)


def test_no_helper_makes_codes_or_revokes(network):
    phone = network.paired("phone", role="helper")
    for path in ("/devices/code", "/devices/revoke"):
        assert phone.post(path, {"role": "keeper"}).status_code == 403
    assert network.codes.open() == ()


def test_behind_a_proxy_being_here_needs_the_printed_address(proxied):
    here = proxied.here()
    assert here.get("/devices").status_code == 403  # a proxy that passes no Host on looks just like this
    assert here.get("/").status_code == 303
    assert here.get("/here?key=wrong").status_code == 403
    answer = here.get(f"/here?key={proxied.app.state.doors.here_key}")
    assert (answer.status_code, answer.headers["location"]) == (303, "/devices")
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert here.get("/devices").status_code == 200
    assert proxied.here().get("/devices").status_code == 403


@pytest.mark.parametrize("header", FORWARDING)
def test_the_printed_address_is_of_no_use_through_the_proxy(proxied, header):
    key = proxied.app.state.doors.here_key
    through = proxied.phone("127.0.0.1")
    assert through.get(f"/here?key={key}").status_code == 403
    cookie = f"littoral-here={key}"
    assert through.get("/devices", headers={"cookie": cookie}).status_code == 403
    answer = proxied.here().get("/devices", headers={"cookie": cookie, header: "203.0.113.9"})
    assert answer.status_code == 421


def test_behind_a_proxy_a_form_comes_from_the_https_address(proxied):
    phone = proxied.phone("127.0.0.1")
    code = proxied.codes.make(role="keeper").text
    for origin in ("http://tanks.example.org", "https://tanks.example.org.evil.example", "null"):
        answer = phone.post("/pair", {"code": code, "name": "x"}, headers={"origin": origin})
        assert answer.status_code == 403
    assert phone.pair(code, "x").status_code == 303


def test_a_form_from_another_page_is_refused_on_the_network_too(network):
    phone = network.paired("phone")
    token = phone.token("/new")
    for headers in (
        {"origin": "http://evil.example"}, {"origin": "http://tanks.local:8765"}, {"origin": "http://127.0.0.1:8765"},
        {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"},
    ):  # fmt: skip
        assert phone.post("/new", FORM, token=token, headers=headers).status_code == 403
    assert network.bench.started == []


@pytest.mark.parametrize(("count", "said"), [(1, "not open"), (2, "another page")])
def test_two_origins_are_none(network, raw, count, said):
    body = f"token={network.phone().token()}&code=AAAA&name=x".encode()

    async def whole() -> dict[str, object]:
        return {"type": "http.request", "body": body, "more_body": False}

    head = _form_head("")
    headers = [head[0], *[head[1]] * count, head[2]]
    status, text = raw(network.app, path="/pair", method="POST", headers=headers, client="192.168.1.30", body=whole)
    assert status == 403
    assert said in text


@pytest.mark.parametrize("name", [b"content-length", b"content-type"])
def test_a_head_that_says_a_thing_twice_is_refused(network, raw, name):
    headers = [(b"host", HOST), (b"origin", b"http://" + HOST), (b"content-length", b"3"),
               (b"content-type", b"application/x-www-form-urlencoded")]  # fmt: skip
    headers += [(name, dict(headers)[name])]
    assert raw(network.app, path="/pair", method="POST", headers=headers, client="192.168.1.30")[0] == 400


@pytest.mark.parametrize(
    "path", ["/devices/../", "/static/../devices", "/pair/../devices", "/pair/../trial/small", "/static/../../devices",
             "/static/..%2fdevices", "//devices", "/%2e%2e/devices", "/Devices", "/devices%2fcode",
             "/pair%3f/../devices", "/static%3f/devices", "/pair%23/trial/small", "/trial%09/small",
             "/static%0a/../devices"],
)  # fmt: skip
@pytest.mark.parametrize("decoded", [False, True])
def test_no_path_leads_a_stranger_to_what_is_not_for_them(network, raw, path, decoded):
    from urllib.parse import unquote

    asked = unquote(path) if decoded else path
    status, text = raw(network.app, path=asked, headers=[(b"host", HOST)], client="192.168.1.30")
    assert status in (401, 403, 404)
    assert "token" not in text
    assert "Secret" not in text


@pytest.mark.parametrize(("said", "status"), [
    ("bytes=0-9", 206), ("bytes=0-0,2-2", 416), ("bytes=" + ",".join(["0-"] * 1000), 416),
    ("bytes=0-" + "9" * (MAX_RANGE_CHARS - 8), 206), ("bytes=0-" + "9" * (MAX_RANGE_CHARS - 7), 416),
])  # fmt: skip
def test_one_stretch_of_a_file_at_a_time(asking, said, status):
    answer = asking.get("/trial/small/published/sheet.html", headers={"range": said})
    assert answer.status_code == status


def test_two_range_headers_are_refused(network, raw):
    headers = [(b"host", HOST), (b"range", b"bytes=0-1"), (b"range", b"bytes=2-3")]
    assert raw(network.app, path="/pair", headers=headers, client="192.168.1.30")[0] == 416


def _form_head(token: str) -> list[tuple[bytes, bytes]]:
    return [(b"host", HOST), (b"origin", b"http://" + HOST), (b"content-type", b"application/x-www-form-urlencoded")]


def test_a_body_that_does_not_come_is_given_up(network, raw):
    async def never() -> None:
        await asyncio.Event().wait()

    async def app(*_: object) -> None:
        raise AssertionError("it got through")

    guard = Guard(app, doors=network.app.state.doors, token="t", routes=ROUTES, patience_s=0)
    status, text = raw(guard, path="/pair", method="POST", headers=_form_head("t"), client="192.168.1.30", body=never)
    assert status == 408
    assert "did not arrive" in text


def test_a_body_that_breaks_off_is_refused(network, raw):
    pieces = iter([{"type": "http.request", "body": b"token=", "more_body": True}, {"type": "http.disconnect"}])

    async def broken() -> dict[str, object]:
        return next(pieces)

    status, _ = raw(
        network.app, path="/pair", method="POST", headers=_form_head(""), client="192.168.1.30", body=broken
    )
    assert status == 400


def _parts(token: str, fields: int, size: int) -> tuple[bytes, dict[str, str]]:
    def part(head: str, value: bytes) -> bytes:
        return f"--b\r\nContent-Disposition: form-data; {head}\r\n\r\n".encode() + value + b"\r\n"

    body = part('name="token"', token.encode())
    body += b"".join(part(f'name="f{number}"', b"1") for number in range(fields - 1))
    body += b'--b\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
    end = b"\r\n--b--\r\n"
    return body + b"a" * (size - len(body) - len(end)) + end, {"content-type": "multipart/form-data; boundary=b"}


@pytest.mark.parametrize(("fields", "size", "status"), [
    (MAX_UPLOAD_FIELDS, 3000, 404), (MAX_UPLOAD_FIELDS + 1, 3000, 400), (1, MAX_UPLOAD_BYTES, 404),
    (1, MAX_UPLOAD_BYTES + 1, 413),
])  # fmt: skip
def test_a_file_in_a_form_is_bounded(network, fields, size, status):
    here = network.here()
    body, headers = _parts(here.token("/new"), fields, size)
    answer = here("POST", "/trial/nowhere/import", content=body, headers={"origin": here.base, **headers})
    assert answer.status_code == status


@pytest.mark.parametrize(
    "body", [b"", b"--b", b"--b\r\n\r\n", b"--b\r\nContent-Disposition: x\r\n\r\nA\r\n--b--\r\n", b"\x00" * 99]
)
@pytest.mark.parametrize(
    "kind", ["multipart/form-data", "multipart/form-data; boundary=b", "multipart/form-data; boundary="]
)
def test_a_form_of_parts_that_is_none_is_refused(network, body, kind):
    here = network.here()
    answer = here("POST", "/trial/small/import", content=body, headers={"origin": here.base, "content-type": kind})
    assert answer.status_code in (400, 403)


def test_a_file_is_taken_nowhere_else(network):
    here = network.here()
    body, headers = _parts(here.token("/new"), 2, 3000)
    for path in ("/new", "/pair", "/devices/code"):
        assert here("POST", path, content=body, headers={"origin": here.base, **headers}).status_code == 415


@pytest.mark.parametrize(
    "address", ["8.8.8.8", "0.0.0.0", "::", "127.0.0.1", "224.0.0.1", "169.254.3.4", "2001:4860::1", "tanks.local", "x"]
)
def test_the_page_is_opened_to_addresses_of_a_local_network_only(address):
    with pytest.raises(NotLocalError, match="no address of a local network"):
        shared_addresses(Share(address))


@pytest.mark.parametrize("address", ["192.168.1.5", "10.0.0.7", "172.16.0.1", "fd00::2"])
def test_private_addresses_are_taken(address):
    assert shared_addresses(Share(address)) == (address,)


def test_nothing_more_is_listened_on_without_sharing_or_behind_a_proxy():
    assert shared_addresses(None) == ()
    assert shared_addresses(Share(proxy="https://tanks.example.org")) == ()
    assert opened_doors(8765, None, ()).shared == {}


@pytest.mark.parametrize("name", ["", "localhost", "a b", "a/b", "a:80", "http://a", "-a", "a..b", "x" * 254, "é"])
def test_a_host_name_that_is_none_is_refused(name):
    with pytest.raises(WrongNameError, match="cannot be used"):
        doors_of(8765, names=(name,))


@pytest.mark.parametrize("proxy", [
    "http://tanks.example.org", "https://", "tanks.example.org", "https://u@tanks.example.org", "https://a.b/path",
    "https://a.b?x", "https://a.b#x", "https://a.b:99999", "https://localhost", "https://[::1",
])  # fmt: skip
def test_a_proxy_address_that_is_none_is_refused(proxy):
    with pytest.raises(WrongNameError, match=r"tanks\.example\.org"):
        doors_of(8765, proxy=proxy)


def test_each_door_knows_its_origin():
    doors = doors_of(80, addresses=("192.168.1.5", "fd00::2"), names=("Tanks.local",))
    assert doors.origin_of("192.168.1.5") == "http://192.168.1.5"
    assert doors.origin_of("[fd00::2]:80") == "http://[fd00::2]"
    assert doors.origin_of("tanks.local") == "http://tanks.local"
    assert doors_of(1, proxy="https://a.b:8443/").origin_of("a.b:8443") == "https://a.b:8443"
    assert doors_of(1, proxy="https://a.b").origin_of("a.b:443") == "https://a.b"


@pytest.mark.parametrize(("client", "here"), [
    ("127.0.0.1", True), ("127.8.9.1", True), ("::1", True), ("192.168.1.5", False), ("::ffff:192.168.1.5", False),
    ("localhost", False), ("", False),
])  # fmt: skip
def test_loopback_is_told_from_the_network(client, here):
    assert is_loopback(client) is here


def test_the_terminal_says_what_is_protected_and_what_is_not(network):
    said = sharing_words(network.app.state.doors, network.codes, here="http://127.0.0.1:8765/")
    code = network.codes.open()[0]
    assert code.shown in said
    assert "http://192.168.1.5:8765/pair" in said
    assert "Nothing is encrypted on its way" in said
    assert "█" in said


def test_the_page_says_plainly_that_listeners_are_not_kept_out(network, proxied):
    text = " ".join(network.here().get("/devices").text.split())
    assert "Someone who listens on the same network, or runs it, can read everything you see" in text


def test_no_page_asks_anything_of_anybody_else(network):
    network.codes.make(role="keeper")
    for place, path in ((network.here(), "/devices"), (network.phone(), "/pair"), (network.here(), "/")):
        text = place.get(path).text
        asked = re.findall(r'(?:src|href|action|srcset|data|poster)="([^"]*)"', text)
        assert asked
        assert [one for one in asked if not one.startswith(("/", "#")) or one.startswith("//")] == []
        assert "<style" not in text
        assert " style=" not in text
        assert text.count("<script") == text.count('<script defer src="/') + text.count('<script type="module" src="/')
