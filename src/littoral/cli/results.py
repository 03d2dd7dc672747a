"""Commands that show: publish the results, open the page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, OwnOrFolder, TrialKey
from littoral.cli.saying import print_json, progress_bar, refusals, say

PaperName = Annotated[str, typer.Option("--paper", help="What the printed sheet is set for: a4 or letter.")]


def publish(
    logbook: LogbookFolder,
    out: Annotated[
        Path | None, typer.Option(help="Where to; by default `results` beside the logbook.", metavar="DIR")
    ] = None,
    trial: TrialKey = None,
    paper: PaperName = "a4",
    as_json: AsJson = False,
) -> None:
    """Write the sheet, the charts, the film and findings.json."""
    from littoral.acts.publish_results import publish_results

    with refusals(), progress_bar(quiet=as_json) as progress:
        written = publish_results(
            logbook, trial, out or logbook.resolve().parent / "results", paper=paper, progress=progress
        )
    if as_json:
        print_json({name: str(path) for name, path in written.items()})
        return
    for name, path in written.items():
        say(f"{name:<10} {path}")
    if "film" not in written:
        say("no photos, so no film")


def sheet(
    logbook: LogbookFolder,
    to: Annotated[
        Path | None,
        typer.Option(
            "--to", help="Where to, .pdf or .html; by default sheet.pdf in `results` beside it.", metavar="FILE"
        ),
    ] = None,
    trial: TrialKey = None,
    paper: PaperName = "a4",
    as_json: AsJson = False,
) -> None:
    """Write the sheet alone, to print or as one self-contained page: questions, findings, pictures, what was fed."""
    from littoral.acts.write_sheet import write_sheet

    with refusals(), progress_bar(quiet=as_json) as progress:
        where = to or logbook.resolve().parent / "results" / "sheet.pdf"
        written = write_sheet(logbook, trial, where, paper=paper, progress=progress)
    if as_json:
        print_json({"sheet": str(written)})
    else:
        say(str(written))


def colour_card(
    out: Annotated[Path, typer.Option(help="The PDF to write.", metavar="FILE")] = Path("colour-card.pdf"),
    paper: PaperName = "a4",
) -> None:
    """Write a card of three neutral fields to print, seal and stand in the water of each tank, with instructions."""
    from littoral.acts.give_colour_card import give_colour_card

    with refusals():
        give_colour_card(paper=paper, out=out)
    say(f"wrote {out}")


def open_(
    logbook: OwnOrFolder = None,
    port: Annotated[int, typer.Option(help="The port on this computer; 0 takes a free one.", min=0, max=65535)] = 8765,
    browser: Annotated[bool, typer.Option(help="Open the browser as well.")] = True,
    backups: Annotated[
        Path | None,
        typer.Option(help="Where the daily backup goes; by default `backups` in the logbook.", metavar="DIR"),
    ] = None,
    share: Annotated[
        bool, typer.Option("--share", help="Let paired devices in the local network in; nothing is encrypted there.")
    ] = False,
    share_on: Annotated[
        str, typer.Option(help="Which of this computer's addresses to share on.", metavar="ADDRESS")
    ] = "",
    host_name: Annotated[
        list[str] | None, typer.Option(help="A further name of this computer in the network.", metavar="NAME")
    ] = None,
    behind_proxy: Annotated[
        str, typer.Option(help="The https address of a reverse proxy with TLS on this computer.", metavar="URL")
    ] = "",
) -> None:
    """Start the page of a logbook, by default your own, and open it. Only this computer reaches it unless shared."""
    from littoral.acts.own_logbook import named_or_own
    from littoral.web.access.share import Share
    from littoral.web.serve import serve

    if behind_proxy and (share or share_on or host_name):
        raise typer.BadParameter("it shares by itself; leave --share, --share-on and --host-name out.")
    if (share_on or host_name) and not share:
        raise typer.BadParameter("--share-on and --host-name go with --share.")
    shared = Share(share_on, tuple(host_name or ()), behind_proxy) if share or behind_proxy else None
    with refusals():
        folder = named_or_own(logbook)
        if logbook is None:
            say(f"Your own logbook: {folder}")
        serve(folder, port=port, open_browser=browser, backups_to=backups, share=shared)
