"""Where each key of a TOML text stands: its line and bytes, and whether it was given before."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from tree_sitter import Language, Node, Parser
from tree_sitter_toml import language

from littoral.trial.written.report import Path

DEEPEST = 20
"""Levels of lists and tables that are followed; a trial needs about five."""


@dataclass(frozen=True, slots=True)
class FoundKey:
    """A key, header or place in a list: its line (from 1) and bytes; `twice_since` is the line it stood in before."""

    path: Path
    line: int
    start: int
    end: int
    header: bool = False
    twice_since: int | None = None


@dataclass(slots=True)
class _Seen:
    lines: dict[Path, int] = field(default_factory=dict)
    counts: dict[Path, int] = field(default_factory=dict)

    def resolve(self, names: Path) -> Path:
        """Put the place of the last list entry behind each list of tables: questions.x -> questions, 2, x."""
        path: Path = ()
        for name in names:
            path = (*path, name)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path


@lru_cache(maxsize=1)
def _parser() -> Parser:
    return Parser(Language(language()))


def find_keys(source: bytes) -> Iterator[FoundKey]:
    """Give every key of the text in the order of the file; text that is not TOML is passed over."""
    seen = _Seen()
    for node in _parser().parse(source).root_node.named_children:
        if node.type == "pair":
            yield from _pair(node, (), seen)
        elif node.type in ("table", "table_array_element"):
            names = _names(node.named_children[0]) if node.named_children else ()
            if node.type == "table":
                path = (*seen.resolve(names[:-1]), *names[-1:])
            else:
                listed = (*seen.resolve(names[:-1]), *names[-1:])
                path = (*listed, seen.counts.get(listed, 0))
                seen.counts[listed] = seen.counts.get(listed, 0) + 1
            found = _found(node, path, seen, header=True)
            yield found
            if found.twice_since is None:
                for child in node.named_children[1:]:
                    if child.type == "pair":
                        yield from _pair(child, path, seen)


def _found(node: Node, path: Path, seen: _Seen, *, header: bool = False) -> FoundKey:
    line = node.start_point.row + 1
    twice_since = seen.lines.get(path)
    seen.lines.setdefault(path, line)
    before = node.prev_sibling
    start = before.start_byte if before is not None and before.type == "," else node.start_byte
    return FoundKey(path, line, start, node.end_byte, header, twice_since)


def _pair(node: Node, table: Path, seen: _Seen) -> Iterator[FoundKey]:
    path = (*table, *_names(node.named_children[0]))
    found = _found(node, path, seen)
    yield found
    if found.twice_since is None and len(node.named_children) > 1:
        yield from _inside(node.named_children[1], path, seen)


def _inside(node: Node, path: Path, seen: _Seen) -> Iterator[FoundKey]:
    if len(path) > DEEPEST:
        return
    if node.type == "inline_table":
        for child in node.named_children:
            if child.type == "pair":
                yield from _pair(child, path, seen)
    elif node.type == "array":
        values = [child for child in node.named_children if child.type != "comment"]
        for place, child in enumerate(values):
            yield FoundKey((*path, place), child.start_point.row + 1, child.start_byte, child.end_byte)
            yield from _inside(child, (*path, place), seen)


def _names(node: Node) -> tuple[str, ...]:
    if node.type == "dotted_key":
        return tuple(name for child in node.named_children for name in _names(child))
    text = (node.text or b"").decode(errors="replace")
    if node.type == "quoted_key":
        try:
            return tuple(tomllib.loads(f"{text} = 0"))
        except ValueError:
            return (text.strip("\"'"),)
    return (text,)
