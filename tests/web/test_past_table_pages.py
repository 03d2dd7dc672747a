"""Taking in a table in the browser: looked at first, written on the last button, once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from starlette.applications import Starlette

from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.trial.written.reader import read_trial
from littoral.web.app import create_app
from littoral.web.book_bench import BookBench
from littoral.web.past_table.held import MOST_HELD, Held, HeldFile

TEXT = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
KEY = "sparing-or-full"
TABLE = "date;tank;temp (C);note\n2026-03-03;left;24;<b>warm</b>\n2026-03-04;left;cold;\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, TEXT)
    return tmp_path / "logbook"


@pytest.fixture
def page(folder: Path, asking) -> Iterator[object]:
    app: Starlette = create_app(folder, port=8765, bench=BookBench(folder), today=lambda: date(2026, 4, 8))
    yield type(asking)(app)
    app.state.waiting.close()


def send(page, data: bytes, name: str = "log.csv"):
    headers = {"origin": page.base}
    return page(
        "POST",
        f"/trial/{KEY}/import",
        data={"token": page.app.state.token},
        files={"file": (name, data)},
        headers=headers,
    )


def choices(text: str) -> dict[str, str]:
    """Return the form as a browser would send it."""
    found = dict(re.findall(r'<input (?:id="\w+" )?(?:type="hidden" )?name="([\w-]+)"[^>]*? value="([^"]*)"', text))
    for name, inside in re.findall(r'<select[^>]* name="([\w-]+)">(.*?)</select>', text):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', inside) or re.search(
            r'<option(?: value="([^"]*)")?>([^<]*)', inside
        )
        found[name] = chosen[2] if chosen[1] is None else chosen[1]
    found.pop("token", None)
    return found


def entries(folder: Path) -> int:
    with Logbook.open(folder) as book:
        return len(book.entries(KEY))


def test_from_the_file_to_the_logbook(page, folder):
    before = (folder / DATABASE).read_bytes()
    assert "enctype" in page.get(f"/trial/{KEY}/import").text
    answer = send(page, TABLE.encode())
    assert answer.status_code == 303
    there = answer.headers["location"]
    shown = page.get(there).text
    assert "C3" in shown
    assert "&lt;b&gt;warm&lt;/b&gt;" in shown
    assert "<b>warm" not in shown
    form = choices(shown)
    assert form["means-2"] == "reading temperature"
    refused = page.post(there, {**form, "do": "write"})
    assert refused.status_code == 422
    assert "Nothing was written" in refused.text
    assert (folder / DATABASE).read_bytes() == before
    done = page.post(there, {**form, "do": "write", "leave-out": "yes"})
    assert done.status_code == 200
    assert "1 new entry" in done.text
    assert entries(folder) == 1
    assert page.get(there).status_code == 404  # held no more
    again = page.get(send(page, TABLE.encode()).headers["location"]).text
    assert "All of it is in the logbook already" in again


def test_choices_are_shown_again(page, folder):
    there = send(page, b"when;x\n2026-03-03;24\n").headers["location"]
    form = {**choices(page.get(there).text), "means-0": "date", "means-1": "reading temperature", "unit-1": "\u00b0C"}
    shown = page.post(there, {**form, "tank": "left", "do": "look"})
    assert shown.status_code == 200
    assert "temperature 24 \u00b0C" in shown.text
    assert choices(shown.text)["means-1"] == "reading temperature"
    assert entries(folder) == 0


def test_another_header_row_is_proposed_anew(page):
    there = send(page, b"date;temp\n2026-03-03;24\ndate;pH\n2026-03-04;7\n").headers["location"]
    form = choices(page.get(there).text)
    shown = page.post(there, {**form, "header": "3", "do": "look"}).text
    assert choices(shown)["means-1"] == "reading ph"


@pytest.mark.parametrize("more", [
    {"means-0": "nonsense"}, {"means-0": "note"}, {"tank": "middle"}, {"header": "99"}, {"header": "9" * 30},
    {"unit-2": "x" * 30}, {"every": "year"}, {"order": "sideways"}, {"sheet": "x", "sheet-was": "y"}, {"header": "²"},
])  # fmt: skip
def test_a_form_that_says_what_cannot_be_is_shown_again_or_ignored(page, folder, more):
    there = send(page, TABLE.encode()).headers["location"]
    answer = page.post(there, {**choices(page.get(there).text), **more, "do": "look"})
    assert answer.status_code in (200, 422)
    assert "Is it understood right?" in answer.text
    assert entries(folder) == 0


@pytest.mark.parametrize(
    ("data", "said"), [(b"", "holds something"), (b"nothing", "No columns"), (b"PK\x03\x04xx", "damaged")]
)
def test_a_file_that_is_no_table_is_refused_on_the_page(page, data, said):
    answer = send(page, data)
    assert answer.status_code == 422
    assert said in answer.text


def test_an_encoding_that_cannot_be_told_is_asked_for(page):
    there = send(page, "дата;tank;temp (C)\n2026-03-03;left;24\n".encode("cp1251")).headers["location"]
    shown = page.get(there)
    assert shown.status_code == 422
    assert "windows-1251" in shown.text
    assert "дата" in page.post(there, {"encoding": "windows-1251", "encoding-was": "", "do": "look"}).text


def test_a_name_of_a_file_is_only_text(page):
    there = send(page, TABLE.encode(), '../../"><script>alert(1)</script>.csv').headers["location"]
    text = page.get(there).text
    assert "<script>alert" not in text


def test_no_such_trial_or_file(page):
    assert page.get("/trial/nowhere/import").status_code == 404
    assert page.get(f"/trial/{KEY}/import/nothing").status_code == 404
    assert page.post(f"/trial/{KEY}/import/nothing", {"do": "write"}).status_code == 404


def test_few_files_are_held_and_each_for_its_trial_only():
    held = Held()
    names = [held.keep(HeldFile("a", "x", bytes([n]))) for n in range(MOST_HELD + 1)]
    assert held.get(names[0], "a") is None
    assert held.get(names[1], "a").data == b"\x01"
    assert held.get(names[1], "b") is None
