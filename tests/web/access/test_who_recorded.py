"""What a device records carries its name; what a guest sends is not recorded."""

from __future__ import annotations

import json

from littoral.logbook.book import Logbook

NOTE = {"act": "note", "tank": "left", "note": "clear water", "when": "2026-03-08 18:30"}


def send(place, body):
    token = place.token("/pair")
    headers = {"origin": place.base, "content-type": "application/json", "x-littoral-token": token}
    return place("POST", "/api/entries", content=json.dumps(body), headers=headers)


def entries(folder):
    with Logbook.open(folder) as book:
        return book.entries("sparing-or-full")


def test_what_a_device_records_carries_its_name(shared):
    answer = send(shared.paired("Mira's phone"), NOTE)
    assert answer.status_code == 201, answer.text
    assert [one.who for one in entries(shared.folder)] == ["Mira's phone"]


def test_a_guest_records_nothing(shared):
    assert send(shared.paired("visitor", role="reader"), NOTE).status_code == 403
    assert entries(shared.folder) == ()


def test_a_guest_takes_no_table_in(shared):
    guest = shared.paired("visitor", role="reader")
    page = guest.get("/trial/sparing-or-full/import").text
    assert "only looks" in page
    assert "<form" not in page
    answer = guest(
        "POST",
        "/trial/sparing-or-full/import",
        data={"token": guest.token("/pair")},
        files={"file": ("a.csv", b"date;tank;temp\n2026-03-03;left;24\n")},
        headers={"origin": guest.base},
    )
    assert answer.status_code == 403
