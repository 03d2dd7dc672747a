"""The command that pools the findings of several keepers."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson
from littoral.cli.saying import aside, print_json, refusals, say


def pool(
    files: Annotated[
        list[str],
        typer.Argument(help="Each keeper's findings.json or data package, also as KEEPER=FILE.", metavar="FILE..."),
    ],
    measure: Annotated[
        str,
        typer.Option(help='What to pool, such as "height growth"; the first file\'s primary question unless given.'),
    ] = "",
    question: Annotated[str, typer.Option(help="Choose by a question's key instead.")] = "",
    as_what: Annotated[
        str, typer.Option("--as", help='"ratio" or "difference"; ratios where every keeper has one.', metavar="SCALE")
    ] = "",
    smallest: Annotated[
        str, typer.Option(help='The margin set beforehand: "10 %" for ratios, else a number in the measure\'s unit.')
    ] = "",
    moderator: Annotated[
        list[str] | None,
        typer.Option(help="A number for each keeper: NAME=FILE.csv with the columns keeper,value. Repeatable."),
    ] = None,
    leave_out: Annotated[
        bool, typer.Option("--leave-out-unfit", help="Pool the rest, and say which files were left out and why.")
    ] = False,
    svg: Annotated[Path | None, typer.Option(help="Write the picture there as SVG.", metavar="FILE")] = None,
    png: Annotated[Path | None, typer.Option(help="Write the picture there as PNG.", metavar="FILE")] = None,
    as_json: AsJson = False,
) -> None:
    """Pool one question over several keepers: what they find on average, and what one more may find."""
    from littoral.acts.drawn_files import write_drawn
    from littoral.acts.pool_findings import forest, margin_of, moderators_of, pool_findings, scale_of, sources_of
    from littoral.cli.tables import pooled_table

    with refusals():
        scale = scale_of(as_what, where="--as")
        done = pool_findings(
            sources_of(files),
            measure=measure,
            question=question,
            scale=scale,
            smallest=margin_of(smallest, where="--smallest"),
            moderators=moderators_of(moderator or ()),
            leave_out=leave_out,
        )
        written = write_drawn(forest(done), svg=svg, png=png)
    if as_json:
        print_json(done.as_json())
    else:
        say(done.found.wording)
        say(pooled_table(done))
        for line in (done.found.rule_text, *(one.wording for one in done.moderated), done.found.next_step):
            say(line)
    for fault in done.left_out:
        aside(f"left out: {fault}")
    for path in written:
        aside(f"wrote {path}")
