"""The `littoral` command and its list of commands."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from littoral import __version__
from littoral.cli import (
    answers,
    care,
    deciding,
    demo,
    designing,
    devices,
    feeding,
    files,
    growth_tests,
    keeping,
    levels,
    mixing,
    packaging,
    past_table,
    photo_numbers,
    photo_strokes,
    photos,
    pooling,
    results,
    settings,
    sharing,
    showing,
    starting,
)
from littoral.cli.recording import record
from littoral.speech.manner import PLAIN, Manner, changed, speaking

app = typer.Typer(
    name="littoral",
    help="Controlled trials in planted freshwater tanks: from the question to the published answer.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    epilog="Exit codes: 0 done, 1 refused (the message says what is wrong and what would be right), 2 wrong usage.",
)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"littoral {__version__}")
        raise typer.Exit


@app.callback()
def _littoral(
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            help="Print the version.",
            callback=_show_version,
            is_eager=True,
        ),
    ] = False,
    database: Annotated[
        str | None,
        typer.Option(help="The PostgreSQL database of a shared bench, without a password.", metavar="URL"),
    ] = None,
) -> None:
    """Littoral."""
    del version  # its callback has answered
    if database is not None:
        sharing.use_database(database)


app.command("demo")(demo.demo)
app.command("start")(starting.start)
app.command("init")(files.init)
app.command("check")(files.check)
app.command("design")(designing.design)
app.command("import")(files.import_)
app.command("import-table")(past_table.import_table)
photos.photos.command("strokes")(photo_strokes.strokes)
app.add_typer(photos.photos)
app.command("measure")(answers.measure)
app.command("answer")(answers.answer)
app.command("series")(photo_numbers.series)
app.command("colour")(photo_numbers.colour)
app.command("levels")(levels.levels)
app.command("publish")(results.publish)
app.command("sheet")(results.sheet)
app.command("film")(showing.film)
app.command("still")(showing.still)
app.command("package")(packaging.package)
app.command("protocol")(packaging.protocol)
app.command("colour-card")(results.colour_card)
app.command("open")(results.open_)
app.command("devices")(devices.devices)
app.command("settings")(settings.settings)
app.command("move-logbook")(sharing.move_logbook)
app.command("verify")(keeping.verify)
app.command("backup")(keeping.backup)
app.command("restore")(keeping.restore)
app.command("export")(keeping.export)
app.command("today")(care.today)
app.add_typer(record)
app.command("undo")(care.undo)
app.command("correct")(care.correct)
app.command("calendar")(care.calendar)
app.command("bench-card")(care.bench_card)
app.command("audit")(care.audit)
app.command("pool")(pooling.pool)
app.command("growth-test")(growth_tests.growth_test)
app.command("history")(deciding.history)
app.command("again")(starting.again)
app.command("next")(deciding.next_)
app.command("decide")(deciding.decide)
app.command("mix")(mixing.mix)
app.command("water")(mixing.water)
app.command("week")(feeding.week)
app.command("costs")(feeding.costs)


FOR_FILES = frozenset(
    {"publish", "sheet", "film", "still", "package", "protocol", "export", "backup", "next", "init", "demo"}
)
"""Commands that write what others read: always English and metric."""
FOR_PROGRAMS = frozenset({"--json", "--csv"})
"""What asks any command for something that programs read: English and metric, too."""


def manner_for(arguments: Sequence[str], language: str) -> Manner:
    """Return how a command speaks: in `language` where we have it, but plainly for files and programs."""
    arguments = [one for one in arguments if not one.startswith("--database=")]
    command = arguments[2:3] if arguments[:1] == ["--database"] else arguments[:1]
    if FOR_PROGRAMS & set(arguments) or FOR_FILES & set(command):
        return PLAIN
    return changed(PLAIN, {"language": language})


def main() -> None:
    """Run the command line, in the language that LITTORAL_LANGUAGE names (English without it)."""
    with speaking(manner_for(sys.argv[1:], os.environ.get("LITTORAL_LANGUAGE", ""))):
        app()
