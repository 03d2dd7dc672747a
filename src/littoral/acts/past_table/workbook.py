"""A workbook (Office Open XML, ECMA-376) to a grid: a ZIP archive of XML, looked at as both before it is read."""

from __future__ import annotations

import io
import warnings
import zipfile
from datetime import date, datetime, time, timedelta
from typing import Any

from littoral.acts.past_table.grid import Grid, UnreadableTableError, check_size
from littoral.errors import extras_needed

LARGEST_UNPACKED_BYTES = 60_000_000
LARGEST_PARTS = 500
_DAMAGED = ("The workbook is damaged or not one.", "Open it in a spreadsheet and save it again, or save it as CSV.")


@extras_needed()
def read_workbook(data: bytes, *, sheet: str = "") -> Grid:
    """Return a sheet of a workbook: the one named, else the first with anything in it. UnreadableTableError.

    No formula is worked out: a cell has the value that it was last saved with, and is empty where it has none.
    """
    import openpyxl

    _check_archive(data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and extensions that play no part here
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
            try:
                return _grid(book, sheet)
            finally:
                book.close()
    except UnreadableTableError:
        raise
    # What a damaged file makes of openpyxl and the XML reader below it is no fixed list of errors.
    except Exception as error:
        raise UnreadableTableError(*_DAMAGED) from error


def _check_archive(data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            if len(parts) > LARGEST_PARTS or sum(part.file_size for part in parts) > LARGEST_UNPACKED_BYTES:
                what = f"The workbook unpacks to more than {LARGEST_UNPACKED_BYTES:,} bytes or {LARGEST_PARTS} parts."
                raise UnreadableTableError(what, "Save the sheet as CSV.")
            for part in parts:  # what a part is said to hold is all that is unpacked of it
                text = archive.read(part)
                if b"<!DOCTYPE" in text or b"<!ENTITY" in text or b"<\x00!\x00D\x00O\x00C" in text:
                    raise UnreadableTableError("The workbook defines words of its own.", "Save the sheet as CSV.")
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, EOFError, ValueError):
        raise UnreadableTableError(*_DAMAGED) from None
    except Exception as error:
        if isinstance(error, UnreadableTableError):
            raise
        raise UnreadableTableError(*_DAMAGED) from error


def _grid(book: Any, asked: str) -> Grid:
    names = tuple(one.title for one in book.worksheets)
    if asked and asked not in names:
        raise UnreadableTableError(f'There is no sheet "{asked[:60]}".', f"The sheets are {', '.join(names)}.")
    for name in (asked,) if asked else names:
        rows: list[tuple[str, ...]] = []
        lines: list[int] = []
        sheet = book[name]
        sheet.reset_dimensions()  # a sheet may lie about its size
        for line, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
            row = tuple(_said(cell) for cell in cells)
            while row and not row[-1]:
                row = row[:-1]
            if row:
                rows.append(row)
                lines.append(line)
            check_size(max(len(rows), line // 10), row, line)
        if rows:
            return Grid(tuple(rows), tuple(lines), f"the sheet “{name}” of a workbook", names, name)
    raise UnreadableTableError("The workbook holds no table.", "Save the sheet that holds it as CSV.")


def _said(value: object) -> str:
    """Return a cell as a person would have typed it into a text file."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(round(value, 12))
    if isinstance(value, datetime):
        shown = value + timedelta(microseconds=500_000) if value.microsecond else value  # to the second
        return f"{shown:%Y-%m-%d %H:%M:%S}" if shown.time() != time() else f"{shown:%Y-%m-%d}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return f"{value:%H:%M:%S}"
    return " ".join(str(value).split()) if len(str(value)) < 4_000 else str(value)
