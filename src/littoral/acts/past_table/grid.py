"""The bytes of a CSV file or a workbook to a grid of text cells, each with its address, or one clear refusal.

A CSV may have any of four separators, lines above its header, and any of a fixed list of encodings. Everything is
bounded before it is unpacked; nothing in a file is run.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from littoral.errors import LittoralError
from littoral.trial.written.csv_text import LARGEST_BYTES, UnreadableTextError, decode

LARGEST_ROWS = 100_000
LARGEST_COLUMNS = 60
LARGEST_CELL = 2_000
SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright strokes"}
ENCODINGS = (
    "utf-8", "utf-16", "windows-1250", "windows-1251", "windows-1252", "windows-1253", "windows-1254", "windows-1257",
    "iso-8859-1", "iso-8859-2", "iso-8859-15", "mac-roman", "koi8-r", "shift-jis", "gb18030", "big5", "euc-kr",
)  # fmt: skip
"""What may be said where an encoding cannot be told from the bytes."""


class UnreadableTableError(LittoralError):
    """The file as a whole cannot be read as a table."""

    def __init__(self, what: str, right: str) -> None:
        self.what, self.right = what, right
        super().__init__(f"{what} {right}")


@dataclass(frozen=True, slots=True)
class Grid:
    """Rows of cells as text, stripped; `lines` are their numbers in the sheet or file, from 1.

    `how` says how the file was read, `sheets` which sheets it has, `separator` what parts its cells ("" in a workbook).
    """

    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]
    how: str
    sheets: tuple[str, ...] = ()
    sheet: str = ""
    separator: str = ""

    @property
    def width(self) -> int:
        """The number of columns."""
        return max((len(row) for row in self.rows), default=0)


def letters_of(column: int) -> str:
    """Return a column's letters as a spreadsheet shows them: 0 is A, 25 is Z, 26 is AA."""
    letters = ""
    column += 1
    while column:
        column, place = divmod(column - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def column_of(letters: str) -> int | None:
    """Return the column of its letters, None where they are none; the inverse of `letters_of`."""
    if not (letters.isascii() and letters.isalpha() and len(letters) <= 3):
        return None
    found = 0
    for letter in letters.upper():
        found = found * 26 + ord(letter) - ord("A") + 1
    return found - 1


def read_grid(data: bytes, *, sheet: str = "", encoding: str = "") -> Grid:
    """Return the table in a file. Raises UnreadableTableError; MissingExtraError for a workbook without openpyxl."""
    if not data:
        raise UnreadableTableError("The file is empty.", "Save the table again.")
    if len(data) > LARGEST_BYTES:
        what = f"The file has {len(data):,} bytes; at most {LARGEST_BYTES:,} are read."
        raise UnreadableTableError(what, "Split it into several files.")
    if data.startswith(b"PK\x03\x04"):
        from littoral.acts.past_table.workbook import read_workbook

        return read_workbook(data, sheet=sheet)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise UnreadableTableError("The file is a workbook of the old kind (.xls).", "Save it as .xlsx or as CSV.")
    return _read_text(_text(data, encoding))


def _text(data: bytes, encoding: str) -> str:
    if not encoding:
        try:
            return decode(data)
        except UnreadableTextError as error:
            right = f"{error.right} Or say its encoding: {', '.join(ENCODINGS)}."
            raise UnreadableTableError(error.what, right) from None
    if encoding not in ENCODINGS:
        raise UnreadableTableError(
            f'"{encoding[:40]}" is no encoding that is read here.', f"Say one of {', '.join(ENCODINGS)}."
        )
    try:
        text = data.decode(encoding)
    except UnicodeError:
        raise UnreadableTableError(f"The file is not {encoding}.", "Say another encoding.") from None
    if "\x00" in text:
        raise UnreadableTableError("The file holds NUL characters, so it is not text.", "Save it as CSV.")
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")


def _read_text(text: str) -> Grid:
    found: list[tuple[float, str, Grid]] = []
    broken: UnreadableTableError | None = None
    for separator in SEPARATORS:
        if separator not in text:
            continue
        try:
            grid = _parted(text, separator)
        except UnreadableTableError as error:
            broken = broken or error
            continue
        found.append((_evenness(grid.rows), separator, grid))
    if not found and broken is not None:
        raise broken
    best = max(found, key=lambda one: one[0], default=None)
    if best is None or best[0] <= 0:
        raise UnreadableTableError("No columns can be told apart in the file.", "Save the table as CSV.")
    return best[2]


def _parted(text: str, separator: str) -> Grid:
    """Part a text by one separator."""
    rows: list[tuple[str, ...]] = []
    lines: list[int] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    begun = 1
    try:
        for cells in reader:
            line, begun = begun, reader.line_num + 1
            row = tuple(cell.strip() for cell in cells)
            if any(row):
                rows.append(row)
                lines.append(line)
            check_size(len(rows), row, line)
    except csv.Error:
        what = f"Line {begun} has a quotation mark without its partner, or a cell that is too long."
        raise UnreadableTableError(what, "Look at that line, or save the table again.") from None
    return Grid(tuple(rows), tuple(lines), f"a text file parted by {SEPARATORS[separator]}", separator=separator)


def check_size(rows: int, row: Sequence[str], line: int) -> None:
    """Refuse a table that is larger than is read: UnreadableTableError."""
    if rows > LARGEST_ROWS:
        raise UnreadableTableError(f"The table has more than {LARGEST_ROWS:,} rows.", "Split it into several files.")
    if len(row) > LARGEST_COLUMNS:
        what = f"Row {line} has {len(row)} columns; at most {LARGEST_COLUMNS} are read."
        raise UnreadableTableError(what, "Take out the columns that are not needed.")
    longest = max((len(cell) for cell in row), default=0)
    if longest > LARGEST_CELL:
        what = f"Row {line} has a cell of {longest:,} characters; at most {LARGEST_CELL:,} are read."
        raise UnreadableTableError(what, "Look for a quotation mark without its partner.")


def _evenness(rows: Sequence[Sequence[str]]) -> float:
    """Return how much the rows look like a table: the columns of most rows, by how many rows have them."""
    sample = rows[:200]
    widths = Counter(len(row) for row in sample)
    if not widths:
        return 0.0
    width, count = max(widths.items(), key=lambda one: (one[1] * (one[0] > 1), one[0]))
    return 0.0 if width < 2 else count / len(sample) * (1 + min(width, 20) / 100)
