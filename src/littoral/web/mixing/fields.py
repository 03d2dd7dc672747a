"""Between a form dataclass and the flat fields of an HTML form, both ways, by what the dataclass says of itself.

A text is a field of its name. Rows are numbered from 1: a pair is `salts.1.of` and `salts.1.is`, a row that is a
dataclass `bottles.1.name`, and so on inside. A tuple of names is one text with commas.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import lru_cache
from typing import Any, get_args, get_type_hints

Texts = Mapping[str, str]
PAIR = ("of", "is")


def fields_of(form: Any) -> dict[str, str]:
    """Return every field of a form dataclass as a text by its flat name; empty ones too."""
    return dict(_flat("", form))


def form_of(kind: type, texts: Texts) -> Any:
    """Return the form that flat fields make; fields of other names are left aside, rows without any text are dropped.

    A field that is not there is empty, not what the dataclass proposes.
    """
    return _formed(kind, "", texts)


def rows_of(name: str, texts: Texts) -> list[int]:
    """Return the numbers of the rows that a list has in flat fields, in order, empty rows too."""
    start = f"{name}."
    numbers = {field[len(start) :].partition(".")[0] for field in texts if field.startswith(start)}
    return sorted(int(number) for number in numbers if number.isascii() and number.isdecimal() and len(number) <= 3)


@lru_cache(maxsize=64)
def _hints_of(kind: Hashable) -> dict[str, Any]:
    return get_type_hints(kind)


def _hints(kind: Any) -> dict[str, Any]:
    """Return the types of a form's fields; reading them anew each time would take most of a sheet's time."""
    return _hints_of(kind)


def _row_kind(hint: Any) -> Any:
    """Return what the rows of a tuple type are: `str`, a dataclass, or a pair of texts; None for a plain text."""
    return None if hint is str else get_args(hint)[0]


def _flat(start: str, form: Any) -> Iterator[tuple[str, str]]:
    for field in fields(form):
        value, kind = getattr(form, field.name), _row_kind(_hints(type(form))[field.name])
        name = f"{start}{field.name}"
        if kind is None:
            yield name, value
        elif kind is str:
            yield name, ", ".join(value)
        else:
            for number, row in enumerate(value, 1):
                if is_dataclass(kind):
                    yield from _flat(f"{name}.{number}.", row)
                else:
                    yield from zip((f"{name}.{number}.{end}" for end in PAIR), row, strict=True)


def _formed(kind: Any, start: str, texts: Texts) -> Any:
    values: dict[str, Any] = {}
    for field in fields(kind):
        name, row_kind = f"{start}{field.name}", _row_kind(_hints(kind)[field.name])
        if row_kind is None:
            # a choice is never empty: "mass" or "volume" stays what the dataclass says
            chosen = field.default if field.default is not MISSING and name not in texts and start else ""
            values[field.name] = texts.get(name, chosen).strip()
        elif row_kind is str:
            values[field.name] = tuple(part.strip() for part in texts.get(name, "").split(",") if part.strip())
        else:
            values[field.name] = tuple(_rows(row_kind, name, texts))
    return kind(**values)


def _rows(kind: Any, name: str, texts: Texts) -> Iterator[Any]:
    for number in rows_of(name, texts):
        start = f"{name}.{number}."
        if not any(text.strip() for field, text in texts.items() if field.startswith(start)):
            continue
        if is_dataclass(kind):
            yield _formed(kind, start, texts)
        else:
            yield tuple(texts.get(f"{start}{end}", "").strip() for end in PAIR)
