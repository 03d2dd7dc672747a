"""Reading the documentation: fenced commands, steps on pages, links and the anchors that they lead to. No Sphinx."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass

from docs.building.commands_page import Command, is_option, root

FENCE = re.compile(r"^( *)(`{3,}|:{3,})(.*)$")
LINK = re.compile(r"(?<!!)\[[^\]\[]*\]\(([^)\s]+)\)|!\[[^\]]*\]\(([^)\s]+)\)")
STEP = re.compile(r"^- (Open|Press|Choose|Write|Move|See|Unfold) (.+?)\.?$")


@dataclass(frozen=True, slots=True)
class Fence:
    """One fenced block of code: the line it begins at (from 1), its language, and its lines."""

    line: int
    language: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Typed:
    """One command that a page tells to type: where, its words, and what it prints as far as the page shows that."""

    line: int
    words: tuple[str, ...]
    prints: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do on a page: what, the names in it (bold, code or in quotation marks), and its line."""

    line: int
    what: str
    names: tuple[str, ...]


def fences(text: str) -> Iterator[Fence]:
    """Yield every block of code that is fenced by backticks, also inside of directives."""
    lines = text.splitlines()
    at = 0
    while at < len(lines):
        found = FENCE.match(lines[at])
        at += 1
        if found is None or not found[2].startswith("`"):
            continue
        begun, held = at, []
        while at < len(lines) and lines[at].strip() != found[2]:
            held.append(lines[at][len(found[1]) :])
            at += 1
        at += 1
        yield Fence(begun, found[3].strip(), tuple(held))


def without_fences(text: str) -> str:
    """Return the text with the lines of code blocks emptied, so that lines keep their numbers."""
    lines = text.splitlines()
    for one in fences(text):
        if not one.language.startswith("{"):
            lines[one.line - 1 : one.line + len(one.lines) + 1] = [""] * (len(one.lines) + 2)
    return "\n".join(lines)


def typed(text: str) -> Iterator[Typed]:
    """Yield every `littoral` command in the shell blocks of a page (`sh`; `console` with what it prints)."""
    for fence in fences(text):
        if fence.language == "sh":
            for number, line in enumerate(fence.lines):
                words = _words(line)
                if "littoral" in words[:1]:
                    yield Typed(fence.line + number + 1, words)
        elif fence.language == "console":
            yield from _console(fence)


def _console(fence: Fence) -> Iterator[Typed]:
    begun: tuple[int, tuple[str, ...]] | None = None
    printed: list[str] = []
    for number, line in enumerate((*fence.lines, "$ ")):
        if line.startswith("$ "):
            if begun is not None:
                yield Typed(begun[0], begun[1], tuple(printed))
            begun, printed = (fence.line + number + 1, _words(line[2:])), []
        else:
            printed.append(line)


def _words(line: str) -> tuple[str, ...]:
    words = shlex.split(line, comments=True)
    while words and "=" in words[0] and not words[0].startswith("-"):
        words.pop(0)
    return tuple(words)


def faults_of(one: Typed) -> list[str]:
    """Return what the command line would refuse: an unknown command or option, a value or argument that is missing."""
    command, rest = root(), list(one.words[1:])
    rest, faults = _options(command, rest, stop=True)
    while hasattr(command, "commands"):
        if not rest:
            return faults  # the group itself, which prints its help
        name = rest.pop(0)
        if name not in command.commands:
            return [*faults, f"there is no command {name}"]
        command = command.commands[name]
    places, more = _options(command, rest, stop=False)
    return [*faults, *more, *_places(command, places)]


def _options(command: Command, words: list[str], *, stop: bool) -> tuple[list[str], list[str]]:
    """Return the words that are no options, and what is wrong; with `stop` reading ends at the first such word."""
    known = {name: one for one in command.params if is_option(one) for name in (*one.opts, *one.secondary_opts)}
    places: list[str] = []
    faults: list[str] = []
    words = list(words)
    while words:
        word = words.pop(0)
        if not word.startswith("--"):
            if stop:
                return [word, *words], faults
            places.append(word)
            continue
        name, sign, _ = word.partition("=")
        if name == "--help":
            continue
        if name not in known:
            faults.append(f"there is no option {name}")
        elif not known[name].is_flag and not sign:
            if not words:
                faults.append(f"{name} has no value")
            else:
                words.pop(0)
    return places, faults


def _places(command: Command, places: list[str]) -> list[str]:
    arguments = [one for one in command.params if not is_option(one)]
    least = sum(1 for one in arguments if one.required)
    most = 10**6 if any(one.nargs == -1 for one in arguments) else len(arguments)
    if least <= len(places) <= most:
        return []
    return [f"it takes {least} to {most} arguments, here are {len(places)}"]


def steps(text: str) -> Iterator[list[Step]]:
    """Yield every list of steps in `:::{container} on-the-page` blocks. Raises ValueError where a line is no step."""
    inside: list[Step] | None = None
    for number, line in enumerate(text.splitlines(), start=1):
        if line.startswith(":::{container} on-the-page"):
            inside = []
        elif inside is not None and line.startswith(":::"):
            yield inside
            inside = None
        elif inside is not None and line.strip():
            found = STEP.match(line)
            if found is None:
                raise ValueError(f"line {number} is no step: {line}")
            names = re.findall(r"\*\*(.+?)\*\*|`(.+?)`|“(.+?)”", found[2])
            inside.append(Step(number, found[1], tuple("".join(one) for one in names)))


def links(text: str) -> Iterator[tuple[int, str]]:
    """Yield every link and picture of a page, with its line."""
    for number, line in enumerate(without_fences(text).splitlines(), start=1):
        for found in LINK.finditer(re.sub(r"`[^`]*`", lambda code: "x" * len(code[0]), line)):
            yield number, found[1] or found[2]


def anchors(text: str) -> set[str]:
    """Return the anchors of a page's headings, made as MyST and code hosts make them."""
    found: set[str] = set()
    for line in without_fences(text).splitlines():
        if heading := re.match(r"#{1,6} (.+)", line):
            plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading[1]).replace("`", "").replace("*", "")
            plain = plain.replace("\\", "").strip().lower()
            found.add(re.sub(r"[^\w\- ]", "", plain).replace(" ", "-"))
    return found
