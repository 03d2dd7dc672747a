"""The `littoral` command and its list of commands."""

from __future__ import annotations

from typing import Annotated

import typer

from littoral import __version__
from littoral.cli import answers, deciding, demo, designing, feeding, files, mixing, pooling, results

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
        bool, typer.Option("--version", help="Print the version.", callback=_show_version, is_eager=True)
    ] = False,
) -> None:
    """Littoral."""


app.command("demo")(demo.demo)
app.command("init")(files.init)
app.command("check")(files.check)
app.command("design")(designing.design)
app.command("import")(files.import_)
app.command("measure")(answers.measure)
app.command("answer")(answers.answer)
app.command("publish")(results.publish)
app.command("open")(results.open_)
app.command("pool")(pooling.pool)
app.command("history")(deciding.history)
app.command("next")(deciding.next_)
app.command("decide")(deciding.decide)
app.command("mix")(mixing.mix)
app.command("water")(mixing.water)
app.command("week")(feeding.week)
app.command("costs")(feeding.costs)


def main() -> None:
    """Run the command line."""
    app()
