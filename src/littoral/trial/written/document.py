"""TOML text to plain values, with the line of every key, past as many syntax mistakes as can be passed safely.

`tomllib` decides what the text means; the syntax tree gives lines and finds keys given twice. Where one value is wrong,
it is reported and blanked, and reading goes on, so that one missing quotation mark does not hide all other mistakes.
The keys of blanked values are kept, so that nobody is told that they are missing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from littoral.errors import Fault
from littoral.trial.written.moments import looks_like_date, read_date
from littoral.trial.written.report import Path, WrongValueError, show_path
from littoral.trial.written.toml_keys import FoundKey, find_keys

LARGEST_CHARACTERS = 300_000
"""Limit on a trial file: far above any that a person writes."""
MOST_SYNTAX_FAULTS = 25
LONGEST_VALUE = 100
"""Assignments looked back over for the beginning of a value that was never closed."""

_LINE_IN_MESSAGE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_WORD = re.compile(r"^\s*(?P<word>[A-Za-z0-9_-]+)")
_ASSIGNMENT = re.compile(r"""^\s*(?P<key>[A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*=(?P<value>.*)$""")

_CLOSE_IT = "Look here for a quotation mark, bracket or brace that is never closed."
_WRITE_IT = 'A line is `key = value` or `[table]`; text stands in "quotation marks", lists in [brackets].'


@dataclass(frozen=True, slots=True)
class Document:
    """What was read. `lines` is the line (from 1) of each path; `unread` are keys whose values had a syntax mistake.

    `values` is None where the text could not be read at all.
    """

    values: Mapping[str, Any] | None
    lines: Mapping[Path, int]
    unread: frozenset[Path]
    faults: tuple[Fault, ...]


def read_document(text: str, *, where: str) -> Document:
    """Read TOML text; all mistakes of syntax that can be told apart are in the result's `faults`."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    if len(text) > LARGEST_CHARACTERS:
        what = f"The file has {len(text):,} characters; at most {LARGEST_CHARACTERS:,} are read."
        return Document(None, {}, frozenset(), (Fault(what, "A trial file is a few pages of text.", where),))
    mending = _Mending(text.encode("utf-8", errors="replace").split(b"\n"), where)
    values: Mapping[str, Any] | None = None
    while values is None and len(mending.faults) < MOST_SYNTAX_FAULTS:
        try:
            values = tomllib.loads(_text(mending.rows))
        except RecursionError:
            mending.note("Lists or tables are nested too deeply.", "A trial needs about five levels.", None)
            break
        except ValueError as error:  # TOMLDecodeError, and integers of thousands of digits
            if not mending.pass_over(str(error)):
                break
    lines = {} if values is None else {key.path: key.line for key in find_keys(b"\n".join(mending.rows))}
    return Document(values, lines, frozenset(mending.unread), tuple(mending.faults))


@dataclass(slots=True)
class _Mending:
    """The rows of a text from which wrong values are blanked one by one; line n is `rows[n - 1]`."""

    rows: list[bytes]
    where: str
    faults: list[Fault] = field(default_factory=list)
    unread: set[Path] = field(default_factory=set)
    keys: list[FoundKey] = field(default_factory=list)

    def note(self, what: str, right: str, line: int | None) -> None:
        self.faults.append(Fault(what, right, self.where, line))

    def pass_over(self, message: str) -> bool:
        """Note the mistake that the parser's message tells of, and blank it; False where the rest cannot be trusted."""
        self.keys = list(find_keys(b"\n".join(self.rows)))
        found = _LINE_IN_MESSAGE.search(message)
        line = int(found["line"]) if found is not None and found["line"] is not None else None
        if message.startswith(("Cannot ", "Duplicate ")) and self._pass_repeated(line):
            return True
        reason = _LINE_IN_MESSAGE.sub("", message)
        reason = reason[:1].lower() + reason[1:]
        if line is None:
            self.note(f"The file ends too early: {reason}.", _CLOSE_IT, None)
            return False
        begun = self._open_value_at(line)
        if begun is not None:
            return self._pass_longer_value(begun, line, reason)
        if _reads(self._row(line)):
            self.note(f"Reading stopped at this line: {reason}.", _CLOSE_IT, line)
            return False
        return self._pass_line(line, reason)

    def _pass_repeated(self, line: int | None) -> bool:
        # Behind the line that stopped the parser the tree may be wrong; keys there are looked at in the next round.
        repeated = [key for key in self.keys if key.twice_since is not None and (line is None or key.line <= line)]
        source = b"\n".join(self.rows)
        for key in repeated:
            what = f"{show_path(key.path)} is given twice; the first is in line {key.twice_since}."
            self.note(what, "Keep one of the two.", key.line)
            self.unread.add(key.path)
            blank = bytes(byte if byte == 0x0A else 0x20 for byte in source[key.start : key.end])
            source = source[: key.start] + blank + source[key.end :]
        self.rows = source.split(b"\n")
        return bool(repeated)

    def _pass_line(self, line: int, reason: str) -> bool:
        row = self._row(line)
        assignment, word = _ASSIGNMENT.match(row), _WORD.match(row)
        if assignment is not None:
            path = self._path_of(assignment["key"], line)
            what, right = _explained(assignment["value"], reason)
            self.note(f"{show_path(path)} {what}", right, line)
            self.unread.add(path)
        else:
            self.note(f"This line cannot be read: {reason}.", _WRITE_IT, line)
            if word is not None:
                self.unread.add(self._path_of(word["word"], line))
        self.rows[line - 1] = b""
        return not row.lstrip().startswith("[")  # without its header, a table's keys are another's

    def _pass_longer_value(self, begun: int, line: int, reason: str) -> bool:
        """Pass a value over several lines that begins in `begun` and is wrong at `line`.

        If `line` makes sense by itself, the value was never closed; otherwise it goes on to the line that closes it.
        """
        assignment = _ASSIGNMENT.match(self._row(begun))
        assert assignment is not None
        path = self._path_of(assignment["key"], begun)
        self.unread.add(path)
        what = f"{show_path(path)} cannot be read: {reason}."
        if _reads(self._row(line)):
            self.note(what, _CLOSE_IT, begun)
            end = line - 1
        else:
            self.note(what, _WRITE_IT, line)
            closing = (at for at in range(line, len(self.rows) + 1) if self._row(at).strip().startswith("]"))
            end = next(closing, 0)
        for at in range(begun, end + 1):
            self.rows[at - 1] = b""
        return end > 0

    def _open_value_at(self, line: int) -> int | None:
        """Return the line in which the value begins that is still open where `line` begins, or None if none is."""
        if _reads(_text(self.rows[: line - 1])):
            return None
        begins = (at for at in range(line - 1, 0, -1) if _ASSIGNMENT.match(self._row(at)))
        return next((at for at in islice(begins, LONGEST_VALUE) if _reads(_text(self.rows[: at - 1]))), None)

    def _row(self, line: int) -> str:
        return self.rows[line - 1].decode(errors="replace")

    def _path_of(self, key: str, line: int) -> Path:
        table = next((found.path for found in reversed(self.keys) if found.header and found.line < line), ())
        return (*table, key.strip("\"'"))


def _explained(value: str, reason: str) -> tuple[str, str]:
    """Say what is wrong with a value, after its key, and what would make it readable: nearly always, quotation marks.

    `reason` is the parser's; of a date it sees only numbers that go on unexpectedly.
    """
    bare = re.sub(r"\s+#.*$", "", value).strip()
    date = bare.partition("T")[0]
    if looks_like_date(date):
        try:
            right = f"Write {read_date(date)}, without quotation marks; text stands in them."
        except WrongValueError as error:
            return error.what, error.right
        return f"cannot be read: {bare} is no date here.", right
    what = f"cannot be read: {reason}."
    if not bare:
        return what, "A value is missing behind the equals sign."
    if not re.search(r"""["'\[\]{}]""", bare):
        return what, f'Text and amounts stand in quotation marks: "{bare}".'
    if bare.count('"') % 2:
        return what, "A quotation mark is missing."
    return what, _WRITE_IT


def _text(rows: list[bytes]) -> str:
    return b"\n".join(rows).decode(errors="replace")


def _reads(text: str) -> bool:
    try:
        tomllib.loads(text)
    except (ValueError, RecursionError):
        return False
    return True
