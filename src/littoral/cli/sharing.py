"""The commands of a bench that many share: which database, and moving a logbook there and back."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated
from urllib.parse import urlsplit

import typer

from littoral.cli.choosing import AsJson, LogbookFolder
from littoral.cli.saying import aside, print_json, progress_bar, refusals, say
from littoral.quantities.counting import counted

VARIABLE = "LITTORAL_DATABASE_URL"
FILE = "file"


def use_database(address: str) -> None:
    """Use a database's address in this run and in what it starts; a password in it is wrong usage."""
    os.environ[VARIABLE] = _without_password(address)


def move_logbook(
    logbook: LogbookFolder,
    folder: Annotated[Path, typer.Argument(help="A new folder for the logbook.", metavar="NEWFOLDER")],
    to: Annotated[
        str | None,
        typer.Option(
            help='Where its entries go: an empty PostgreSQL database, or "file". By default what '
            f"{VARIABLE} names, and for a logbook that is on a server already a file.",
            metavar="URL|file",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Move a logbook to a PostgreSQL server, or back into a file: a whole new folder, with nothing lost.

    The old logbook is left as it is. Cut off in the middle, the same command goes on from there.
    """
    from dataclasses import asdict

    from littoral.acts.move_logbook import move_logbook as move

    asked = None if to is None or to == FILE else _without_password(to)
    with refusals(), progress_bar(quiet=as_json) as progress:
        moved = move(logbook, folder, to=asked, into_file=to == FILE, progress=progress)
    if as_json:
        print_json({**asdict(moved), "folder": str(moved.folder)})
        return
    rows = sum(moved.rows.values())
    say(f"moved to {moved.folder}: {counted(range(rows), 'row') if rows else 'all was there'}, the same on both sides")
    say(f"digest {moved.digest}")
    if moved.lost:
        aside(
            f"{counted(moved.lost, 'photo')} missing or damaged, so not copied. `littoral verify LOGBOOK` names them."
        )
    aside(f"{logbook} is as it was. Put it aside, so that nobody goes on writing there.")


def _without_password(address: str) -> str:
    try:
        parts = urlsplit(address)
        secret = parts.password is not None or "password" in parts.query.lower()
    except ValueError:
        secret = True
    if secret:
        raise typer.BadParameter(
            f"Everybody on this computer can read a command line, so no password stands there. Set {VARIABLE} instead, "
            "or write the password into libpq's password file (~/.pgpass)."
        )
    return address
