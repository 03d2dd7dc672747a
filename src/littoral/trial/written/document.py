"""TOML text to plain values, with the line of every key, past as many syntax mistakes as can be passed safely.

`tomllib` decides what the text means; the syntax tree gives lines and finds keys given twice. A mistake that stays
within one line is reported, the line is blanked and reading goes on, so that one missing quotation mark does not hide
all other mistakes. The keys of blanked lines are kept, so that nobody is told that they are missing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from littoral.errors import Fault
from littoral.trial.written.report import Path, show_path
from littoral.trial.written.toml_keys import FoundKey, find_keys

LARGEST_CHARACTERS = 1_000_000
"""Limit on a trial file: far above any that a person writes."""
MOST_SYNTAX_FAULTS = 25

_LINE_IN_MESSAGE = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_WORD = re.compile(r"^\s*[A-Za-z0-9_-]+")
_ASSIGNMENT = re.compile(r"""^\s*(?P<key>[A-Za-z0-9_-]+|"[^"]*"|'[^']*')\s*=(?P<value>.*)$""")


@dataclass(frozen=True, slots=True)
class Document:
    """What was read. `lines` is the line (from 1) of each path; `unread` are keys whose lines had a syntax mistake.

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
    faults: list[Fault] = []
    unread: set[Path] = set()
    source = text.encode("utf-8", errors="replace")
    while len(faults) < MOST_SYNTAX_FAULTS:
        try:
            values = tomllib.loads(source.decode())
        except RecursionError:
            faults.append(Fault("Lists or tables are nested too deeply.", "A trial needs about five levels.", where))
            return Document(None, {}, frozenset(), tuple(faults))
        except ValueError as error:  # TOMLDecodeError, and integers of thousands of digits
            healed = _heal(source, str(error), where, faults, unread)
            if healed is None:
                return Document(None, {}, frozenset(unread), tuple(faults))
            source = healed
        else:
            lines = {key.path: key.line for key in find_keys(source)}
            return Document(values, lines, frozenset(unread), tuple(faults))
    return Document(None, {}, frozenset(unread), tuple(faults))


def _heal(source: bytes, message: str, where: str, faults: list[Fault], unread: set[Path]) -> bytes | None:
    """Note what is wrong and return the text without it, or None where the rest cannot be trusted."""
    keys = list(find_keys(source))
    repeated = [key for key in keys if key.twice_since is not None]
    if repeated:
        for key in repeated:
            what = f"{show_path(key.path)} is given twice; the first is in line {key.twice_since}."
            faults.append(Fault(what, "Keep one of the two.", where, key.line))
            source = _blanked(source, key.start, key.end)
            unread.add(key.path)
        return source
    found = _LINE_IN_MESSAGE.search(message)
    reason = _LINE_IN_MESSAGE.sub("", message)
    reason = reason[:1].lower() + reason[1:]
    if found is None or found["line"] is None:
        faults.append(Fault(f"The file ends too early: {reason}.", _RIGHT_UNCLOSED, where))
        return None
    line = int(found["line"])
    rows = source.split(b"\n")
    row = rows[line - 1].decode(errors="replace")
    if _reads(row) or not _reads(b"\n".join(rows[: line - 1]).decode(errors="replace")):
        faults.append(Fault(f"Reading stopped at this line: {reason}.", _RIGHT_UNCLOSED, where, line))
        return None
    assignment = _ASSIGNMENT.match(row)
    if assignment is None:
        faults.append(Fault(f"This line cannot be read: {reason}.", _RIGHT_LINE, where, line))
        if row.lstrip().startswith("["):
            return None
        word = _WORD.match(row)
        if word:
            unread.add((*_table_at(keys, line), word[0].strip()))
    else:
        path = (*_table_at(keys, line), assignment["key"].strip("\"'"))
        what = f"{show_path(path)} cannot be read: {reason}."
        faults.append(Fault(what, _right_for(assignment["value"], reason), where, line))
        unread.add(path)
    rows[line - 1] = b""
    return b"\n".join(rows)


_RIGHT_UNCLOSED = "Look at and above this place for a quotation mark, bracket or brace that is never closed."
_RIGHT_LINE = 'A line is `key = value` or `[table]`; text stands in "quotation marks", lists in [brackets].'


def _right_for(value: str, reason: str) -> str:
    """Say what would make the value readable: nearly always, quotation marks."""
    if "invalid date" in reason:
        return "A date is year-month-day and must exist, such as 2026-03-02."
    bare = re.sub(r"\s+#.*$", "", value).strip()
    if bare and not re.search(r"""["'\[\]{}]""", bare):
        return f'Text and amounts stand in quotation marks: "{bare}".'
    if bare.count('"') % 2:
        return "A quotation mark is missing."
    return _RIGHT_LINE


def _reads(text: str) -> bool:
    try:
        tomllib.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def _table_at(keys: list[FoundKey], line: int) -> Path:
    """Return the path of the table that a line belongs to."""
    return next((key.path for key in reversed(keys) if key.header and key.line < line), ())


def _blanked(source: bytes, start: int, end: int) -> bytes:
    """Overwrite bytes with spaces, keeping line ends and with them all line numbers."""
    kept = bytes(byte if byte == 0x0A else 0x20 for byte in source[start:end])
    return source[:start] + kept + source[end:]
