"""The addresses of the app on a phone, asked as a browser would: photos in, the camera's page, the worker."""

from __future__ import annotations

import io
import json
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode

import pytest
from PIL import Image

from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial
from littoral.web.app import create_app
from littoral.web.assets import own_assets
from littoral.web.limits import MAX_BODY_BYTES, MAX_PHOTO_BYTES
from littoral.web.phone.worker import SHELL, WORKER_POLICY, shell, worker_script

WHOLE = Path(__file__).parents[2] / "trial" / "whole-trial.toml"
KEY = "sparing-or-full"


@pytest.fixture
def logbook(tmp_path: Path) -> Path:
    text = WHOLE.read_text(encoding="utf-8").replace("2026-03-02", str(date.today() - timedelta(days=9)))
    trial, _ = read_trial(text, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, text)
    return tmp_path / "logbook"


@pytest.fixture
def page(logbook, asking):
    """A client at the page of that logbook."""
    app = create_app(logbook, port=8765)
    yield type(asking)(app)
    app.state.waiting.close()


def photo(shade: int = 90) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (320, 240), (20, shade, 60)).save(file, "JPEG")
    return file.getvalue()


def send(page, data: bytes, *, kind: str = "image/jpeg", headers: dict[str, str] | None = None, **fields: str):
    token = page.get("/api/session").json()["token"]
    own = {"origin": page.base, "sec-fetch-site": "same-origin", "content-type": kind, "x-littoral-token": token}
    address = f"/api/photos?{urlencode({'view': 'left', **fields})}"
    return page("POST", address, content=data, headers={**own, "accept": "application/json", **(headers or {})})


def stored(logbook: Path):
    with Logbook.open(logbook) as book:
        return book.entries(KEY)


def test_a_photo_comes_in_once(page, logbook):
    when = (datetime.now(UTC) - timedelta(hours=5)).replace(microsecond=0)
    fields = {"when": f"{when:%Y-%m-%d %H:%M:%S}+00:00", "zone": "Europe/Lisbon", "name": "a b.jpg", "who": "A"}
    first, again = send(page, photo(), **fields), send(page, photo(), **fields)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["ids"] == again.json()["ids"]
    (entry,) = stored(logbook)
    assert (entry.at, entry.zone, entry.who, entry.payload.file_name) == (when, "Europe/Lisbon", "A", "a b.jpg")


def test_the_largest_photo_is_taken_and_one_byte_more_is_not(page, logbook):
    whole = photo()
    largest = whole + bytes(MAX_PHOTO_BYTES - len(whole))  # bytes behind a JPEG's end are no part of the picture
    assert send(page, largest).status_code == 201
    assert send(page, largest + b"\0").status_code == 413
    assert len(stored(logbook)) == 1


@pytest.mark.parametrize("path", ["/api/entries", "/new"])
def test_no_other_address_takes_a_photo_or_so_large_a_body(page, path):
    token = page.get("/api/session").json()["token"]
    headers = {"origin": page.base, "content-type": "image/jpeg", "x-littoral-token": token}
    assert page("POST", path, content=photo(), headers=headers).status_code == 415
    headers["content-type"] = "application/json" if path.startswith("/api") else "application/x-www-form-urlencoded"
    assert page("POST", path, content=bytes(MAX_BODY_BYTES + 1), headers=headers).status_code == 413


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"x-littoral-token": "wrong"}, 403),
        ({"origin": "http://example.org"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"content-type": "image/gif"}, 415),
        ({"content-type": "multipart/form-data; boundary=x"}, 415),
        ({"content-type": "application/json"}, 415),
    ],
)
def test_each_guard_refuses(page, logbook, headers, status):
    assert send(page, photo(), headers=headers).status_code == status
    assert stored(logbook) == ()


def test_what_is_wrong_is_named_by_its_field(page, logbook):
    answer = send(page, b"GIF89a" + bytes(100), view="lfet", when="tomorrow", zone="No/Where", id="x")
    assert answer.status_code == 422
    assert {fault["where"] for fault in answer.json()["faults"]} == {"photo", "view", "when", "zone", "id"}
    assert {fault["where"] for fault in send(page, photo(), veiw="left").json()["faults"]} == {"veiw"}
    assert send(page, photo(), trial="nowhere").status_code == 404
    assert stored(logbook) == ()


def test_the_camera_page_names_view_and_last_photo(page):
    assert "This is the first photo of this view." in page.get(f"/camera?trial={KEY}&view=left").text
    assert page.get(f"/camera/before/{KEY}/left.jpg").status_code == 404
    identity = send(page, photo()).json()["ids"][0]
    text = page.get(f"/camera?trial={KEY}&tank=left").text
    assert f'data-before="/camera/before/{KEY}/left.jpg?v={identity}"' in text
    before = page.get(f"/camera/before/{KEY}/left.jpg")
    assert (before.status_code, before.headers["content-type"]) == (200, "image/jpeg")
    assert Image.open(io.BytesIO(before.content)).size == (320, 240)
    for path in ("/camera?trial=nowhere", f"/camera?trial={KEY}&view=nowhere", f"/camera?trial={KEY}&tank=nowhere"):
        assert page.get(path).status_code == 404


def test_no_page_of_the_phone_holds_inline_script_or_style(page):
    for path in ("/camera", f"/camera?trial={KEY}&view=left", "/offline", "/today"):
        text = page.get(path).text
        assert "<style" not in text
        assert not re.search(r"\s(style|on[a-z]+)=", text)
        assert text.count("<script") == text.count('<script type="module" src="/static/')


def test_the_offline_page_holds_no_token(page):
    text = page.get("/offline").text
    assert page.app.state.token not in text


def test_the_manifest_names_icons_that_are_there(page):
    manifest = json.loads(page.get("/app.webmanifest").content)
    sizes = set()
    for one in manifest["icons"]:
        image = Image.open(io.BytesIO(page.get(one["src"]).content))
        assert f"{image.width}x{image.height}" == one["sizes"]
        sizes.add((one["sizes"], one["purpose"]))
    assert {("192x192", "maskable"), ("512x512", "maskable"), ("192x192", "any"), ("512x512", "any")} == sizes
    assert page.get(manifest["start_url"]).status_code == 200


def test_the_worker_keeps_what_the_pages_at_the_tank_load(page):
    """Every script and style that those pages name, and every module that these import, is in the shell."""
    kept = set(shell())
    for path in ("/today", f"/camera?trial={KEY}&view=left", f"/entry/dose?trial={KEY}&tank=left", "/offline"):
        text = page.get(path).text
        named = set(re.findall(r'(?:<script type="module" src|<link rel="stylesheet" href)="([^"]+)"', text))
        while named:
            one = named.pop()
            assert one in kept, (path, one)
            if one.endswith(".js"):
                script = own_assets()[one.removeprefix("/static/")].content.decode()
                named |= {f"/static/{name}" for name in re.findall(r'^import .*"\./([^"]+)";$', script, re.MULTILINE)}
    for address in kept:
        assert page.get(address).status_code == 200


def test_every_named_part_of_the_shell_is_there():
    assert set(SHELL) == set(shell())


def test_the_worker_changes_with_any_of_our_files(page, monkeypatch):
    answer = page.get("/sw.js")
    assert answer.headers["content-security-policy"] == WORKER_POLICY
    assert answer.headers["cache-control"] == "no-cache"
    before = worker_script()
    changed = {**own_assets(), "page.css": own_assets()["mark.svg"]}
    monkeypatch.setattr("littoral.web.phone.worker.own_assets", lambda: changed)
    worker_script.cache_clear()
    assert worker_script() != before
    worker_script.cache_clear()
