"""Commands on a trial's files: start one, check one, take one into a logbook."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson
from littoral.cli.packaging import import_package_of, start_from
from littoral.cli.saying import REFUSED, aside, print_json, progress_bar, refusals, say
from littoral.quantities.counting import counted

TrialFile = Annotated[Path, typer.Argument(help="The trial file (TOML).", metavar="FILE")]
EntriesFile = Annotated[
    Path | None, typer.Option("--entries", help="The entries (CSV); by default entries.csv beside the trial file.")
]


def init(
    folder: Annotated[Path, typer.Argument(help="A new folder for the trial's files.", metavar="FOLDER")],
    title: Annotated[str, typer.Option(help="What the trial is about, in one line.")] = "Sparing or full feeding",
    start: Annotated[str | None, typer.Option(help="The first day, YYYY-MM-DD; today unless given.")] = None,
    glass: Annotated[str, typer.Option(help="Inside of the glass, length x width x height.")] = "60 x 30 x 30 cm",
    zone: Annotated[
        str | None, typer.Option(help="Time zone by its IANA name; this computer's unless given.", metavar="ZONE")
    ] = None,
    card: Annotated[
        str,
        typer.Option("--from", help="Start from a protocol: its file, or the text of its code.", metavar="PROTOCOL"),
    ] = "",
    bottles: Annotated[
        Path | None, typer.Option(help="With --from: a trial file of yours, for its bottles.", metavar="FILE")
    ] = None,
) -> None:
    """Start a trial: write a trial file with sensible defaults, an empty entries file and folders for the photos."""
    from littoral.acts.start_trial import start_trial

    if card:
        start_from(folder, card, bottles=bottles, start=start, glass=glass, zone=zone)
        return
    with refusals():
        started = start_trial(folder, title=title, start=start, zone=zone, glass=glass)
        say(f"wrote {started.trial_file}")
        say(f"wrote {started.entries_file}")
        say(f"Days begin at midnight in {started.trial.zone}.")
        say(f"Next: edit {started.trial_file.name}, then  littoral check {started.trial_file}")


def check(file: TrialFile, entries: EntriesFile = None, as_json: AsJson = False) -> None:
    """Report all mistakes in a trial's files at once: where, what is wrong, what would be right."""
    from littoral.acts.check_trial import check_trial

    with refusals(), progress_bar(quiet=as_json) as progress:
        checked = check_trial(file, entries_file=entries, progress=progress)
    if as_json:
        print_json(checked.as_json())
    elif checked.faults:
        for fault in checked.faults:
            say(str(fault))
        aside(f"{counted(checked.faults, 'mistake')}.")
    else:
        say(checked.summary())
    if checked.warnings and not as_json:
        for warning in checked.warnings:
            say(f"warning: {warning}")
        aside(f"{counted(checked.warnings, 'warning')}: nothing is refused for it; look before you mix or dose.")
    if checked.faults:
        raise typer.Exit(REFUSED)


def import_(
    file: Annotated[Path, typer.Argument(help="The trial file (TOML), or a data package.", metavar="FILE")],
    logbook: Annotated[
        Path | None,
        typer.Option(help="The logbook's folder; by default `logbook` beside the trial file, or PACKAGE-logbook."),
    ] = None,
    entries: EntriesFile = None,
    leave_out_bad_photos: Annotated[
        bool, typer.Option("--leave-out-bad-photos", help="Take the rest in, and say which photos were left out.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Take a trial with its entries and photos, or a data package, into a logbook: all of it or nothing."""
    from littoral.acts.import_package import is_package
    from littoral.acts.import_trial import import_trial

    if is_package(file):
        import_package_of(file, logbook, as_json=as_json)
        return
    folder = logbook or file.parent / "logbook"
    with refusals(), progress_bar(quiet=as_json) as progress:
        done = import_trial(
            folder, file, entries_file=entries, leave_out_bad_photos=leave_out_bad_photos, progress=progress
        )
    if as_json:
        print_json(done.as_json())
        return
    for fault in done.left_out:
        aside(f"left out: {fault}")
    say(f"{done.trial}: {counted(done.new_entries, 'new entry')}, {counted(done.new_photos, 'new photo')} in {folder}")
    if done.corrected or done.withdrawn:
        say(f"{done.corrected} corrected, {done.withdrawn} withdrawn; the old ones stay in the logbook, superseded")
    if done.text_words():
        say(done.text_words())
