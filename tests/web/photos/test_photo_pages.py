"""Photos in the browser's way: one request a file, each with its row; decisions; nothing for who only looks."""

from __future__ import annotations

import io
import json
from datetime import date, timedelta
from pathlib import Path
from urllib.parse import urlencode

import pytest
from PIL import Image
from tests.photos_made import blurred, file_of, shot

from littoral.logbook.book import Logbook
from littoral.logbook.originals import sha256_of
from littoral.trial.written.reader import read_trial
from littoral.web.app import create_app
from littoral.web.limits import MAX_INTAKE_BYTES

WHOLE = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
KEY = "sparing-or-full"
FIRST = date.today() - timedelta(days=9)


@pytest.fixture
def page(tmp_path: Path, asking):
    text = WHOLE.replace("2026-03-02", str(FIRST))
    trial, _ = read_trial(text, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, text)
    app = create_app(tmp_path / "logbook", port=8765)
    yield type(asking)(app)
    app.state.waiting.close()


def taken(day: int) -> str:
    return f"{FIRST + timedelta(days=day):%Y:%m:%d} 18:00:00"


def headers(page, kind: str) -> dict[str, str]:
    token = page.get("/api/session").json()["token"]
    return {
        "origin": page.base, "sec-fetch-site": "same-origin", "content-type": kind, "x-littoral-token": token,
        "accept": "application/json",
    }  # fmt: skip


def send(page, data: bytes, name: str = "a.jpg", *, kind: str = "image/jpeg", **told: str):
    address = f"/api/trials/{KEY}/photos?{urlencode({'name': name, **told})}"
    return page("POST", address, content=data, headers=headers(page, kind))


def decide(page, **sent: str):
    return page(
        "POST", "/api/photos/decisions", content=json.dumps(sent).encode(), headers=headers(page, "application/json")
    )


def test_a_file_has_its_row_and_is_known_afterwards(page):
    data = file_of(shot("left", 1), taken=taken(1))
    assert page.get(f"/api/trials/{KEY}/photos/{sha256_of(data)}").status_code == 204
    answer = send(page, data)
    assert (answer.status_code, answer.json()["state"], answer.json()["view_by"]) == (201, "added", "only view")
    again = send(page, data, "b.jpg")
    assert (again.status_code, again.json()["state"]) == (200, "duplicate")
    assert page.get(f"/api/trials/{KEY}/photos/{sha256_of(data)}").json()["state"] == "duplicate"
    assert page.get(f"/api/trials/{KEY}/photos/..%2F..%2Fpasswd").status_code in (204, 404)
    (listed,) = page.get(f"/api/trials/{KEY}/photos").json()["photos"]
    assert (listed["file"], listed["state"]) == ("a.jpg", "in use")


@pytest.mark.parametrize(
    ("data", "kind", "state", "asks"),
    [
        (b"dear diary", "image/jpeg", "refused", ""),
        (b"", "application/octet-stream", "refused", ""),
        (file_of(shot("left", 1)), "image/jpeg", "asked", "date"),
        (file_of(shot("left", 1), taken="2001:01:01 00:00:00"), "image/jpeg", "asked", "date"),
        (file_of(shot("left", 1), kind="HEIC", taken=taken(1)), "image/heic", "added", ""),
    ],
)
def test_what_cannot_be_taken_says_why(page, data, kind, state, asks):
    answer = send(page, data, kind=kind)
    row = answer.json()
    assert (row["state"], row["asks"], answer.status_code) == (state, asks, 201 if state == "added" else 200)
    assert bool(row["said"]) == (state != "added")


def test_an_answer_to_what_was_asked_is_sent_with_the_photo(page):
    when = f"{FIRST + timedelta(days=2)} 18:30"
    row = send(page, file_of(shot("left", 2)), when=when).json()
    assert row["state"] == "added"
    wrong = send(page, file_of(shot("left", 3)), when="some day", view="lfet", clock="soon")
    assert wrong.status_code == 422
    assert {fault["where"] for fault in wrong.json()["faults"]} == {"when", "view", "clock"}
    assert send(page, b"x", colour="red").json()["faults"][0]["where"] == "colour"


def test_a_doubtful_photo_is_decided_about(page):
    for day in range(2):
        assert send(page, file_of(shot("left", day), taken=taken(day))).json()["state"] == "added"
    row = send(page, file_of(blurred(shot("left", 2)), taken=taken(2)), "soft.jpg").json()
    assert (row["state"], row["doubts"][0][:7]) == ("to decide", "blurred")
    assert decide(page, photos=row["photo"], decision="set aside").status_code == 422
    done = decide(page, photos=row["photo"], decision="set aside", reason="soft")
    assert (done.status_code, done.json()["new"]) == (201, 1)
    assert decide(page, photos=row["photo"], decision="set aside", reason="soft").status_code == 200
    states = {one["file"]: one["state"] for one in page.get(f"/api/trials/{KEY}/photos").json()["photos"]}
    assert states["soft.jpg"] == "set aside"
    assert decide(page, photos="", decision="keep").status_code == 422
    assert decide(page, photos="nothing", decision="keep").status_code == 404


def test_a_small_picture_is_upright_and_holds_nothing_else(page):
    row = send(page, file_of(shot("left", 1), taken=taken(1), place=True, orientation=6)).json()
    for _ in range(2):  # made, and from the cache
        answer = page.get(f"/trial/{KEY}/photos/{row['photo']}/small.jpg")
        with Image.open(io.BytesIO(answer.content)) as shown:
            assert shown.width > shown.height
            assert not shown.getexif()
    assert page.get(f"/trial/{KEY}/photos/nothing/small.jpg").status_code == 404
    assert page.get(f"/trial/other/photos/{row['photo']}/small.jpg").status_code == 404


def test_the_page_says_what_it_takes(page):
    text = page.get(f"/trial/{KEY}/photos/add").text
    for said in ("Choose a folder", "48 MB", "0 photos", "left tank, front", "littoral photos add"):
        assert said in text
    assert page.get("/trial/other/photos/add").status_code == 404


def test_a_body_over_the_limit_is_refused(page):
    head = {**headers(page, "image/jpeg"), "content-length": str(MAX_INTAKE_BYTES + 1)}
    assert page("POST", f"/api/trials/{KEY}/photos", content=b"x", headers=head).status_code == 413


def test_without_the_token_nothing_comes_in(page):
    head = {**headers(page, "image/jpeg"), "x-littoral-token": "x"}
    assert page("POST", f"/api/trials/{KEY}/photos", content=file_of(shot("left", 1)), headers=head).status_code == 403
    assert page.get(f"/api/trials/{KEY}/photos").json()["photos"] == []
