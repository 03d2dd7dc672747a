"""The page of every command, from the command line itself."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import typer.main

from littoral.cli.main import app

GROUPS = {
    "Begin": ("demo", "start", "init", "check", "design", "import", "again", "next"),
    "Mix and feed": ("mix", "water", "week", "costs"),
    "Care at the bench": ("today", "record", "correct", "undo", "audit", "calendar", "bench-card"),
    "Photos": ("photos", "measure", "series", "colour", "colour-card"),
    "Answers": ("answer", "levels", "decide", "history", "pool", "growth-test"),
    "Show and give away": ("publish", "sheet", "film", "still", "package", "protocol"),
    "Past records": ("import-table",),
    "The page, and who may use it": ("open", "devices", "settings"),
    "Keep it": ("verify", "backup", "restore", "export", "move-logbook"),
}
"""In which order commands are read; tests/docs hold it against the commands that there are."""


# Typer builds commands by click's classes, and newer ones by its own copy of them: so they are told by what they have.
Command = Any
Parameter = Any


@cache
def root() -> Command:
    """Return the whole command line."""
    return typer.main.get_command(app)


def is_option(one: Parameter) -> bool:
    """Return whether a parameter is an option (and not an argument)."""
    return bool(one.param_type_name == "option")


def commands(of: Command = None, above: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Command]]:
    """Yield every command that does something, with the words that call it."""
    for name, command in (of or root()).commands.items():
        words = (*above, name)
        if hasattr(command, "commands"):
            yield from commands(command, words)
        else:
            yield words, command


def commands_page() -> str:
    """Return the page as Markdown: each command with its arguments, options and defaults."""
    every = list(commands())
    lines = [
        "# Commands",
        "",
        f"Made from the command line itself. `littoral COMMAND --help` says the same in a terminal. {root().epilog}",
        "",
        "These stand before the command: "
        + ", ".join(f"`{_written(one)}` ({_sentence(one).rstrip('.')})" for one in root().params if is_option(one))
        + ".",
        "",
    ]
    for title, names in GROUPS.items():
        lines += [f"## {title}", ""]
        for words, command in every:
            if words[0] in names:
                lines += _one(words, command)
    return "\n".join(lines)


def _one(words: tuple[str, ...], command: Command) -> list[str]:
    arguments = [one for one in command.params if not is_option(one)]
    options = [one for one in command.params if is_option(one) and not one.hidden]
    usage = " ".join(["littoral", *words, *(_place(one) for one in arguments), "[OPTIONS]" if options else ""]).strip()
    lines = [f"### littoral {' '.join(words)}", "", _plain(command.help or ""), "", "```text", usage, "```", ""]
    rows = [(f"`{_place(one)}`", _sentence(one)) for one in arguments]
    rows += [(f"`{_written(one)}`", _sentence(one)) for one in options]
    if rows:
        lines += ["| | |", "|---|---|", *(f"| {name} | {said} |" for name, said in rows), ""]
    return lines


def _place(argument: Parameter) -> str:
    name = (argument.metavar or argument.name or "").upper().strip("[]")
    name += "..." if argument.nargs == -1 else ""
    return name if argument.required else f"[{name}]"


def _written(option: Parameter) -> str:
    names = ", ".join([*option.opts, *option.secondary_opts])
    if option.is_flag:
        return names
    return f"{names} {option.metavar or 'VALUE'}".replace("|", "/")


def _sentence(one: Parameter) -> str:
    said = _plain(getattr(one, "help", "") or "")
    default = one.default
    if is_option(one) and not one.is_flag and isinstance(default, str | int | float) and default != "":
        said += f" Default: `{default}`."
    if is_option(one) and one.multiple:
        said += " May be given again."
    return said


def _plain(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("<", "&lt;")
