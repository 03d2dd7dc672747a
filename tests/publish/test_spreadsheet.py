"""CSV that runs nothing: OWASP's first characters get an apostrophe, numbers stay numbers."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.publish.spreadsheet import FORMULA, csv_text, harmless


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1", " =1", "=cmd|' /C calc'!A0"]
)
def test_a_text_that_begins_like_a_formula_gets_an_apostrophe(text: str) -> None:
    assert harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["KNO3", "3-0-0", "a=b", "", "'quoted", "2026-03-02"])
def test_other_texts_stay_as_they_are(text: str) -> None:
    assert harmless(text) == text


def test_numbers_are_plain() -> None:
    written = csv_text(("a", "=b"), [[1234.5, -0.000012], [None, "x,y"], [1e20, 'say "no"']])
    assert written == 'a,\'=b\r\n1234.5,-0.000012\r\n,"x,y"\r\n100000000000000000000,"say ""no"""\r\n'
    with pytest.raises(ValueError, match="no number for a table"):
        csv_text(("a",), [[float("nan")]])


@given(st.lists(st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\x00")), min_size=1, max_size=5))
def test_no_cell_ever_begins_like_a_formula_and_all_are_read_back(texts: list[str]) -> None:
    rows = list(csv.reader(io.StringIO(csv_text([f"c{i}" for i in range(len(texts))], [texts]), newline="")))
    assert len(rows[1]) == len(texts)
    for cell, text in zip(rows[1], texts, strict=True):
        assert not cell.lstrip(" \u00a0").startswith(FORMULA)
        assert cell in (text, f"'{text}")
