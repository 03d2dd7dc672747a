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


def test_while_the_server_is_away_nothing_counts_as_saved(shared, monkeypatch, postgres, tmp_path):
    """The page and the API say so; when the server is there again, the same is sent once more and kept once."""
    from littoral.acts.move_logbook import move_logbook
    from littoral.web.app import create_app

    monkeypatch.setenv("LITTORAL_DATABASE_URL", right := postgres.ready())
    move_logbook(shared.folder, tmp_path / "bench")
    shared.app = create_app(tmp_path / "bench", port=8765, doors=shared.app.state.doors, codes=shared.codes)
    shared.folder = tmp_path / "bench"
    phone = shared.paired("phone", role="helper")
    note = {**NOTE, "id": "0f6f1e8e-5f3b-4c0e-9f57-0d3c7c0d9d11"}
    monkeypatch.setenv("LITTORAL_DATABASE_URL", "postgresql://u:hidden@/bench?host=/nowhere")
    answer = send(phone, note)
    assert (answer.status_code, answer.json()["kind"]) == (503, "away")
    assert "Not saved" in answer.json()["detail"]
    mended = phone.post(f"/entry/{note['id']}/undo", {})
    page = phone.get("/today")
    for one in (answer, mended, page):
        assert one.status_code == 503
        assert "Check that the server runs" in one.text
        assert "hidden" not in one.text
    monkeypatch.setenv("LITTORAL_DATABASE_URL", right)
    assert [send(phone, note).status_code for _ in range(2)] == [201, 200]
    assert [entry.who for entry in entries(shared.folder)] == ["phone"]
