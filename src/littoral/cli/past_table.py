"""The command that takes in a table of past records."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from littoral.cli.choosing import AsJson, TrialKey
from littoral.cli.saying import REFUSED, aside, print_json, refusals, say
from littoral.quantities.counting import counted

if TYPE_CHECKING:
    from littoral.acts.import_table import Looked

_COLUMN = re.compile(r"([A-Za-z]{1,3})\s*=\s*([^=]*?)(?:\s+in\s+(\S+))?\s*")
SHOWN = 20


def import_table(
    file: Annotated[Path, typer.Argument(help="The table: CSV, or a workbook (.xlsx).", metavar="FILE")],
    logbook: Annotated[Path, typer.Option(help="The logbook's folder.", metavar="LOGBOOK")],
    trial: TrialKey = None,
    tank: Annotated[str, typer.Option(help="The tank that all rows are of, where no column says.")] = "",
    column: Annotated[
        list[str] | None,
        typer.Option(help='What a column means: "B=reading nitrate in mg/L", "C=note", "D=" to leave it out.'),
    ] = None,
    every: Annotated[
        Literal["row", "hour", "day"] | None, typer.Option(help="Each row, or a sensor's hours or days.")
    ] = None,
    dates: Annotated[
        Literal["day first", "month first"] | None, typer.Option(help="What stands first in 03/04/2026.")
    ] = None,
    header: Annotated[int | None, typer.Option(help="The number of the row with the columns' names.", min=1)] = None,
    sheet: Annotated[str, typer.Option(help="The sheet of a workbook.")] = "",
    encoding: Annotated[str, typer.Option(help="The encoding of a text file, where it cannot be told.")] = "",
    write: Annotated[bool, typer.Option("--write", help="Write it; without this it is only shown.")] = False,
    leave_out: Annotated[
        bool, typer.Option("--leave-out-problems", help="Write the rest where some cells have a problem.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Take in a spreadsheet of past records or a sensor's file. It is only shown until you say --write."""
    from littoral.acts import import_table as acts

    meanings, units = _columns(column or ())
    choices = acts.Choices(meanings, units, tank, sheet, encoding, every, dates, header)
    with refusals():
        data = _bytes(file)
        looked = acts.look_at_table(logbook, data, trial=trial, choices=choices)
        if not write:
            print_json(looked.as_json()) if as_json else _show(looked)
            if looked.faults and not leave_out:
                raise typer.Exit(REFUSED)
            return
        done = acts.import_table(logbook, data, trial=trial, choices=choices, leave_out=leave_out)
    if as_json:
        print_json(done.as_json())
        return
    there = done.entries - done.new
    say(f"{done.trial}: {counted(done.new, 'new entry')}" + (f", {there} there already" if there else ""))
    if done.left_out:
        aside(f"{counted(done.left_out, 'problem')} left out.")


def _columns(said: tuple[str, ...] | list[str]) -> tuple[dict[int, str], dict[int, str]]:
    from littoral.acts.past_table.grid import column_of

    meanings: dict[int, str] = {}
    units: dict[int, str] = {}
    for one in said:
        match = _COLUMN.fullmatch(one)
        place = column_of(match[1]) if match else None
        if match is None or place is None:
            raise typer.BadParameter(f'"{one}" is not like "B=reading nitrate in mg/L".', param_hint="--column")
        meanings[place] = match[2].strip()
        if match[3]:
            units[place] = match[3]
    return meanings, units


def _bytes(file: Path) -> bytes:
    from littoral.acts.past_table.grid import UnreadableTableError
    from littoral.trial.written.csv_text import LARGEST_BYTES

    try:
        with file.open("rb") as opened:
            return opened.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise UnreadableTableError(f"{file} cannot be read ({error.strerror or error}).", "Name a file.") from None


def _show(looked: Looked) -> None:
    say(f"Read as {looked.grid.how}; the columns are named in row {looked.grid.lines[looked.header]}.")
    for one in looked.columns:
        means = f"{one.meaning}{f' in {one.unit}' if one.unit else ''}" if one.meaning else "left out"
        say(f"  {one.letters:<3} {one.header[:40]:<40} {means}" + (f"  ({one.unsure})" if one.unsure else ""))
    if looked.choices.every in ("hour", "day"):
        say(f"A sensor's readings: one entry for each {looked.choices.every}.")
    for words in looked.words[:SHOWN]:
        say(f"    {words}")
    if len(looked.entries) > SHOWN:
        say(f"    … and {len(looked.entries) - SHOWN} more")
    for remark in looked.remarks:
        aside(remark)
    for fault in looked.faults[:SHOWN]:
        aside(str(fault))
    if len(looked.faults) > SHOWN:
        aside(f"… and {len(looked.faults) - SHOWN} more problems")
    how = "say --write to write them."
    if looked.faults:
        how = "mend the file, or say --write --leave-out-problems to write the rest."
    say(f"{counted(looked.entries, 'entry')}, {looked.new} new. Nothing is written yet: {how}")
