"""Commands on a trial's photos: take many in, list them with their doubts, decide about them."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import REFUSED, aside, print_json, progress_bar, refusals, say
from littoral.quantities.counting import counted

if TYPE_CHECKING:
    from littoral.acts.photos.list_photos import PhotoList
    from littoral.acts.photos.rows import AddedPhotos

photos = typer.Typer(
    name="photos",
    help="Take photos in, list them with what is doubtful, decide about them.",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Who = Annotated[str, typer.Option(help="Who does it.")]


@photos.command("add")
def add(
    logbook: LogbookFolder,
    files: Annotated[list[Path], typer.Argument(help="Photos, or folders of them.", metavar="FILES...")],
    view: Annotated[
        str, typer.Option(help="The view they all show; else it is told by folders and by look.", metavar="VIEW")
    ] = "",
    when: Annotated[str, typer.Option(help="When they were taken: 2026-03-08 18:30.")] = "",
    clock: Annotated[
        str, typer.Option(help="Put the camera's clock right: +1 year, -2 h, +3 days.", metavar="SHIFT")
    ] = "",
    trial: TrialKey = None,
    who: Who = "",
    note: Annotated[str, typer.Option(help="A remark kept with each of them.")] = "",
    as_json: AsJson = False,
) -> None:
    """Take photos in. Every file gets its row; Ctrl-C stops after the next one, and running it again goes on.

    What looks doubtful (blurred, dark, something in front, another tank, a view told by its look) is kept and waits for
    `littoral photos decide`. Exit code 1 where a file was refused or something has to be told first.
    """
    from littoral.acts.photos.add_photos import add_photos, files_in
    from littoral.acts.told import Told

    told = Told(trial=trial, when=when, who=who, note=note)
    with refusals(), _interruptible() as pressed, progress_bar(quiet=as_json) as progress:
        found = files_in(files)
        done = add_photos(
            logbook, found, view=view, clock=clock, told=told, progress=progress, stop=lambda: bool(pressed)
        )
    if as_json:
        print_json(done.as_json())
    else:
        _tell(done)
    if done.stopped:
        aside(f"stopped: {len(found) - len(done.rows)} of {counted(found, 'file')} left. Run it again to go on.")
    if done.stopped or done.count("asked", "refused"):
        raise typer.Exit(REFUSED)


def _tell(done: AddedPhotos) -> None:
    from littoral.acts.photos.rows import BY_LOOK

    for row in done.rows:
        if row.state in ("asked", "refused"):
            likest = f" (likest first: {', '.join(row.choices)})" if row.choices else ""
            say(f"{row.file}: {row.state}. {row.said}{likest}")
        elif row.state == "to decide" and row.doubts != (BY_LOOK,):
            say(f"{row.file}: {row.view}, to decide. {row.said}")
        for remark in row.remarks:
            aside(f"{row.file}: {remark}")
    say(done.words())
    asks = {row.asks for row in done.rows if row.state == "asked"}
    if "date" in asks:
        say("Say when, and add those files again:")
        say('  littoral photos add LOGBOOK FILE --when "2026-03-08 18:30"   or   --clock "+1 year"')
    if "view" in asks:
        say("Say what they show, and add those files again:  littoral photos add LOGBOOK FILE --view VIEW")
    if by_look := sum(row.doubts == (BY_LOOK,) for row in done.rows):
        say(f"{counted(range(by_look), 'photo')} placed by their look. Look at them and confirm:")
        say("  littoral photos list LOGBOOK --to-decide;  littoral photos decide LOGBOOK keep --view VIEW")


@photos.command("list")
def list_(
    logbook: LogbookFolder,
    to_decide: Annotated[bool, typer.Option("--to-decide", help="Only those that wait for a decision.")] = False,
    set_aside: Annotated[bool, typer.Option("--set-aside", help="Only those that were set aside.")] = False,
    view: Annotated[str, typer.Option(help="Only of this view.", metavar="VIEW")] = "",
    trial: TrialKey = None,
    as_json: AsJson = False,
) -> None:
    """List the photos: when, which view, how the date is known, repeat shots, what is doubtful and what was decided."""
    from littoral.acts.photos.list_photos import PhotoState, list_photos

    states: list[PhotoState] = []
    if to_decide:
        states.append("to decide")
    if set_aside:
        states.append("set aside")
    with refusals():
        found = list_photos(logbook, trial, states=states, view=view)
    if as_json:
        print_json(found.as_json())
    else:
        _show(found)


def _show(found: PhotoList) -> None:
    for photo in found.photos:
        burst = f", repeat shot {photo.burst}" if photo.burst is not None else ""
        say(f"{photo.photo[:12]}  {photo.local}  {photo.view}  {photo.state}{burst}  {photo.file}")
        for doubt in photo.doubts:
            say(f"              {doubt}")
        if photo.note and photo.state == "set aside":
            say(f"              set aside: {photo.note}")
    waiting = found.count("to decide")
    say(f"{counted(found.photos, 'photo')}" + (f", {waiting} to decide" if waiting else ""))


@photos.command("decide")
def decide(
    logbook: LogbookFolder,
    decision: Annotated[str, typer.Argument(help="keep, set-aside or other-view.", metavar="DECISION")],
    ids: Annotated[
        list[str] | None, typer.Argument(help="Beginnings of the photos' ids, as the list shows them.", metavar="PHOTO")
    ] = None,
    view: Annotated[
        str,
        typer.Option(help="keep: all that wait, placed there by their look; other-view: where they belong."),
    ] = "",
    reason: Annotated[str, typer.Option(help="Why; needed to set one aside.")] = "",
    trial: TrialKey = None,
    who: Who = "",
    as_json: AsJson = False,
) -> None:
    """Decide about photos. Each decision is an entry with who and why, and can be changed by another one."""
    from littoral.acts.photos.decide_photos import decide_photos
    from littoral.acts.photos.list_photos import list_photos

    with refusals():
        there = list_photos(logbook, trial)
        chosen = there.among(ids or ())
        if not ids and decision == "keep" and view:
            chosen = there.placed_by_look(view)
        words = {"set-aside": "set aside", "other-view": "other view"}.get(decision, decision)
        done = decide_photos(logbook, chosen, words, view=view if words == "other view" else "", reason=reason, who=who)
    if as_json:
        print_json(done.as_json())
        return
    for line in done.words:
        say(f"{words}: {line}")
    if not done.new:
        aside("It was decided so before; nothing was changed.")


@contextmanager
def _interruptible() -> Iterator[list[bool]]:
    """Give a list that is no longer empty once Ctrl-C was pressed; the second press ends the program as ever."""
    pressed: list[bool] = []

    def press(_number: int, _frame: object) -> None:
        pressed.append(True)
        aside("stopping after the photos at hand; what is in the logbook stays (Ctrl-C again ends at once)")
        signal.signal(signal.SIGINT, before)

    try:
        before = signal.signal(signal.SIGINT, press)
    except ValueError:  # not in the main thread: nobody presses there
        yield pressed
        return
    try:
        yield pressed
    finally:
        signal.signal(signal.SIGINT, before)
