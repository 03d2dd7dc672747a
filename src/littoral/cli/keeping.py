"""Commands that keep a logbook from being lost: verify, back up, restore, export."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder
from littoral.cli.saying import REFUSED, aside, print_json, progress_bar, refusals, say
from littoral.quantities.counting import counted


def verify(logbook: LogbookFolder, as_json: AsJson = False) -> None:
    """Check that a logbook holds all it says: the database, every link, every photo by its hash."""
    from dataclasses import asdict

    from littoral.acts.verify_logbook import is_whole, verify_logbook
    from littoral.cli.lines import checks_table

    with refusals(), progress_bar(quiet=as_json) as progress:
        rows = verify_logbook(logbook, progress=progress)
    if as_json:
        print_json([asdict(row) for row in rows])
    else:
        say(checks_table("Checks", rows, whole=True))
        say("Nothing is lost." if is_whole(rows) else "Something is lost or damaged: see the lines with NO.")
    if not is_whole(rows):
        raise typer.Exit(REFUSED)


def backup(
    logbook: LogbookFolder,
    to: Annotated[
        Path | None,
        typer.Option(help="Where to, best on another disk; by default `backups` in the logbook.", metavar="DIR"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Back a logbook up. Kept are the last of each of 7 days, 5 weeks and 12 months; photos are copied once."""
    from littoral.acts.back_up import back_up_logbook

    with refusals(), progress_bar(quiet=as_json) as progress:
        made = back_up_logbook(logbook, to=to, now=datetime.now(UTC), progress=progress)
    if as_json:
        print_json(made.as_json())
        return
    say(made.words())
    if made.pruned:
        say(f"let {counted(made.pruned, 'older backup')} go")
    if to is None:
        aside("It lies on the same disk as the logbook: `--to DIR` puts one on another.")
    _tell_lost(made.lost)


def restore(
    backup: Annotated[Path, typer.Argument(help="The folder of one backup, or of an export.", metavar="BACKUP")],
    folder: Annotated[Path, typer.Argument(help="A new folder for the logbook.", metavar="NEWFOLDER")],
) -> None:
    """Make a logbook of a backup or an export, in a new folder; it is checked whole before it is there."""
    from littoral.acts.restore_logbook import restore_logbook

    with refusals(), progress_bar() as progress:
        made = restore_logbook(backup, folder, progress=progress)
    say(f"made {made.folder}, with {counted(made.originals, 'photo')}; every check holds")
    say(f"Next: littoral open {made.folder}")
    _tell_lost(made.lost)


def export(
    logbook: LogbookFolder,
    folder: Annotated[Path, typer.Argument(help="A new folder for the files.", metavar="FOLDER")],
) -> None:
    """Write a logbook as plain files with nothing left out, and its entries as a table for a spreadsheet."""
    from littoral.acts.export_logbook import export_logbook

    with refusals(), progress_bar() as progress:
        made = export_logbook(logbook, folder, now=datetime.now(UTC), progress=progress)
    entries, photos = counted(made.entries, "entry"), counted(range(made.originals), "photo")
    say(f"wrote {entries} and {photos} to {made.folder}")
    _tell_lost(made.lost)


def _tell_lost(lost: tuple[str, ...]) -> None:
    if lost:
        aside(f"{counted(lost, 'photo')} missing or damaged, so not copied. `littoral verify LOGBOOK` names them.")
