"""How the command line speaks: results on stdout, everything else on stderr, one exit code for a refusal."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import typer

from littoral.errors import FaultsError, LittoralError
from littoral.progress import Progress
from littoral.quantities.counting import counted
from littoral.speech.numbers import numerals

REFUSED = 1


def say(text: str = "") -> None:
    """Print a result line, its numbers as the language in force writes them."""
    typer.echo(numerals(text))


def hand_out(text: str) -> None:
    """Print what a program reads, such as a file's text: its numbers are as they stand."""
    typer.echo(text)


def aside(text: str) -> None:
    """Print to stderr: what is no result."""
    typer.echo(text, err=True)


def print_json(value: Any) -> None:
    """Print a result as JSON."""
    typer.echo(json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False))


@contextmanager
def refusals() -> Iterator[None]:
    """Turn Littoral's own errors into a message on stderr and exit code 1; anything else is a defect and shows."""
    try:
        yield
    except FaultsError as error:
        for fault in error.faults:
            aside(str(fault))
        aside(f"{counted(error.faults, 'mistake')}; nothing was changed.")
        raise typer.Exit(REFUSED) from None
    except LittoralError as error:
        aside(str(error))
        raise typer.Exit(REFUSED) from None


@contextmanager
def progress_bar(*, quiet: bool = False) -> Iterator[Progress]:
    """Give a progress function that draws a bar on a terminal, prints each stage once elsewhere, nothing if quiet."""
    if quiet:
        yield lambda _done, _total, _what: None
        return
    if not sys.stderr.isatty():
        stages: set[str] = set()

        def note(_done: int, total: int, what: str) -> None:
            if what not in stages:
                stages.add(what)
                aside(f"{what} ({total})" if total > 1 else what)

        yield note
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bars

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Bars(*columns, console=Console(stderr=True)) as bars:
        tasks: dict[str, Any] = {}

        def draw(done: int, total: int, what: str) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what, total=total)
            bars.update(tasks[what], completed=done, total=total)

        yield draw
