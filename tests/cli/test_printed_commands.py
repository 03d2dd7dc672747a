"""Every command that the page, the sheet or a message prints can be typed as it stands."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from importlib import resources
from importlib.resources.abc import Traversable

import pytest
import typer
from typer.core import TyperGroup

from littoral.cli.main import app


def _files(folder: Traversable) -> Iterator[Traversable]:
    for one in folder.iterdir():
        if one.is_dir():
            yield from _files(one)
        elif one.name.endswith((".py", ".html", ".j2", ".js")):
            yield one


def printed() -> list[str]:
    """Return each `littoral …` within code marks, and each line of the sheet's commands."""
    found: set[str] = set()
    for file in _files(resources.files("littoral")):
        text = file.read_text("utf-8")
        found |= set(re.findall(r"(?:`|<code>)(littoral [a-z][^`<{]*)(?:`|</code>)", text))
        for several in re.findall(r'commands="([^"]+)"', text):
            found |= set(several.split(r"\n"))
    return sorted(found)


def test_there_are_some() -> None:
    assert "littoral publish logbook" in printed()
    assert len(printed()) > 5


@pytest.mark.parametrize("line", printed())
def test_it_is_a_command_with_all_it_needs(line: str) -> None:
    name, *arguments = shlex.split(line)[1:]
    commands = typer.main.get_command(app)
    assert isinstance(commands, TyperGroup)
    commands.commands[name].make_context(name, arguments)
