"""Cells of a package's tables: every value comes back as it was, and none runs in a spreadsheet."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.logbook.payloads import KINDS
from littoral.publish.package.columns import CellError, Column, bare, cell_of, shielded, value_of
from littoral.publish.package.entry_tables import TITLES, WORDS, fields_of, kind_table
from littoral.publish.spreadsheet import FORMULA

NUMBER = Column("x", "number", "a number")
TEXT = Column("x", "string", "a text")


@given(st.text(alphabet=st.characters(exclude_categories=("Cs",)) | st.sampled_from("'=+-@ \t"), max_size=12))
def test_a_text_comes_back_and_is_no_formula(text: str) -> None:
    assert bare(shielded(text)) == text
    assert not shielded(text).lstrip(" \u00a0").startswith(FORMULA)


@given(st.floats(allow_nan=False).filter(lambda value: value != -math.inf))
def test_a_number_comes_back_to_the_last_bit(value: float) -> None:
    assert value_of(cell_of(value, NUMBER), NUMBER) == value


@given(st.datetimes(timezones=st.just(UTC), min_value=datetime(1971, 1, 1)))
def test_a_moment_comes_back_to_the_microsecond(at: datetime) -> None:
    column = Column("x", "datetime", "a moment")
    assert value_of(cell_of(at, column), column) == at


@given(st.lists(st.text(alphabet=st.characters(exclude_categories=("Cs",))), min_size=1))
def test_a_list_comes_back(texts: list[str]) -> None:
    column = Column("x", "array", "a list")
    assert value_of(cell_of(texts, column), column) == tuple(texts)


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("nan", NUMBER),
        ("inf", NUMBER),
        ("1e999", NUMBER),
        ("-1", Column("x", "number", "", low=0.0)),
        ("yes", Column("x", "boolean", "")),
        ("1.5", Column("x", "integer", "")),
        ("9" * 30, Column("x", "integer", "")),
        ("maybe", Column("x", "string", "", one_of=("higher", "lower"))),
        ("", Column("x", "string", "", required=True)),
        ("2026-03-02", Column("x", "datetime", "")),
        ("[1]", Column("x", "array", "")),
        ("[" * 5000, Column("x", "array", "")),
    ],
)
def test_what_is_no_value_of_a_column_is_refused(text: str, column: Column) -> None:
    with pytest.raises(CellError):
        value_of(text, column)


def test_every_field_of_every_kind_has_a_column_with_a_meaning() -> None:
    assert set(TITLES) == set(KINDS)
    assert set(WORDS) == {(kind, field) for kind in KINDS for field in fields_of(kind)}
    assert len({kind_table(kind).name for kind in KINDS}) == len(KINDS)
    assert all(column.meaning for kind in KINDS for column in kind_table(kind).columns)
