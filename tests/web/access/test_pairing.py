"""Pairing: one code, one device, once; and what each kind of visitor may."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta

import pytest

from littoral.acts.keep_devices import NoDeviceError, list_devices, revoke_device
from littoral.logbook.devices import hash_of, read_devices
from littoral.logbook.invitations import write_invitation
from littoral.web.access.codes import Codes, TooManyTriesError, WrongCodeError
from littoral.web.access.limits import (
    CODE_CHARS,
    CODE_LASTS_S,
    COOKIE_LASTS_S,
    MAX_ADDRESSES,
    MAX_OPEN_CODES,
    TRIES_IN_ALL,
    TRIES_PER_MINUTE,
)

FORM = {"title": "Mine", "glass": "60 x 30 x 30 cm", "start": "2026-03-02"}


def _shown_code(text: str) -> str:
    found = re.search(r'class="code-text"[^>]*>([^<]+)<', text)
    assert found is not None
    return found[1]


def test_a_phone_is_paired_by_the_code_that_the_computer_shows(network):
    here, phone = network.here(), network.phone()
    answer = here.post("/devices/code", {"role": "keeper"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/devices#codes")
    page = here.get("/devices").text
    assert "<svg" in page
    answer = phone.pair(_shown_code(page), "Mira's phone")  # with the space that it is shown with
    assert answer.status_code == 303
    assert "Secret trial" in phone.get("/").text
    device = list_devices(network.folder)[0]
    assert (device.name, device.role) == ("Mira's phone", "keeper")
    assert "Mira&#39;s phone" in here.get("/devices").text
    assert _has_no_code(here.get("/devices").text)


def _has_no_code(text: str) -> bool:
    return "No code is open" in text and "code-text" not in text


def test_the_cookie_is_closed_to_scripts_and_other_sites(network):
    phone = network.phone()
    cookie = phone.pair(network.codes.make(role="keeper").text, "phone").headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert f"max-age={COOKIE_LASTS_S}" in cookie
    assert "secure" not in cookie  # without TLS no browser would send it back


def test_behind_a_proxy_with_tls_the_cookie_is_secure(proxied):
    phone = proxied.phone("127.0.0.1")
    cookie = phone.pair(proxied.codes.make(role="keeper").text, "phone").headers["set-cookie"]
    assert cookie.startswith("__Host-")
    assert "; Secure" in cookie
    assert "Path=/" in cookie
    assert "Domain" not in cookie
    assert "Secret trial" in phone.get("/").text


def test_the_key_itself_is_kept_nowhere(network):
    phone = network.paired("phone")
    identity, _, key = phone.cookies["littoral-device"].partition(".")
    kept = (network.folder / "devices" / f"{identity}.json").read_text()
    assert key not in kept
    assert json.loads(kept)["key_sha256"] == hash_of(key)


def test_whoever_is_not_paired_sees_nothing_of_the_logbook(network):
    phone = network.phone()
    answer = phone.get("/")
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    for path in ("/trial/small", "/trial/small/days.json", "/mix", "/new"):
        answer = phone.get(path, headers={"accept": "application/json"})
        assert answer.status_code == 401
        assert "Secret" not in answer.text
    assert phone.get("/pair").status_code == 200
    assert phone.get("/static/page.css").status_code == 200


def test_whoever_is_not_paired_changes_nothing(network):
    assert network.phone().post("/new", FORM).status_code == 401
    assert network.bench.started == []


def test_a_paired_device_records(network):
    phone = network.paired("phone")
    assert phone.post("/new", FORM, token=phone.token("/new")).status_code == 303
    assert network.bench.started == [FORM]


def test_a_guest_looks_and_writes_nothing(network):
    guest = network.paired("visitor", role="reader")
    assert "Secret trial" in guest.get("/").text
    answer = guest.post("/new", FORM, token=guest.token("/new"))
    assert answer.status_code == 403
    assert "As a reader you may not" in answer.text
    assert network.bench.started == []


def test_a_code_cannot_be_used_twice(network):
    code = network.codes.make(role="keeper").text
    assert network.phone().pair(code, "first").status_code == 303
    answer = network.phone("192.168.1.31").pair(code, "second")
    assert answer.status_code == 403
    assert "not open" in answer.text
    assert [one.name for one in list_devices(network.folder)] == ["first"]


def test_of_two_that_use_a_code_at_once_one_is_let_in(network):
    code = network.codes.make(role="keeper")
    found = [network.codes.find(code.text, address=address) for address in ("a", "b")]
    network.codes.spend(found[0])
    with pytest.raises(WrongCodeError):
        network.codes.spend(found[1])


@pytest.mark.parametrize(("after", "status"), [(CODE_LASTS_S - 1, 303), (CODE_LASTS_S, 403)])
def test_a_code_is_over_after_its_time(network, after, status):
    code = network.codes.make(role="keeper").text
    network.clock.now += after
    assert network.phone().pair(code, "phone").status_code == status


def test_a_code_that_is_over_is_neither_found_nor_shown_nor_spent():
    clock = iter([0.0, *[CODE_LASTS_S] * 3])
    codes = Codes(lambda: next(clock))
    code = codes.make(role="keeper")
    with pytest.raises(WrongCodeError):
        codes.find(code.text, address="a")
    with pytest.raises(WrongCodeError):
        codes.spend(code)
    assert codes.open() == ()


def test_opening_the_link_uses_no_code_up(network):
    code = network.codes.make(role="keeper").text
    for _ in range(3):
        page = network.phone().get(f"/pair?code={code}")
        assert f'value="{code}"' in page.text
    assert network.phone().pair(code, "phone").status_code == 303


def test_a_name_that_is_refused_costs_no_code(network):
    network.paired("Mira")
    code = network.codes.make(role="keeper").text
    for name, said in (
        ("", "empty"),
        (" mira ", "another device"),
        ("x" * 41, "41 characters"),
        ("a\x00b", "cannot be"),
    ):
        answer = network.phone("192.168.1.40").pair(code, name)
        assert answer.status_code == 422
        assert said in answer.text
    assert network.phone("192.168.1.40").pair(code, "Jo").status_code == 303


@pytest.mark.parametrize(("tries", "status"), [(TRIES_PER_MINUTE - 1, 303), (TRIES_PER_MINUTE, 429)])
def test_wrong_codes_from_one_address_are_few_in_a_minute(network, tries, status):
    code = network.codes.make(role="keeper").text
    phone = network.phone()
    for _ in range(tries):
        assert phone.pair("AAAAAAAA", "thief").status_code == 403
    answer = phone.pair(code, "phone")
    assert answer.status_code == status
    if status == 429:
        assert int(answer.headers["retry-after"]) == 60
        assert network.phone("192.168.1.99").pair(code, "another place").status_code == 303
        network.clock.now += 60
        again = network.codes.make(role="keeper").text
        assert phone.pair(again, "phone").status_code == 303


@pytest.mark.parametrize(("tries", "opens"), [(TRIES_IN_ALL - 1, True), (TRIES_IN_ALL, False)])
def test_many_wrong_codes_from_anywhere_close_the_open_ones(tries, opens):
    codes = Codes(lambda: 0.0)
    code = codes.make(role="keeper")
    for number in range(tries):
        with pytest.raises(WrongCodeError):
            codes.find("AAAAAAAA", address=f"192.168.1.{number}")
    assert (codes.open() == (code,)) is opens


def test_a_code_of_the_command_is_not_closed_by_one_wrong_try_after_many(tmp_path):
    codes = Codes(lambda: 0.0, folder=tmp_path)
    for number in range(TRIES_IN_ALL):
        with pytest.raises(WrongCodeError):
            codes.find("AAAAAAAA", address=f"192.168.1.{number}")
    now = datetime.now(UTC)
    write_invitation(tmp_path, "BCDEFGHJ", role="helper", now=now, until=now + timedelta(minutes=5))
    with pytest.raises(WrongCodeError):
        codes.find("AAAAAAAA", address="192.168.2.1")
    assert codes.find("bcde fghj", address="192.168.2.2").role == "helper"


def test_addresses_are_remembered_in_bounds():
    codes = Codes(lambda: 0.0)
    for number in range(MAX_ADDRESSES + 1):
        with pytest.raises(WrongCodeError):
            codes.find("AAAAAAAA", address=str(number))
    assert len(codes._wrong) == MAX_ADDRESSES
    assert "0" not in codes._wrong


def test_an_address_that_waits_is_told_how_long():
    clock = iter([0.0] * 5 + [20.0])
    codes = Codes(lambda: next(clock))
    for _ in range(5):
        with pytest.raises(WrongCodeError):
            codes.find("AAAAAAAA", address="a")
    with pytest.raises(TooManyTriesError, match="Wait 40 seconds"):
        codes.find("AAAAAAAA", address="a")


def test_one_more_code_closes_the_oldest():
    codes = Codes(lambda: 0.0)
    made = [codes.make(role="keeper") for _ in range(MAX_OPEN_CODES + 1)]
    assert set(codes.open()) == set(made[1:])
    assert all(len(code.text) == CODE_CHARS for code in made)
    assert len({code.text for code in made}) == len(made)


def test_a_revoked_device_is_refused_from_its_next_request(network):
    phone, here = network.paired("phone"), network.here()
    token = phone.token("/new")
    device = list_devices(network.folder)[0]
    assert here.post("/devices/revoke", {"device": device.id}).status_code == 303
    assert phone.get("/").status_code == 303
    assert phone.get("/trial/small/days.json", headers={"accept": "*/*"}).status_code == 401
    assert phone.post("/new", FORM, token=token).status_code == 401
    assert network.bench.started == []
    assert list_devices(network.folder)[0].revoked_at is not None


def test_a_device_revoked_by_another_program_is_refused_at_once(network):
    from datetime import UTC, datetime

    phone = network.paired("phone")
    revoke_device(network.folder, "Phone", now=datetime(2026, 3, 1, tzinfo=UTC))
    assert phone.get("/").status_code == 303
    with pytest.raises(NoDeviceError, match="No device is let in"):
        revoke_device(network.folder, "phone", now=datetime(2026, 3, 1, tzinfo=UTC))


@pytest.mark.parametrize("spoil", [b"", b"{", b"[]", b'{"id": 1}', b"\xff" * 9000])
def test_a_damaged_file_of_a_device_lets_nobody_in_and_breaks_no_page(network, spoil):
    phone = network.paired("phone")
    file = next((network.folder / "devices").glob("*.json"))
    file.write_bytes(spoil)
    assert phone.get("/").status_code == 303
    assert network.here().get("/devices").status_code == 200
    assert read_devices(network.folder) == ()


@pytest.mark.parametrize(
    "cookie",
    [
        "littoral-device=", "littoral-device=x", "littoral-device=.", "littoral-device=../../logbook.x",
        "littoral-device={id}.", "littoral-device={id}.wrong", "littoral-device={other}.{key}",
        "littoral-device={id}.{key}; littoral-device={id}.{key}", "Littoral-Device={id}.{key}", "littoral-device={id}",
    ],
)  # fmt: skip
def test_a_cookie_that_is_not_exactly_one_right_key_is_none(network, cookie):
    identity, _, key = network.paired("phone").cookies["littoral-device"].partition(".")
    stranger = network.phone()
    said = cookie.format(id=identity, key=key, other="0" * 16)
    assert stranger.get("/", headers={"cookie": said}).status_code == 303
    assert stranger.get("/", headers={"cookie": f"a=b; littoral-device={identity}.{key}"}).status_code == 200


def test_each_visitor_has_a_token_of_its_own(network):
    first, second = network.paired("first"), network.paired("second", address="192.168.1.31")
    tokens = {network.here().token("/new"), first.token("/new"), second.token("/new"), network.phone().token()}
    assert len(tokens) == 4
    assert first.post("/new", FORM, token=second.token("/new")).status_code == 403
    assert network.bench.started == []
