"""What a person wrote into a sheet: its texts by field, rows added and taken away, and the address that keeps it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

from littoral.errors import Fault
from littoral.web.mixing.fields import rows_of

_BARE = re.compile(r"[+-]?[0-9]*[.,]?[0-9]+", re.ASCII)
_NUMBER = re.compile(r"\.[0-9]+")
_ROW = re.compile(r"\.[0-9]+\.")
WHOLE = "whole"
"""The field that says that every field of the sheet was sent, so that one that is missing is empty."""
WITHOUT = "without"
"""The field that names, with commas, the proposed rows that were taken away."""
ASKED = ("more", "less", "token", "trial", "of", "passing", WHOLE, WITHOUT)
"""Fields that nobody writes: what a button asks for, and what goes along."""


class Written:
    """The texts of one sheet. `proposed` are its own, used for fields that were not sent, unless all were.

    `units` are what a number alone is taken in, by field without the numbers of its rows ("salts.is": "g").
    """

    def __init__(self, sent: Mapping[str, str], *, proposed: Mapping[str, str], units: Mapping[str, str]) -> None:
        self.proposed = dict(proposed)
        gone = tuple(f"{row}." for row in sent.get(WITHOUT, "").split(",") if row)
        self.texts = {} if WHOLE in sent else {n: text for n, text in proposed.items() if not n.startswith(gone)}
        self.texts.update({name: text.strip() for name, text in sent.items() if name not in ASKED})
        self._drop_empty_rows()
        self.tidied: dict[str, str] = {}
        for name, text in self.texts.items():
            unit = units.get(_NUMBER.sub("", name), "")
            if unit and _BARE.fullmatch(text):
                self.tidied[name] = f"{text} {unit}"
        self.texts.update(self.tidied)
        self.troubles: dict[str, str] = {}
        self.focus = ""
        self._shown: set[str] = set()

    def get(self, name: str) -> str:
        """Return one text, "" where there is none."""
        return self.texts.get(name, "")

    def show(self, name: str) -> str:
        """Return one text for its field, and remember that the sheet has one."""
        self._shown.add(name)
        return self.get(name)

    def unshown(self) -> dict[str, str]:
        """Return the texts that no field of the sheet shows: they go along unseen, so that none is lost."""
        return {name: text for name, text in self.texts.items() if text and name not in self._shown}

    def rows(self, name: str) -> list[int]:
        """Return the numbers of a list's rows."""
        return rows_of(name, self.texts)

    def add_row(self, name: str, row: Mapping[str, str]) -> None:
        """Add a row to a list, of these texts by column; its first empty field is where a person goes on."""
        number = max(self.rows(name), default=0) + 1
        self.texts.update({f"{name}.{number}.{column}": text for column, text in row.items()})
        self.focus = next((f"{name}.{number}.{column}" for column, text in row.items() if not text), "")

    def take_row(self, name: str, number: int) -> None:
        """Take a row away."""
        for field in self._fields_of_row(name, number):
            del self.texts[field]

    def note(self, faults: Sequence[Fault]) -> list[str]:
        """Put faults at the fields they are about; return the words of those that belong to no field of this sheet."""
        left = []
        for fault in faults:
            words = f"{fault.what} {fault.right}".strip()
            field = self._field_of(fault)
            if field is None:
                left.append(f"{fault.where}: {words}")
            else:
                self.troubles.setdefault(field, words[:1].upper() + words[1:])
        return left

    def address(self, path: str, **more: str) -> str:
        """Return the address that opens this sheet as it is written: only what differs from what it proposes."""
        gone = self._rows_gone()
        inside = tuple(f"{row}." for row in gone)
        names = [name for name in {**self.proposed, **self.texts} if not name.startswith(inside)]
        kept = {name: self.get(name) for name in names if self.get(name) != self.proposed.get(name, "")}
        if gone:
            kept = {WITHOUT: ",".join(gone), **kept}
        together = urlencode({**{name: text for name, text in more.items() if text}, **kept})
        return f"{path}?{together}" if together else path

    def _rows_gone(self) -> list[str]:
        """Return the proposed rows of which nothing is left, the outermost of each, such as "bottles.2"."""
        left = {row for name in self.texts for row in _rows_around(name)}
        outermost = (next((row for row in _rows_around(name) if row not in left), "") for name in self.proposed)
        return [row for row in dict.fromkeys(outermost) if row]

    def _drop_empty_rows(self) -> None:
        filled = {row for name, text in self.texts.items() if text for row in _rows_around(name)}
        self.texts = {name: text for name, text in self.texts.items() if filled.issuperset(_rows_around(name))}

    def _fields_of_row(self, name: str, number: int) -> list[str]:
        return [field for field in self.texts if field.startswith(f"{name}.{number}.")]

    def _field_of(self, fault: Fault) -> str | None:
        where = self._numbered(fault.where)
        if where in self.texts and fault.line is None:
            return where
        filled = [n for n in self.rows(where) if any(self.texts[field] for field in self._fields_of_row(where, n))]
        at = (fault.line or 1) - 1
        if not 0 <= at < len(filled):
            return next((field for field in self.texts if field.startswith(where)), None)
        fields = self._fields_of_row(where, filled[at])
        quoted = (field for field in fields if self.texts[field] and f'"{self.texts[field]}"' in fault.what)
        amounts = (field for field in fields if field.rpartition(".")[2] in ("is", "amount", "share"))
        return next(quoted, next(amounts, fields[0]))

    def _numbered(self, where: str) -> str:
        """Turn "bottles.macro.salts", which names a row by its key, into "bottles.1.salts"."""
        name, _, rest = where.partition(".")
        key, _, field = rest.partition(".")
        for number in self.rows(name) if key else ():
            if self.get(f"{name}.{number}.key") == key:
                return f"{name}.{number}.{field}" if field else f"{name}.{number}"
        return where


def _rows_around(name: str) -> list[str]:
    """Return the rows that a field lies in, the outermost first: "bottles.1" and "bottles.1.salts.2"."""
    return [name[: row.end() - 1] for row in _ROW.finditer(name)]
