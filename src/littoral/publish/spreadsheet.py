"""Tables as CSV that a spreadsheet opens without running anything that somebody wrote into a name.

A text that begins like a formula gets an apostrophe before it (OWASP, CSV injection); numbers are written plainly, with
a decimal point and no separators of thousands. RFC 4180: commas, CRLF, quotes doubled; UTF-8.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal

Cell = str | float | None
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that a spreadsheet may take for a formula, full-width forms among them."""


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Return a table as CSV; a float is a number, None an empty cell. ValueError for a number that is none."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow([harmless(column) for column in columns])
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return buffer.getvalue()


def harmless(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: as it is, or with an apostrophe before it.

    Spaces before it hide nothing: some spreadsheets take them off before they look.
    """
    return f"'{text}" if text.lstrip(" \u00a0").startswith(FORMULA) else text


def _cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return harmless(cell)
    number = Decimal(repr(float(cell)))
    if not number.is_finite():
        raise ValueError(f"{cell} is no number for a table")
    return f"{number.normalize():f}"
