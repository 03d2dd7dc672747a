"""Pages in the visitor's own language; programs get English and metric whoever asks."""

from __future__ import annotations

import re
from html import unescape

import pytest
from tests.web.conftest import Asking

from littoral.speech.manner import LANGUAGES, PSEUDO, Manner
from littoral.web.speech.spoken import COOKIE, cookie_text, for_programs

GERMAN = {"cookie": f"{COOKIE}={cookie_text(Manner(language='de'))}"}
_SILENT = re.compile(r"<(script|style|svg|code|kbd|title)\b.*?</\1>", re.DOTALL)
_SAID = re.compile(r"⟦[^⟦⟧]*⟧")
_TAG = re.compile(r"<[^<>]*>", re.DOTALL)
_WORD = re.compile(r"[^\W\d_]{2,}")


def test_a_cookie_chooses_the_language(asking: Asking) -> None:
    page = asking.get("/settings", headers=GERMAN)
    assert '<html lang="de">' in page.text
    assert "<h1>Sprache und Einheiten</h1>" in page.text
    assert "Sicherheitsdatenblatt" in page.text  # the caution is said in every language
    assert '<html lang="en">' in asking.get("/settings").text


def test_the_browser_is_asked_where_nobody_chose(asking: Asking) -> None:
    assert '<html lang="de">' in asking.get("/settings", headers={"accept-language": "de-AT,en;q=0.5"}).text
    assert '<html lang="en">' in asking.get("/settings", headers={"accept-language": "fr"}).text


def test_a_choice_is_kept_in_the_browser(asking: Asking) -> None:
    answer = asking.post("/settings", {"language": "de", "volume": "gal", "for": "browser"})
    assert answer.status_code == 303
    kept = answer.headers["set-cookie"].partition(";")[0]
    assert "HttpOnly" in answer.headers["set-cookie"]
    page = asking.get("/settings", headers={"cookie": kept}).text
    assert '<html lang="de">' in page
    assert '<option value="gal" selected>' in page


@pytest.mark.parametrize("value", ["", "x", "%7B", "[]", "%7B%22language%22%3A%22xx%22%7D", "a" * 5000])
def test_a_cookie_that_is_none_of_ours_changes_nothing(asking: Asking, value: str) -> None:
    page = asking.get("/settings", headers={"cookie": f"{COOKIE}={value}"})
    assert page.status_code == 200
    assert '<html lang="en">' in page.text


@pytest.mark.parametrize(
    ("path", "is_for_programs"),
    [
        ("/trial/a/findings.json", True),
        ("/api/today", True),
        ("/trial/a/trial.toml", True),
        ("/costs/shopping-list.csv", True),
        ("/trial/a/published/sheet.html", True),
        ("/trial/a", False),
        ("/trial/a/again.json", True),
        ("/mix.json", False),  # what a page shows while somebody types
    ],
)
def test_what_programs_read_is_english(path: str, is_for_programs: bool) -> None:
    assert for_programs(path) is is_for_programs


def test_a_program_reads_the_same_whatever_is_chosen(asking: Asking) -> None:
    for path in ("/trial/small/findings.json", "/trial/small/design.json", "/api/openapi.json"):
        assert asking.get(path, headers=GERMAN).text == asking.get(path).text


PAGES = {
    "/settings": {"English", "Deutsch", "imp", "gal", "oz"},
    "/growth-test": set(),
    "/new": set(),
    "/offline": set(),
    "/": {"Sparing", "or", "full", "feeding", "Feeding", "regime", "sparing", "against", "left", "right", "tank"},
    "/pool": {
        "algae",
        "care",
        "compactness",
        "cost",
        "cover",
        "growth",
        "height",
        "mass",
        "minutes",
        "redness",
        "trimmed",
        "yield",
    },
}
"""Pages that are said whole, with the words on them that are data: names, units, words of the trial file."""


@pytest.mark.parametrize("path", PAGES)
def test_all_that_a_page_shows_was_said(asking: Asking, monkeypatch: pytest.MonkeyPatch, path: str) -> None:
    """A made-up language puts brackets around all that went through a catalogue; what stands outside is data."""
    monkeypatch.setitem(LANGUAGES, PSEUDO, PSEUDO)  # type: ignore[arg-type]
    cookie = cookie_text(Manner(language=PSEUDO))
    page = asking.get(path, headers={"cookie": f"{COOKIE}={cookie}"}).text
    assert page.count("⟦") > 5
    shown = _SILENT.sub(" ", page)
    while shown != (inner := _SAID.sub(" ", shown)):
        shown = inner
    words = set(_WORD.findall(unescape(_TAG.sub(" ", shown))))
    assert words - PAGES[path] - {"Littoral"} == set()
