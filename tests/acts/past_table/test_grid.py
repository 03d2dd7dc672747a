"""Whatever a spreadsheet saves is read as the same grid, and what is no table is refused in plain words."""

from __future__ import annotations

import csv
import io
import warnings
import zipfile
from datetime import date, datetime, time

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter

from littoral.acts.past_table.grid import (
    ENCODINGS,
    LARGEST_CELL,
    LARGEST_COLUMNS,
    LARGEST_ROWS,
    UnreadableTableError,
    column_of,
    letters_of,
    read_grid,
)
from littoral.acts.past_table.workbook import LARGEST_UNPACKED_BYTES
from littoral.trial.written.csv_text import LARGEST_BYTES

ROWS = (("Date", "Temp °C", "Note"), ("2026-03-03", "24.5", "clear, warm"), ("2026-03-04", "24.6", 'said "hm"'))


def _csv(separator: str, rows: object = ROWS) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows(rows)
    return out.getvalue()


def _workbook(rows: object = ROWS, **more: object) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@given(st.integers(min_value=0, max_value=18_277))
def test_letters_are_those_of_spreadsheets(place):
    assert letters_of(place) == get_column_letter(place + 1)  # openpyxl's, which counts from 1
    assert column_of(letters_of(place)) == place


@pytest.mark.parametrize("letters", ["", "1", "A1", "é", "AAAA"])
def test_what_is_no_column_is_none(letters):
    assert column_of(letters) is None


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_any_separator_and_usual_encoding_is_told(separator, encoding):
    grid = read_grid(_csv(separator).encode(encoding))
    assert grid.rows == ROWS
    assert grid.separator == separator
    assert grid.lines == (1, 2, 3)


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_encoding_that_may_be_said_is_read(encoding):
    text = "Date;Temp\n2026-03-03;24.5\n"
    assert read_grid(text.encode(encoding), encoding=encoding).rows[1] == ("2026-03-03", "24.5")


def test_an_encoding_that_cannot_be_told_is_asked_for():
    data = "дата;температура\n2026-03-03;24.5\n".encode("cp1251")
    with pytest.raises(UnreadableTableError, match="say its encoding"):
        read_grid(data)
    assert read_grid(data, encoding="windows-1251").rows[0] == ("дата", "температура")
    for wrong in ("utf-8", "shift-jis", "rot13", "../x"):
        with pytest.raises(UnreadableTableError):
            read_grid(data, encoding=wrong)


def test_a_comma_in_notes_does_not_beat_the_real_separator():
    assert read_grid(b"date;temp;note\n2026-03-03;24,5;clear\n2026-03-04;24,6;warm\n").separator == ";"


def test_a_workbook_is_the_same_grid_as_the_csv():
    assert read_grid(_workbook()).rows == ROWS


def test_cells_of_a_workbook_are_written_as_a_person_types_them():
    row = (
        datetime(2026, 3, 3, 18, 30),
        datetime(2026, 3, 3),
        date(2026, 3, 4),
        time(7, 5),
        24.5,
        10.0,
        7,
        True,
        None,
        "x\ny",
    )
    grid = read_grid(_workbook([["h"] * 10, row]))
    assert grid.rows[1] == (
        "2026-03-03 18:30:00",
        "2026-03-03",
        "2026-03-04",
        "07:05:00",
        "24.5",
        "10",
        "7",
        "yes",
        "",
        "x y",
    )


def test_no_formula_is_worked_out():
    grid = read_grid(_workbook([["a", "b"], ["1", "=1+1"], ["2", '=WEBSERVICE("http://example.org")']]))
    assert grid.rows[1:] == (("1",), ("2",))


def test_the_sheet_with_something_in_it_is_taken_and_another_may_be_named():
    book = openpyxl.Workbook()
    book.active.title = "Empty"
    for name in ("Log", "Other"):
        book.create_sheet(name).append(["date", name])
    out = io.BytesIO()
    book.save(out)
    grid = read_grid(out.getvalue())
    assert (grid.sheet, grid.sheets) == ("Log", ("Empty", "Log", "Other"))
    assert read_grid(out.getvalue(), sheet="Other").rows == (("date", "Other"),)
    with pytest.raises(UnreadableTableError, match="no sheet"):
        read_grid(out.getvalue(), sheet="Third")
    with pytest.raises(UnreadableTableError, match="no table"):
        read_grid(out.getvalue(), sheet="Empty")


def _changed(data: bytes, name: str, content: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, content if part == name else old.read(part))
    return out.getvalue()


def test_a_workbook_that_unpacks_to_too_much_is_refused_before_it_is_unpacked():
    bomb = _changed(_workbook(), "xl/worksheets/sheet1.xml", b" " * (LARGEST_UNPACKED_BYTES + 1))
    assert len(bomb) < 200_000
    with pytest.raises(UnreadableTableError, match="unpacks to more"):
        read_grid(bomb)


def test_a_workbook_with_entities_of_its_own_is_refused():
    laughs = b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><worksheet>&b;</worksheet>'
    with pytest.raises(UnreadableTableError, match="words of its own"):
        read_grid(_changed(_workbook(), "xl/worksheets/sheet1.xml", laughs))


@pytest.mark.parametrize(
    "content", [b"", b"<worksheet>", b"\x00\xff", b"<worksheet><sheetData><row r='x'/></sheetData></worksheet>"]
)
@pytest.mark.parametrize("name", ["xl/worksheets/sheet1.xml", "xl/workbook.xml", "[Content_Types].xml"])
def test_a_damaged_workbook_is_refused_in_plain_words(name, content):
    with pytest.raises(UnreadableTableError, match="workbook"):
        read_grid(_changed(_workbook(), name, content))


@pytest.mark.parametrize("cut", [10, 100, 1000, -30])
def test_a_workbook_that_ends_early_is_refused(cut):
    with pytest.raises(UnreadableTableError, match="damaged"):
        read_grid(_workbook()[:cut])


@pytest.mark.parametrize(("data", "said"), [
    (b"", "empty"), (b"one word", "No columns"), (b"a\nb\nc\n", "No columns"),
    (b"\xd0\xcf\x11\xe0" + b"x" * 99, "old kind"), (b"a,b\x00c,d\n", "not text"),
    (b'date,note\n2026-03-03,"open\n', "quotation mark"),
])  # fmt: skip
def test_what_is_no_table_is_refused_in_plain_words(data, said):
    with pytest.raises(UnreadableTableError, match=said):
        read_grid(data)


@pytest.mark.parametrize("over", [0, 1])
@pytest.mark.parametrize(("table", "said"), [
    (lambda over: b"a,b\n" * (LARGEST_ROWS + over), "rows"),
    (lambda over: ",".join(["x"] * (LARGEST_COLUMNS + over)).encode() + b"\n1,2\n", "columns"),
    (lambda over: b"a,b\n1," + b"x" * (LARGEST_CELL + over), "characters"),
    (lambda over: b"a,b\n" + b"1,2\n" * 1000 + b" " * (LARGEST_BYTES - 4004 + over), "bytes"),
])  # fmt: skip
def test_each_limit_holds_one_over(table, said, over):
    if over:
        with pytest.raises(UnreadableTableError, match=said):
            read_grid(table(over))
    else:
        assert read_grid(table(over)).rows


@given(st.binary(max_size=300))
def test_any_bytes_are_a_grid_or_refused(data):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            grid = read_grid(data)
        except UnreadableTableError:
            return
    assert len(grid.rows) == len(grid.lines)


@given(
    st.lists(
        st.lists(
            st.text(
                st.characters(codec="utf-8", exclude_categories=("Cs", "Cc", "Zs", "Zl", "Zp")), min_size=1, max_size=8
            ),
            min_size=3,
            max_size=3,
        ),
        min_size=2,
        max_size=8,
    ),
    st.sampled_from(",;\t|"),
)
def test_what_was_written_is_read(rows, separator):
    cells = [tuple(cell.strip(',;|\t"') or "x" for cell in row) for row in rows]
    cells = [tuple(cell.translate({ord(mark): None for mark in ",;|"}) or "x" for cell in row) for row in cells]
    grid = read_grid(_csv(separator, cells).encode("utf-8-sig"))
    assert grid.rows == tuple(cells)
