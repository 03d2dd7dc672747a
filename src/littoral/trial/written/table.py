"""One table of the trial file: hands out its keys one by one, and notes what is wrong with each.

Reading never stops at a mistake. A key that is missing or wrong is noted, and a stand-in is handed out so that the rest
can be checked too; a trial with any fault is not handed on, so a stand-in never gets further.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from littoral.errors import LittoralError
from littoral.trial.written.report import Path, Report, WrongValueError, nearest, show_path, suggest
from littoral.trial.written.values import KEY_RULE, is_key, show_value

T = TypeVar("T")
Parse = Callable[[Any], T]


@dataclass(frozen=True, slots=True)
class Key:
    """A key that a table may hold: how it is written, and what it means; both stand in the reference page."""

    example: str
    meaning: str
    required: bool = False


Keys = Mapping[str, Key]


class Table:
    """The values at `path`, of which `keys` are known; `kind` names it in messages ("a tank").

    A key that is not known is a fault. Where it is nearly the name of a known key that is missing, it is read as that.
    """

    def __init__(
        self,
        values: Mapping[str, Any],
        path: Path,
        *,
        keys: Keys,
        kind: str,
        report: Report,
    ) -> None:
        self.path = path
        self.keys = keys
        self.report = report
        self._kind = kind
        self._values: dict[str, Any] = {}
        self._paths: dict[str, Path] = {}
        self._model: Path | None = None
        for key, value in values.items():
            if key in keys:
                self._values[key] = value
                self._paths[key] = (*path, key)
        for key, value in values.items():
            name = None if key in keys else self._misspelt(key, values)
            if name is not None and name not in self._values:
                self._values[name] = value
                self._paths[name] = (*path, key)

    def inheriting(self, other: Table, *, but: tuple[str, ...]) -> Table:
        """Return this table with the values that only the other one gives, except those of the keys in `but`."""
        whole = copy.copy(self)
        whole._values = dict(self._values)
        whole._paths = dict(self._paths)
        whole._model = other.path
        for key, value in other._values.items():
            if key not in whole._values and key not in but and not self.was_unread(key):
                whole._values[key] = value
                whole._paths[key] = other._paths[key]
        return whole

    def _misspelt(self, key: str, values: Mapping[str, Any]) -> str | None:
        """Note an unknown key; return the missing key that it must have meant, or None."""
        meant = nearest(key, self.keys)
        self.report.add(
            (*self.path, key),
            f"{show_path((*self.path, key))} is not a key of {self._kind}.",
            suggest(key, self.keys, f"keys of {self._kind}"),
        )
        if meant is None or meant not in values:
            return meant
        both = values[meant], values[key]
        if not self.path and isinstance(both[0], dict) and isinstance(both[1], dict):
            for name, table in both[1].items():  # [tank.left] beside [tanks.right]
                if name not in both[0]:
                    self._values[meant] = self._values.get(meant, both[0]) | {name: table}
                    self.report.really[meant, name] = (key, name)
        return None

    def __contains__(self, key: str) -> bool:
        return key in self._values

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def where(self, key: str) -> Path:
        """Return the path where a key was written (with `like`, in the other table)."""
        return self._paths.get(key, (*self.path, key))

    def was_unread(self, key: str) -> bool:
        """Tell whether the key's own line had a mistake of syntax, which is noted already."""
        model = () if self._model is None else (*self._model, key)
        return (*self.path, key) in self.report.unread or model in self.report.unread

    def required(self, key: str, parse: Parse[T], stand_in: T) -> T:
        """Read a key that must be there."""
        if key not in self._values:
            if self.was_unread(key):
                self.report.said += 1
            else:
                what = f"{show_path(self.path)} has no `{key}`." if self.path else f"The file has no `{key}`."
                self.wrong_at(self.path, what, f"Add {self._written(key)}")
            return stand_in
        return self._read(key, parse, stand_in)

    def optional(self, key: str, parse: Parse[T], default: T) -> T:
        """Read a key that may be left out."""
        return self._read(key, parse, default) if key in self._values else default

    def _read(self, key: str, parse: Parse[T], stand_in: T) -> T:
        try:
            return parse(self._values[key])
        except WrongValueError as error:
            self.wrong(key, error.what, error.right or f"Write for example {self._written(key)}")
        except LittoralError as error:  # from the rooms below, whose messages are whole sentences
            self.wrong(key, f"is {show_value(self._values[key])}: {error}", f"Write for example {self._written(key)}")
        return stand_in

    def _written(self, key: str) -> str:
        return f"`{key} = {self.keys[key].example}`: {self.keys[key].meaning}."

    def wrong(self, key: str, what: str, right: str, *inside: str | int) -> None:
        """Note what is wrong with a key (or with something inside its value); `what` continues "`key` …"."""
        path = (*self.where(key), *inside)
        self.report.add(path, f"{show_path(path)} {what}", right)

    def wrong_at(self, path: Path, what: str, right: str) -> None:
        """Note a fault at a path, in whole sentences."""
        self.report.add(path, what, right)

    def table(self, key: str, keys: Keys, kind: str) -> Table | None:
        """Open the table under a key; None where it is not there or not a table."""
        if key not in self._values:
            return None
        return self._open(self._values[key], self.where(key), keys, kind)

    def tables(self, key: str, keys: Keys, kind: str) -> dict[str, Table]:
        """Open a table of named tables, such as `[tanks.left]` and `[tanks.right]`."""
        named = self._values.get(key, {})
        if not isinstance(named, dict):
            self.wrong(key, f"is {show_value(named)}, not tables.", f"Write a table for each, such as [{key}.left].")
            return {}
        opened: dict[str, Table] = {}
        for name, values in named.items():
            path = (*self.where(key), name)
            if not is_key(name):
                self.report.add(path, f'{show_path(path)} has "{name}" as its short name.', KEY_RULE)
            table = self._open(values, path, keys, kind)
            if table is not None:
                opened[name] = table
        return opened

    def listed(self, key: str, keys: Keys, kind: str) -> list[Table]:
        """Open a list of tables, such as `[[questions]]` or `doses = [{ … }]`."""
        values = self._values.get(key, [])
        if not isinstance(values, list):
            self.wrong(key, f"is {show_value(values)}, not a list.", f"Write for example {self._written(key)}")
            return []
        opened = (self._open(entry, (*self.where(key), place), keys, kind) for place, entry in enumerate(values))
        return [table for table in opened if table is not None]

    def _open(self, values: object, path: Path, keys: Keys, kind: str) -> Table | None:
        if not isinstance(values, dict):
            right = f"Write `{{ key = value, … }}`; the keys of {kind} are {', '.join(keys)}."
            self.report.add(path, f"{show_path(path)} is {show_value(values)}, not a table.", right)
            return None
        return Table(values, path, keys=keys, kind=kind, report=self.report)

    def plain(self, key: str) -> Mapping[str, Any]:
        """Return the values of the table under a key as they are; nothing where it is not a table, which is noted."""
        value = self._values.get(key, {})
        if isinstance(value, dict):
            return value
        self.wrong(key, f"is {show_value(value)}, not a table.", f"Write for example {self._written(key)}")
        return {}
