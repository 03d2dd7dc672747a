"""Sentences, counts, numbers and dates in the language in force; English stays as it was."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.quantities.numbers import plain_number
from littoral.speech.dates import first_weekday, long_date, money, short_date, weekday_name
from littoral.speech.manner import (
    PLAIN,
    PSEUDO,
    Manner,
    changed,
    different,
    keeping_manner,
    language_of_header,
    manner,
    speaking,
)
from littoral.speech.numbers import number, numeral
from littoral.speech.say import counted, say, say_n

GERMAN = Manner(language="de")


def test_without_a_choice_sentences_stay_as_they_are_written() -> None:
    assert say("{name} was watered", name="left") == "left was watered"
    assert say("{dose:.2f} of {cost:,.0f}", dose=1.5, cost=1234.0) == "1.50 of 1,234"
    assert say("a set {1, 2} of braces") == "a set {1, 2} of braces"
    assert say_n("{n} tank of {who}", "{n} tanks of {who}", 2, who="a club") == "2 tanks of a club"


@pytest.mark.parametrize(
    ("many", "noun", "said"),
    [(1, "entry", "1 entry"), (2, "entry", "2 entries"), (0, "day", "0 days"), (1234, "photo", "1,234 photos")],
)
def test_counts(many: int, noun: str, said: str) -> None:
    assert counted(many, noun) == said


def test_numbers_have_the_decimal_sign_of_the_language() -> None:
    with speaking(GERMAN):
        assert say("{dose:.2f} of {cost:,.0f}", dose=1.5, cost=1234567.0) == "1,50 of 1\u202f234\u202f567"
        assert number(-0.25) == "\u22120,25"
        assert say("{yes}", yes=True) == "True"
        assert say("{text}", text="1.5") == "1.5"  # a text is somebody's own words
    assert number(-0.25) == "-0.25"


@given(value=st.floats(-1e6, 1e6), digits=st.integers(0, 5))
def test_a_number_that_was_said_in_german_is_read_back(value: float, digits: int) -> None:
    with speaking(GERMAN):
        said = number(abs(value), f".{digits}f")
    grouped = plain_number(said)
    if digits != 3:  # 1,500 may mean two things, and is asked about
        assert grouped is not None
        assert float(grouped) == float(f"{abs(value):.{digits}f}")


def test_dates() -> None:
    day = date(2026, 3, 19)
    assert (long_date(day), short_date(day), weekday_name(0)) == ("Thursday 19 March 2026", "Thu 19 Mar", "Monday")
    with speaking(GERMAN):
        assert (long_date(day), weekday_name(0)) == ("Donnerstag, 19. März 2026", "Montag")
        assert short_date(day) == "Do. 19. März"
    with speaking(Manner(week_start="sunday")):
        assert first_weekday() == 6
    assert first_weekday() == 0


def test_money_has_the_decimals_of_its_currency() -> None:
    # ISO 4217, minor units: EUR 2, JPY 0, TND 3
    assert [money(1234.5, code) for code in ("EUR", "JPY", "TND")] == ["1234.50 EUR", "1234 JPY", "1234.500 TND"]
    with speaking(GERMAN):
        assert money(3.2, "EUR") == "3,20 EUR"


def test_each_thread_and_each_with_has_its_own_manner() -> None:
    with ThreadPoolExecutor(1) as pool:
        with speaking(GERMAN):
            kept = keeping_manner(manner)
            assert pool.submit(manner).result() == PLAIN
            assert pool.submit(kept).result() == GERMAN
        assert pool.submit(kept).result() == GERMAN
    assert manner() == PLAIN


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("de-AT,de;q=0.9,en;q=0.8", "de"),
        ("fr;q=0.9, en;q=0.4, de;q=0.5", "de"),
        ("fr", None),
        ("", None),
        ("en-US", "en"),
        ("de;q=0, en;q=0.1", "en"),
        ("de;q=nonsense", None),
    ],
)
def test_the_language_a_browser_asks_for(header: str, language: str | None) -> None:
    assert language_of_header(header) == language  # RFC 9110, 12.5.4: by weight; 0 is "not acceptable"


def test_what_is_no_choice_changes_nothing() -> None:
    assert changed(GERMAN, {"language": "xx", "volume": "barrel", "nonsense": "x", "week_start": "noon"}) == GERMAN
    assert different(changed(PLAIN, {"volume": "gal"})) == {"volume": "gal"}


def test_the_bracketed_language_marks_all_that_was_said() -> None:
    with speaking(Manner(language=PSEUDO)):
        assert say("{n} of us", n=2) == "⟦2 of us⟧"
        assert counted(2, "photo") == "⟦2 photos⟧"
        assert numeral("1.5") == "1.5"
