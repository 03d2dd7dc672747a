"""What a device records carries its name; what a guest sends is not recorded."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial
from littoral.web.access.codes import Codes
from littoral.web.access.doors import doors_of
from littoral.web.app import create_app

TEXT = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
NOTE = {"act": "note", "tank": "left", "note": "clear water", "when": "2026-03-08 18:30"}


@pytest.fixture
def shared(tmp_path, network):
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
    assert send(shared.paired("visitor", may_write=False), NOTE).status_code == 403
    assert entries(shared.folder) == ()


def test_a_guest_takes_no_table_in(shared):
    guest = shared.paired("visitor", may_write=False)
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
