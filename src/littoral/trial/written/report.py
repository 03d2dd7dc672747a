"""Collects the faults of one file, each at the line where the person wrote it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping

from littoral.errors import Fault, LittoralError

_BARE = re.compile(r"[A-Za-z0-9_-]+")

Path = tuple[str | int, ...]
"""Where a value stands in the file: keys, and places in lists from 0."""


class WrongValueError(LittoralError):
    """A value that cannot be read: `what` continues the sentence "`key` …"; `right`, if given, says what would do."""

    def __init__(self, what: str, right: str = "") -> None:
        self.what = what
        self.right = right
        super().__init__(f"{what} {right}".strip())


class Report:
    """The faults found so far in the file `where`.

    `lines` knows the line of each path, `unread` the keys whose lines had a mistake of syntax that is reported already.
    `said` counts every fault noted, repetitions included: a reader sees by it whether a part of the file was wrong.
    `really` tells where tables stand that were written under a misspelt section: ("tanks", "left") at ("tank", "left").
    """

    def __init__(self, where: str, lines: Mapping[Path, int], unread: frozenset[Path] = frozenset()) -> None:
        self.where = where
        self.unread = unread
        self._lines: dict[Path, int] = {}
        for path, line in lines.items():
            for around in _prefixes(path):
                self._lines[around] = lines.get(around, min(line, self._lines.get(around, line)))
        self._wrong: set[Path] = {around for path in unread for around in _prefixes(path)}
        self._faults: dict[Fault, None] = {}  # a set in the order of noting
        self.said = 0
        self.really: dict[Path, Path] = {}

    @property
    def faults(self) -> tuple[Fault, ...]:
        """All faults by line; those without a line come last."""
        return tuple(sorted(self._faults, key=lambda fault: (fault.line is None, fault.line or 0)))

    def add(self, path: Path, what: str, right: str) -> None:
        """Note one fault at `path`; the same fault said twice (through `like`) is kept once."""
        self._wrong.update(_prefixes(path))
        self.add_at(self.line_of(path), what, right)

    def add_at(self, line: int | None, what: str, right: str) -> None:
        """Note one fault at a known line (from 1), or with None about the file as a whole."""
        self.said += 1
        fault = Fault(what=what, right=right, where=self.where, line=line)
        self._faults[fault] = None

    def is_wrong(self, path: Path) -> bool:
        """Tell whether a fault was noted at `path` or inside it, so that nothing more is built on it."""
        return path in self._wrong

    def line_of(self, path: Path) -> int | None:
        """Return the line of a path, or of the first thing inside it, or of the nearest thing around it."""
        if path[:2] in self.really:
            path = (*self.really[path[:2]], *path[2:])
        if path in self._lines:
            return self._lines[path]
        return self.line_of(path[:-1]) if path else None


def _prefixes(path: Path) -> Iterator[Path]:
    return (path[:length] for length in range(1, len(path) + 1))


def show_path(path: Path) -> str:
    """Print a path as in the file, with places in lists counted from 1: `questions[1].measure`."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += ("." if text else "") + (step if _BARE.fullmatch(step) else f'"{step}"')
    return f"`{text}`"


def suggest(word: str, known: Iterable[str], called: str) -> str:
    """Say which known word was probably meant, and list them all: `Did you mean "left"? The tanks are …`."""
    return suggest_each([word], known, called)


def suggest_each(words: Iterable[str], known: Iterable[str], called: str) -> str:
    """Say as `suggest` does which known words were probably meant by several."""
    names = list(known)
    if not names:
        return f"There are no {called} in this file yet."
    if len(names) == 1:
        return f'There is only "{names[0]}".'
    meant = [found for word in words if (found := nearest(word, names)) is not None]
    listed = f"The {called} are {', '.join(names)}."
    return f"Did you mean {quoted(meant)}? {listed}" if meant else listed


def quoted(words: Iterable[str]) -> str:
    """Print words in quotation marks, each once: `"left" and "right"`."""
    *rest, last = (f'"{word}"' for word in dict.fromkeys(words))
    return f"{', '.join(rest)} and {last}" if rest else last


def nearest(word: str, names: Iterable[str]) -> str | None:
    """Return the name most like `word`, whatever the case, or None where none is alike."""
    by_lower = {name.lower(): name for name in names}
    matches = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[matches[0]] if matches else None
