"""The page that pools files: they come in with a form, bounded, and nothing of them stays."""

from __future__ import annotations

import html
from pathlib import Path
from tempfile import SpooledTemporaryFile
from types import ModuleType
from typing import Any

import pytest

from littoral.web.limits import MAX_BODY_BYTES, MAX_POOL_BYTES, MAX_POOL_FIELDS, MAX_POOL_FILES

RATIOS = [0.1, 0.2, 0.15, 0.12, 0.3, 0.22]


def send(asking: Any, files: list[tuple[str, tuple[str, bytes, str]]], path: str = "/pool", **fields: str) -> Any:
    headers = {"origin": asking.base, "sec-fetch-site": "same-origin"}
    data = {"token": asking.app.state.token, **fields}
    return asking("POST", path, data=data, files=files, headers=headers)


def json_files(files: dict[str, bytes]) -> list[tuple[str, tuple[str, bytes, str]]]:
    return [("files", (f"{keeper}.json", data, "application/json")) for keeper, data in files.items()]


@pytest.fixture
def homes(keepers_made: ModuleType) -> dict[str, bytes]:
    return keepers_made.growths(RATIOS)


def test_the_empty_page_says_what_to_choose_and_that_nothing_is_kept(asking) -> None:
    page = asking.get("/pool")
    assert page.status_code == 200
    assert "nothing of them is kept" in page.text
    assert 'enctype="multipart/form-data"' in page.text
    assert "Across keepers" not in page.text


def test_files_are_pooled_with_words_picture_and_table(asking, homes) -> None:
    page = send(asking, json_files(homes), smallest="40 %")
    assert page.status_code == 200
    assert "Across keepers" in page.text
    assert page.text.count("<svg") == 2
    for part in ("home 3", "Average without", "+22 (+11 to +35)", "I²"):
        assert part in page.text
    assert " style=" not in page.text
    assert "<style" not in page.text


def test_nothing_of_it_is_written(asking, homes, bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not even for a while: large files would go to a temporary file if the reader of forms were left to itself."""
    made: list[object] = []
    monkeypatch.setattr(SpooledTemporaryFile, "rollover", lambda self: made.append(self))
    before = sorted(Path(bench.folder).rglob("*"))
    large = ("files", ("large.json", b" " * 1_900_000, "application/json"))
    assert send(asking, [*json_files(homes), large], leave_out="yes").status_code == 200
    assert made == []
    assert sorted(Path(bench.folder).rglob("*")) == before


def test_what_is_wrong_stands_on_the_page_with_the_file_it_is_in(asking, homes) -> None:
    page = send(asking, [*json_files(homes), ("files", ("notes <b>.json", b"{}", "application/json"))])
    assert page.status_code == 422
    assert "notes &lt;b&gt;.json" in page.text
    assert "Across keepers" not in page.text
    left = send(asking, [*json_files(homes), ("files", ("notes.json", b"{}", "application/json"))], leave_out="yes")
    assert left.status_code == 200
    assert "Left out" in left.text
    assert "Across keepers" in left.text


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"scale": "log"}, 'Write "ratio" or'),
        ({"smallest": "much"}, "a number above 0"),
        ({"measure": "luck"}, "no measure"),
    ],
)
def test_a_wrong_field_is_named(asking, homes, fields: dict[str, str], said: str) -> None:
    page = send(asking, json_files(homes), **fields)
    assert page.status_code == 422
    assert said in html.unescape(page.text)


def test_no_file_and_files_of_one_name_are_understood(asking, homes) -> None:
    assert "Choose the findings.json" in send(asking, [("files", ("", b"", "application/json"))]).text
    same = [("files", ("findings.json", data, "application/json")) for data in homes.values()]
    page = send(asking, same)
    assert page.status_code == 200
    assert "home 6" in page.text


def test_a_moderator_comes_in_as_csv(asking, homes) -> None:
    table = "keeper,value\n" + "".join(f"home {i},{i * 10}\n" for i in range(1, 7))
    files = [*json_files(homes), ("moderator", ("light.csv", table.encode(), "text/csv"))]
    page = send(asking, files, moderator_name="light")
    assert "Light:" in page.text
    assert "no proof of a cause" in page.text


def test_a_form_with_files_without_the_token_is_refused(asking, homes) -> None:
    headers = {"origin": asking.base, "sec-fetch-site": "same-origin"}
    for token in ({}, {"token": "wrong"}, {"token": "ü"}):
        answer = asking("POST", "/pool", data=token, files=json_files(homes), headers=headers)
        assert answer.status_code == 403
    assert asking("POST", "/pool", files=json_files(homes)).status_code == 403  # no Origin


def test_only_this_page_takes_files_and_only_so_many_so_large(asking, homes) -> None:
    assert send(asking, json_files(homes), path="/new").status_code == 415
    many = [("files", (f"{i}.json", b"{}", "application/json")) for i in range(MAX_POOL_FILES + 1)]
    assert send(asking, many).status_code == 400  # no token can be read out of it
    assert send(asking, many[:1], **{f"f{i}": "" for i in range(MAX_POOL_FIELDS)}).status_code == 400
    large = [("files", ("large.json", b" " * MAX_POOL_BYTES, "application/json"))]
    assert send(asking, large).status_code == 413
    plain = asking.post("/pool", {"measure": "x" * MAX_BODY_BYTES})
    assert plain.status_code == 413


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("multipart/form-data", b"--x\r\n\r\n"),
        ("multipart/form-data; boundary=x", b"no boundary at all"),
        ("multipart/form-data; boundary=x", b'--x\r\nContent-Disposition: form-data; name="token"\r\n\r\ncut'),
        ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: nothing\r\n\r\n\r\n--x--\r\n"),
    ],
)
def test_a_broken_body_is_refused_and_never_crashes(asking, kind: str, body: bytes) -> None:
    headers = {"origin": asking.base, "sec-fetch-site": "same-origin", "content-type": kind}
    assert asking("POST", "/pool", content=body, headers=headers).status_code in (400, 403)


def test_a_plain_form_sent_there_finds_no_files(asking) -> None:
    page = asking.post("/pool", {"measure": "redness"})
    assert page.status_code == 422
    assert "Choose the findings.json" in page.text


def test_data_packages_are_pooled_beside_files(asking, homes) -> None:
    from tests.acts.test_pool_packages import packed

    first, *others = homes.items()
    package = ("files", (f"{first[0]}.zip", packed(first[1], 1), "application/zip"))
    page = send(asking, [package, *json_files(dict(others))])
    assert page.status_code == 200
    assert "Across keepers" in page.text
    twice = send(asking, [package, ("files", ("again.zip", packed(first[1], 1), "application/zip"))])
    assert twice.status_code == 422
    assert "same trial as home 1" in twice.text
    broken = send(asking, [*json_files(homes), ("files", ("broken.zip", b"PK\x03\x04 nothing", "application/zip"))])
    assert broken.status_code == 422
    assert "broken.zip" in broken.text
