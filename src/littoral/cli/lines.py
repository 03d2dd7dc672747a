"""What the commands of mixing and feeding print: tables, checks, derivations, cautions."""

from __future__ import annotations

import io
import shutil
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

if TYPE_CHECKING:
    from littoral.acts.mix_and_feed.figures import Figure
    from littoral.quantities.check_row import CheckRow
    from littoral.quantities.derivation import Step

WIDEST = 132
MARKS = {"holds": "ok", "warns": "look", "fails": "NO", "cannot tell": "?"}


def table(title: str, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table as text; columns that begin with ">" are set flush right."""
    drawn = Table(box=SIMPLE_HEAD, title=title, title_justify="left")
    for column in columns:
        drawn.add_column(column.lstrip(">"), justify="right" if column.startswith(">") else "left")
    for row in rows:
        drawn.add_row(*row)
    buffer = io.StringIO()
    Console(file=buffer, width=_width(), color_system=None, markup=False, emoji=False).print(drawn)
    return "\n".join(line.rstrip() for line in buffer.getvalue().strip("\n").splitlines())


def checks_table(title: str, rows: Sequence[CheckRow], *, whole: bool) -> str:
    """Return checks as a table: those that do not hold, and with `whole` the rest too; "" where there is none."""
    shown = [row for row in rows if whole or row.verdict != "holds"]
    if not shown:
        return f"{title}: {len(rows)} of {len(rows)} hold." if rows else ""
    return table(
        f"{title} ({sum(row.verdict == 'holds' for row in rows)} of {len(rows)} hold)",
        ("", "what", ">value", ">limit", "", "comment"),
        (
            (
                MARKS[row.verdict],
                row.what,
                _number(row.value),
                "" if row.limit is None else f"{row.operator} {_number(row.limit)}",
                row.unit,
                row.comment,
            )
            for row in shown
        ),
    )


def why(named: Iterable[tuple[str, Figure | None]]) -> str:
    """Return the derivation of each figure, line by line."""
    lines: list[str] = []
    for name, figure in named:
        if figure is None or not figure.steps:
            continue
        lines.append(f"why {name} is {figure.text}:")
        lines += [_step(step) for step in figure.steps]
    return "\n".join(lines)


def why_steps(lead: str, steps: Sequence[Step]) -> str:
    """Return a derivation of several figures under one line; "" where there is none."""
    return "\n".join([lead, *(_step(step) for step in steps)]) if steps else ""


def wrapped(text: str, *, indent: str = "  ") -> str:
    """Return a sentence broken to the terminal's width."""
    return textwrap.fill(text, width=_width(), initial_indent=indent, subsequent_indent=indent)


def _step(step: Step) -> str:
    source = f"   [{step.source}]" if step.source else ""
    equals = f" = {step.result}" if step.result else ""
    return textwrap.fill(
        f"{step.what}: {step.formula}{equals}{source}",
        width=_width(),
        initial_indent="    ",
        subsequent_indent="      ",
    )


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.4g}"


def _width() -> int:
    return min(WIDEST, shutil.get_terminal_size((WIDEST, 40)).columns)
