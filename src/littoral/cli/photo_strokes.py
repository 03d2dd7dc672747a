"""The command for brush strokes that teach a stand's look: from a file, listed, taken back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.photos import Who
from littoral.cli.saying import aside, print_json, refusals, say
from littoral.quantities.counting import counted


def strokes(
    logbook: LogbookFolder,
    from_file: Annotated[
        Path | None,
        typer.Option("--from", help="A JSON file with strokes.", metavar="FILE", exists=True, dir_okay=False),
    ] = None,
    list_them: Annotated[bool, typer.Option("--list", help="List the strokes in force.")] = False,
    take_back: Annotated[
        str, typer.Option("--take-back", help="The beginning of an id, as the list shows it.", metavar="ID")
    ] = "",
    trial: TrialKey = None,
    who: Who = "",
    as_json: AsJson = False,
) -> None:
    """Show how a stand looks by strokes on a few photos: "this is the stand", "this is not".

    They teach which pixels of that stand are counted, on every photo of its view from their day on. The file is a list:
    [{"photo": "IMG_0412.jpg", "tank": "left", "stand": "red-stem", "from_day": 0, "strokes": [{"side": "stand",
    "width": 5, "path": [[120, 80], [160, 84]]}, {"side": "not", "path": [[20, 30], [40, 34]]}]}], in pixels of the
    view's frame as `littoral` shows the photo, aligned.
    """
    from littoral.acts.change_entry import undo_entry
    from littoral.acts.photos.teach_look import list_strokes, strokes_from_file
    from littoral.acts.told import Told
    from littoral.errors import Fault, FaultsError

    with refusals():
        if from_file is not None:
            done = strokes_from_file(
                logbook, trial, from_file.read_text(encoding="utf-8", errors="replace"), told=Told(who=who)
            )
            if as_json:
                print_json(done.as_json())
                return
            for line in (*done.words, *done.remarks):
                say(line)
            if not done.new:
                aside("They were there already; nothing was changed.")
            return
        found = list_strokes(logbook, trial)
        if take_back:
            there = [one for one in found if one.entry.startswith(take_back)]
            if len(there) != 1:
                fault = Fault(f'"{take_back[:40]}" names {counted(there, "entry")} of strokes.', "See --list.", "id")
                raise FaultsError([fault])
            undo_entry(logbook, there[0].entry, who=who)
            say(f"taken back: {there[0].entry[:12]}")
            return
        if not list_them:
            raise FaultsError([Fault("nothing to do.", "Give --from FILE, --list or --take-back ID.", "strokes")])
    if as_json:
        print_json({"strokes": [one.as_json() for one in found]})
        return
    for one in found:
        day = "a photo no longer in use" if one.day is None else f"the photo of day {one.day:.0f}"
        since = f", from day {one.from_day:g} on" if one.from_day else ""
        on, beside = one.counts
        say(
            f"{one.entry[:12]}  {one.view}  {one.tank}/{one.stand}  {day}: {on} on the stand, {beside} beside it{since}"
        )
    say(counted(found, "entry") + " of strokes")
