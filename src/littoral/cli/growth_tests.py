"""The command that answers a growth test in vessels: doses against a control, from a table of counts or sizes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from littoral.cli.choosing import AsJson
from littoral.cli.saying import aside, print_json, refusals, say

if TYPE_CHECKING:
    from littoral.publish.tables import Table


def growth_test(
    file: Annotated[
        Path,
        typer.Argument(
            help="CSV file or workbook (.xlsx) with the columns vessel, dose, day, and what was counted, measured or "
            "weighed: fronds, length (cm), fresh mass (g).",
            metavar="FILE",
        ),
    ],
    control: Annotated[str, typer.Option(help='The control\'s dose or name, unless it is 0 or "control".')] = "",
    guideline: Annotated[
        str, typer.Option(help='Whose criteria of validity: "221" (duckweed), "239" (water-milfoil) or "none".')
    ] = "",
    side: Annotated[
        str, typer.Option(help='"lower" or "higher" where only that was asked beforehand; both else.')
    ] = "",
    williams: Annotated[
        bool, typer.Option("--williams", help="Williams' test too, for doses that can only do more and more.")
    ] = False,
    sheet: Annotated[str, typer.Option(help="The workbook's sheet; the first that holds anything unless given.")] = "",
    svg: Annotated[Path | None, typer.Option(help="Write the curves there as SVG.", metavar="FILE")] = None,
    png: Annotated[Path | None, typer.Option(help="Write the curves there as PNG.", metavar="FILE")] = None,
    as_json: AsJson = False,
) -> None:
    """Answer a growth test in vessels: rates, yields, inhibition, validity, and doses against the control."""
    from littoral.acts.drawn_files import write_drawn
    from littoral.acts.growth_test.give import give_growth_test, growth_test_json, table_bytes
    from littoral.acts.growth_test.rows import validity_table, versus_table, vessels_table
    from littoral.publish.growth_test_charts import curves_chart

    with refusals():
        found = give_growth_test(
            table_bytes(file), where=file.name, sheet=sheet, control=control, guideline=guideline, side=side,
            ask_williams=williams,
        )  # fmt: skip
        asked = svg is not None or png is not None
        written = write_drawn(curves_chart(found, found.results[0]) if asked else None, svg=svg, png=png)
    if as_json:
        print_json(growth_test_json(found))
    else:
        say(found.lead)
        if found.validity:
            _show(validity_table(found))
        for result in found.results:
            for of in (result.rate, result.grown):
                _show(versus_table(found, result, of))
                for dose in of.doses:
                    say(f"{dose.group} {found.table.unit}".rstrip() + f": {dose.wording}")
            _show(vessels_table(found, result))
        for line in (*found.rules, *found.sources):
            say(line)
    for line in found.table.remarks:
        aside(line)
    for path in written:
        aside(f"wrote {path}")


def _show(table: Table) -> None:
    """Print a table, with units under the names of its columns and its note below."""
    from rich import table as rich_table
    from rich.box import SIMPLE_HEAD

    from littoral.cli.tables import text_of

    made = rich_table.Table(box=SIMPLE_HEAD, title=table.title, title_justify="left")
    for place, (name, unit) in enumerate(zip(table.columns, table.units, strict=True)):
        head = f"{name}\n{unit}" if any(table.units) else name
        made.add_column(head, justify="right" if table.numbers and place else "left")
    for row in table.rows:
        made.add_row(*row)
    say(text_of(made))
    if table.note:
        say(table.note)
