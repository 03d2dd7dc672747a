"""Commands that give a trial to others: the open data package, and the protocol to run it again."""

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
        about = about_of(licence, version=version, author=author, institution=institution, country=country, site=site)
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


def protocol(
    source: Annotated[Path, typer.Argument(help="The logbook's folder, or the trial file.", metavar="TRIAL")],
    to: Annotated[Path, typer.Option(help="The file to write (JSON).", metavar="FILE")] = Path("protocol.json"),
    trial: TrialKey = None,
    qr: Annotated[
        Path | None, typer.Option(help="Write a QR code there as well (.svg or .png).", metavar="FILE")
    ] = None,
    link: Annotated[
        str, typer.Option(help="Where the file will lie; the QR code holds it where the protocol is too long.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Write a protocol that somebody else can start the same trial from: what is fed in mg/L a week, not products."""
    from littoral.acts.protocol_card import give_protocol

    with refusals():
        made = give_protocol(source, to, trial_key=trial, qr=qr, link=link)
    if as_json:
        print_json(made.as_json())
        return
    say(f"wrote {made.path}")
    if made.qr is not None:
        say(f"wrote {made.qr}")
        if not made.whole:
            aside(f"The protocol is too long for one QR code ({len(made.code):,} characters). It holds: {made.qr_text}")
    say(f"Others start from it with  littoral init NEWFOLDER --from {made.path.name}")
    say("Their results come back as data packages or findings.json: littoral pool FILE FILE")


def import_package_of(file: Path, logbook: Path | None, *, as_json: bool) -> None:
    """Take a data package into a logbook, by default a new one beside it; The command of that name calls this."""
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
            f"their {'corrected pictures and ' if done.pictures else ''}measures came with it and stand for them."
        )
    say(f"To see it: littoral open {folder}")


def start_from(
    folder: Path, card: str, *, bottles: Path | None, start: str | None, glass: str, zone: str | None
) -> None:
    """Start a trial from a protocol; `littoral init FOLDER --from FILE` calls this."""
    from littoral.acts.protocol_card import start_from_protocol

    with refusals():
        made = start_from_protocol(folder, card, start=start, zone=zone, glass=glass, bottles_of=bottles)
    say(f"wrote {made.trial_file}")
    for regime, feeds in made.matched.items():
        for feed in feeds:
            asked = ", ".join(
                f"{name} {feed.added_mg_per_l.get(name, 0.0):.3g} of {amount:.3g}"
                for name, amount in feed.asked_mg_per_l.items()
            )
            say(f"{regime}: {', '.join(f'{one.written} {one.of}' for one in feed.doses) or 'nothing'}: mg/L {asked}")
    if made.todo:
        say(f"{counted(range(made.todo), 'place')} to fill in, each marked TODO: your bottles and their doses.")
    say("Salts burn and overdosing kills animals: read the safety data sheets, and look at the levels before you dose.")
    say(f"Next: edit {made.trial_file.name}, then  littoral check {made.trial_file}")
