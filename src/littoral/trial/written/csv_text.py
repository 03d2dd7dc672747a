"""The bytes of a spreadsheet's CSV to rows with line numbers, whatever encoding and separator, or one clear refusal.

Accepted are UTF-8 with or without a byte-order mark, UTF-16 with one, and Windows-1252 where the bytes can hardly be
anything else; commas, semicolons and tabs, told from the header.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from littoral.errors import LittoralError
from littoral.trial.written.report import nearest

LARGEST_BYTES = 5_000_000
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}

# What Western European text holds beyond ASCII: its letters, and the signs that word processors put in.
_WESTERN = frozenset("ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØÙÚÛÜßàáâãäåæçèéêëìíîïñòóôõöøùúûüÿ°±²³µ·×½¼¾§«»¡¿£\u00a0€‚„…‘’“”–—")
_STRANGE_RUN = re.compile(r"[À-ÖØ-öø-ÿ]{3}")


class UnreadableTextError(LittoralError):
    """The file as a whole cannot be read: `what`, what would be `right`, and the line if one is to blame."""

    def __init__(self, what: str, right: str, line: int | None = None) -> None:
        self.what = what
        self.right = right
        self.line = line
        super().__init__(f"{what} {right}")


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the line it begins in (from 1), its cells by column, and cells beyond the last column."""

    line: int
    cells: dict[str, str]
    beyond: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CsvText:
    """What was read: the separator, and the rows that are not empty."""

    separator: str
    rows: tuple[Row, ...]


def decode(data: bytes) -> str:
    """Return the text of a CSV file. Raises UnreadableTextError where its encoding cannot be told."""
    if len(data) > LARGEST_BYTES:
        what = f"The file has {len(data):,} bytes; at most {LARGEST_BYTES:,} are read."
        raise UnreadableTextError(what, "Split it into several files.")
    right = 'Save it again as "CSV UTF-8".'
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        if data.startswith(mark):
            try:
                return _clean(data.removeprefix(mark).decode(encoding))
            except UnicodeDecodeError:
                raise UnreadableTextError(f"The file says that it is {encoding.upper()}, but is not.", right) from None
    if b"\x00" in data:
        raise UnreadableTextError("The file is not text, or is UTF-16 without its byte-order mark.", right)
    try:
        return _clean(data.decode("utf-8"))
    except UnicodeDecodeError:
        pass
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        text = "\x00"
    beyond_ascii = {letter for letter in text if letter > "~"}
    if not beyond_ascii <= _WESTERN or _STRANGE_RUN.search(text) or "\x00" in text:
        line = _first_beyond_ascii(data)
        what = "The file is not UTF-8, and its encoding cannot be told from the letters in it."
        raise UnreadableTextError(what, right, line)
    return _clean(text)


def _clean(text: str) -> str:
    if "\x00" in text:
        raise UnreadableTextError("The file holds NUL characters, so it is not text.", 'Save it again as "CSV UTF-8".')
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _first_beyond_ascii(data: bytes) -> int:
    place = next((place for place, byte in enumerate(data) if byte > 0x7E), 0)
    return data[:place].count(b"\n") + 1


def read_rows(text: str, *, columns: Sequence[str], needed: Sequence[str]) -> CsvText:
    """Split decoded text into rows. The first line that is not empty names the columns, in any order.

    Raises UnreadableTextError for a header that does not name the `needed` columns or names others than `columns`, and
    for quotation marks that do not close.
    """
    header_line = next((number for number, line in enumerate(text.split("\n"), start=1) if line.strip()), None)
    example = ",".join(columns)
    if header_line is None:
        raise UnreadableTextError("The file is empty.", f"Its first line is the header: {example}.")
    header_text = text.split("\n")[header_line - 1]
    counts = {separator: header_text.count(separator) for separator in SEPARATORS}
    separator = max(counts, key=lambda one: counts[one])
    if not counts[separator]:
        what = "The first line is not a header with columns."
        raise UnreadableTextError(what, f"Begin the file with: {example}.", header_line)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    rows: list[Row] = []
    names: list[str] = []
    begun = 1
    try:
        for cells in reader:
            line, begun = begun, reader.line_num + 1
            stripped = [cell.strip() for cell in cells]
            if not any(stripped):
                continue
            if not names:
                names = _header(stripped, columns, needed, line)
                continue
            beyond = tuple(stripped[len(names) :])
            rows.append(Row(line, dict(zip(names, stripped, strict=False)), beyond if any(beyond) else ()))
    except csv.Error as error:
        raise UnreadableTextError(*_broken_row(str(error)), begun) from None
    return CsvText(separator, tuple(rows))


def _broken_row(reason: str) -> tuple[str, str]:
    """Say in plain words what the csv module's message means, and what would be right."""
    if "end of data" in reason:
        return 'The row that begins here has a quotation mark (") without its partner.', "Close it, or take it out."
    if "expected after" in reason:
        what = 'The row that begins here goes on behind a closing quotation mark (").'
        return what, 'Put the whole cell into quotation marks, and write those inside it twice ("").'
    if "limit" in reason:
        what = f"The row that begins here has a cell of more than {csv.field_size_limit():,} characters."
        return what, 'Look for a quotation mark (") without its partner.'
    return "The row that begins here cannot be read.", 'Look for a quotation mark (") without its partner.'


def _header(cells: Sequence[str], columns: Sequence[str], needed: Sequence[str], line: int) -> list[str]:
    names = [cell.lower() for cell in cells]
    while names and not names[-1]:
        names.pop()  # a spreadsheet writes empty columns to the right
    for name in names:
        if name not in columns:
            meant = nearest(name, columns)
            hint = f'Did you mean "{meant}"? ' if meant else ""
            what = f'The header names a column "{name}".'
            raise UnreadableTextError(what, f"{hint}The columns are {', '.join(columns)}.", line)
        if names.count(name) > 1:
            raise UnreadableTextError(f'The header names "{name}" twice.', "Name every column once.", line)
    missing = [name for name in needed if name not in names]
    if missing:
        what = f"The header does not name {' and '.join(missing)}."
        raise UnreadableTextError(what, f"Begin the file with: {','.join(columns)}.", line)
    return names
