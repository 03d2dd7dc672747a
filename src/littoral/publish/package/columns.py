"""Columns of a package's tables: how a value stands in a cell of CSV, and how it is read back, exactly.

Types and their texts are those of Frictionless Table Schema 1.0 (specs.frictionlessdata.io/table-schema): an empty cell
is a missing value, an infinite number is INF, `true` and `false`, date-times in UTC with a Z, an array is JSON.
A text that a spreadsheet would take for a formula gets an apostrophe before it, and loses it when it is read.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from littoral.publish.spreadsheet import FORMULA

Type = Literal["string", "number", "integer", "boolean", "datetime", "date", "array"]
_FORMULA = re.compile(f"'*[ \u00a0]*[{re.escape(''.join(FORMULA))}]")
_AT = "%Y-%m-%dT%H:%M:%S.%fZ"


class CellError(ValueError):
    """A cell that cannot be what its column says; the text says why."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, type and meaning; `unit` is "" where it has none. `one_of` are the only texts allowed."""

    name: str
    type: Type
    meaning: str
    unit: str = ""
    required: bool = False
    one_of: tuple[str, ...] = ()
    low: float | None = None

    def schema(self, *, unique: bool = False) -> dict[str, Any]:
        """Return the column as a field descriptor of Table Schema."""
        said: dict[str, Any] = {"name": self.name, "type": self.type, "description": self.meaning}
        if self.type == "datetime":
            said["format"] = _AT
        if self.unit:
            said["unit"] = self.unit
        limits: dict[str, Any] = {}
        if self.required:
            limits["required"] = True
        if unique:
            limits["unique"] = True
        if self.one_of:
            limits["enum"] = list(self.one_of)
        if self.low is not None:
            limits["minimum"] = self.low
        return said | ({"constraints": limits} if limits else {})


@dataclass(frozen=True, slots=True)
class ForeignKey:
    """That the values of a column are those of another table's column; `table` is "" for the same table."""

    column: str
    table: str
    other: str


@dataclass(frozen=True, slots=True)
class TableSpec:
    """One table: its name (the file is data/NAME.csv), what it holds, its columns and keys."""

    name: str
    title: str
    meaning: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    links: tuple[ForeignKey, ...] = ()

    def schema(self, tables: Sequence[str]) -> dict[str, Any]:
        """Return the Table Schema of a package that has those tables; links to others are left out."""
        said: dict[str, Any] = {
            "fields": [column.schema(unique=self.key == (column.name,)) for column in self.columns],
            "missingValues": [""],
        }
        if self.key:
            said["primaryKey"] = list(self.key)
        links = [link for link in self.links if link.table in ("", *tables)]
        if links:
            said["foreignKeys"] = [
                {"fields": [link.column], "reference": {"resource": link.table, "fields": [link.other]}}
                for link in links
            ]
        return said


def cell_of(value: Any, column: Column) -> str:
    """Return a value as its cell's text; ValueError for one that is not of the column's type."""
    if value is None or value == "":
        return ""
    match column.type:
        case "string" | "date":
            return shielded(str(value))
        case "boolean":
            return "true" if value else "false"
        case "integer":
            return str(int(value))
        case "number":
            return _number_text(float(value))
        case "datetime":
            return str(value.astimezone(UTC).strftime(_AT))
        case "array":
            return json.dumps(list(value), ensure_ascii=False, allow_nan=False)


def value_of(text: str, column: Column) -> Any:
    """Return what a cell holds, None where it is empty; CellError where that is no value of the column."""
    if text == "":
        if column.required:
            raise CellError("is empty")
        return None
    try:
        value = _read(text, column)
    except (ValueError, RecursionError):
        raise CellError(f"holds {text[:40]!r}, which is no {column.type}") from None
    if column.one_of and value not in column.one_of:
        raise CellError(f"holds {text[:40]!r}; it can be {', '.join(column.one_of)}")
    if column.low is not None and value < column.low:
        raise CellError(f"holds {text[:40]}, less than {column.low:g}")
    return value


def _read(text: str, column: Column) -> Any:
    match column.type:
        case "string" | "date":
            return bare(text)
        case "boolean":
            return {"true": True, "false": False}[text] if text in ("true", "false") else _no(text)
        case "integer":
            return int(text) if len(text) < 19 else _no(text)
        case "number":
            value = math.inf if text == "INF" else float(text)
            return value if math.isfinite(value) or text == "INF" else _no(text)
        case "datetime":
            return datetime.strptime(text, _AT).replace(tzinfo=UTC)
        case "array":
            found = json.loads(text)
            return tuple(found) if isinstance(found, list) and all(isinstance(one, str) for one in found) else _no(text)


def _no(text: str) -> Any:
    raise ValueError(text)


def _number_text(value: float) -> str:
    if value == math.inf:
        return "INF"
    if not math.isfinite(value):
        raise ValueError(f"{value} is no number for a table")
    return repr(value)


def shielded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula; `bare` gives the text back, whatever it was."""
    return f"'{text}" if _FORMULA.match(text) else text


def bare(text: str) -> str:
    """Return the text that `shielded` made another of."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text
