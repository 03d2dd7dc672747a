"""Commands that give a trial to others: the open data package."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import aside, print_json, progress_bar, refusals, say
from littoral.quantities.counting import counted


def package(
    logbook: LogbookFolder,
    to: Annotated[Path, typer.Option(help="A new .zip file, or a new folder.", metavar="FILE")],
    licence: Annotated[
        str, typer.Option("--licence", "--license", help="CC0-1.0, CC-BY-4.0 or another by its SPDX name.")
    ] = "",
    trial: TrialKey = None,
    photos: Annotated[
        str,
        typer.Option(help='"none", "measured" (the corrected pictures) or "originals" (without place, time, device).'),
    ] = "none",
    anonymous: Annotated[
        bool, typer.Option("--anonymous", help="No names, places or dates; times count from day 0.")
    ] = False,
    hide: Annotated[
        list[str] | None, typer.Option(help="A further name to take out, of a person, a school or a place. Repeatable.")
    ] = None,
    keep_notes: Annotated[
        bool, typer.Option("--keep-notes", help="With --anonymous: keep notes, without the names. Read them first.")
    ] = False,
    version: Annotated[str, typer.Option(help="Version of the data.")] = "1.0.0",
    author: Annotated[str, typer.Option(help="Who gives the data.")] = "",
    institution: Annotated[str, typer.Option(help="School, club or firm.")] = "",
    country: Annotated[str, typer.Option(help="Country, best as two letters.")] = "",
    site: Annotated[str, typer.Option(help="Where the tanks stand.")] = "",
    as_json: AsJson = False,
) -> None:
    """Write everything needed to check or pool a trial: tables with their schemas, findings, photos if you like."""
    from littoral.acts.package_trial import about_of, package_trial

    with refusals(), progress_bar(quiet=as_json) as progress:
        about = about_of(
            licence, version=version, author=author, institution=institution, country=country, site=site
        )
        made = package_trial(
            logbook, trial, to, about=about, photos=photos, anonymous=anonymous, hide=hide or (),
            keep_notes=keep_notes, progress=progress,
        )  # fmt: skip
    if as_json:
        print_json(made.as_json())
        return
    pictures = counted(range(made.pictures), "picture")
    say(f"wrote {made.path}: {counted(range(made.entries), 'entry')}, {pictures}, {about.licence}")
    for line in made.left_out:
        aside(f"left out: photo {line}")
    if made.anonymous:
        aside("Names, places and dates are out. Look through it before you give it away: no program knows every name.")


def import_package_of(file: Path, logbook: Path | None, *, as_json: bool) -> None:
    """Take a data package into a logbook, by default a new one beside it; `littoral import` calls this."""
    from littoral.acts.import_package import import_package

    folder = logbook or file.resolve().parent / f"{file.resolve().name.removesuffix('.zip')}-logbook"
    with refusals(), progress_bar(quiet=as_json) as progress:
        done = import_package(folder, file, progress=progress)
    if as_json:
        print_json(done.as_json())
        return
    entries, photos = counted(range(done.new_entries), "new entry"), counted(range(done.new_photos), "new photo")
    say(f"{done.trial}: {entries}, {photos} in {folder}")
    if done.photos_left_out:
        say(
            f"{counted(range(done.photos_left_out), 'photo')} left out of the package: "
            "their measures came with it and stand for them."
        )
