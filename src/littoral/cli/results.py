"""Commands that show: publish the results, open the page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import print_json, progress_bar, refusals, say


def publish(
    logbook: LogbookFolder,
    out: Annotated[
        Path | None, typer.Option(help="Where to; by default `results` beside the logbook.", metavar="DIR")
    ] = None,
    trial: TrialKey = None,
    as_json: AsJson = False,
) -> None:
    """Write the sheet, the charts, the film and findings.json."""
    from littoral.acts.publish_results import publish_results

    with refusals(), progress_bar(quiet=as_json) as progress:
        written = publish_results(logbook, trial, out or logbook.resolve().parent / "results", progress=progress)
    if as_json:
        print_json({name: str(path) for name, path in written.items()})
        return
    for name, path in written.items():
        say(f"{name:<10} {path}")
    if "film" not in written:
        say("no photos, so no film")


def open_(
    logbook: LogbookFolder,
    port: Annotated[int, typer.Option(help="The port on this computer; 0 takes a free one.", min=0, max=65535)] = 8765,
    browser: Annotated[bool, typer.Option(help="Open the browser as well.")] = True,
    backups: Annotated[
        Path | None,
        typer.Option(help="Where the daily backup goes; by default `backups` in the logbook.", metavar="DIR"),
    ] = None,
) -> None:
    """Start the local page of a logbook and open it in the browser. Only this computer can reach it."""
    from littoral.web.serve import serve

    with refusals():
        serve(logbook, port=port, open_browser=browser, backups_to=backups)
