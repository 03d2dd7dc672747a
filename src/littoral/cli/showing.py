"""Commands that make what is shown: the film and stills."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import print_json, progress_bar, refusals, say

Out = Annotated[
    Path | None,
    typer.Option(help="Where to: a file, or a folder; by default `results` beside the logbook.", metavar="PATH"),
]


def film(
    logbook: LogbookFolder,
    out: Out = None,
    trial: TrialKey = None,
    format: Annotated[str, typer.Option(help="landscape, portrait or square.")] = "landscape",
    gaps: Annotated[str, typer.Option(help="Days without a photo, always marked: held or cross-faded.")] = "held",
    look: Annotated[str, typer.Option(help="even (aligned, evenly exposed) or original (as photographed).")] = "even",
    codec: Annotated[str, typer.Option(help="h264, vp9, av1, or webp (animated, small).")] = "h264",
    zoom: Annotated[str, typer.Option(help="A stand or region to show enlarged beside each tank.", metavar="KEY")] = "",
    chart: Annotated[
        str, typer.Option(help="A stand or region whose line draws along; none leaves it out.", metavar="KEY")
    ] = "",
    captions: Annotated[bool, typer.Option(help="Say in the picture what happens.")] = True,
    cards: Annotated[bool, typer.Option(help="Cards with the design before and the findings after.")] = True,
    seconds: Annotated[float | None, typer.Option(help="How long the whole film lasts.", metavar="N")] = None,
    height: Annotated[int, typer.Option(help="Pixels of the shorter side.", metavar="PX")] = 1080,
    as_json: AsJson = False,
) -> None:
    """Make the film: the tanks side by side, with captions for people who cannot see it in a file beside it."""
    from littoral.acts.film_trial import film_trial

    options: dict[str, Any] = {
        "format": format, "gaps": gaps, "look": look, "codec": codec, "zoom": zoom, "chart": chart,
        "captions": captions, "cards": cards, "seconds": seconds, "height_px": height,
    }  # fmt: skip
    with refusals(), progress_bar(quiet=as_json) as progress:
        made = film_trial(logbook, trial, out or _results(logbook), options, progress=progress)
    if as_json:
        print_json(made.as_json())
        return
    told = made.as_json()
    say(f"film       {told['film']}")
    say(f"captions   {told['captions']}")
    size = f"{told['width_px']} x {told['height_px']}"
    say(f"{size} pixels, {told['seconds']:.1f} s, {told['encoder']}")
    if made.held:
        fade = "the one before is held" if gaps == "held" else "cross-faded"
        shown = len(made.moments) * made.tanks
        say(f"{made.held} of {shown} pictures are of days without a photo ({fade}, and marked)")


def still(
    logbook: LogbookFolder,
    kind: Annotated[str, typer.Argument(help="pair, days, twin or chart.", metavar="KIND")] = "twin",
    out: Out = None,
    trial: TrialKey = None,
    size: Annotated[str, typer.Option(help="landscape, square or portrait.")] = "landscape",
    day: Annotated[list[float] | None, typer.Option(help="A day to show; may be given again.", metavar="N")] = None,
    paper: Annotated[str, typer.Option(help="dark or light.")] = "dark",
    look: Annotated[str, typer.Option(help="even (aligned, evenly exposed) or original (as photographed).")] = "even",
    file: Annotated[str, typer.Option(help="png or jpeg.")] = "png",
    double: Annotated[bool, typer.Option("--double", help="Twice the pixels.")] = False,
    labels: Annotated[bool, typer.Option(help="Name the plants of a twin with arrows.")] = True,
    arrow: Annotated[
        list[str] | None,
        typer.Option(
            help='An arrow in a twin: tank, how far across and down (0 to 1), words: "left 0.9 0.3 algae".',
            metavar="TEXT",
        ),
    ] = None,
    chart: Annotated[str, typer.Option(help="Which chart, such as canopy-height or levels.", metavar="KEY")] = "",
    as_json: AsJson = False,
) -> None:
    """Make a still: before and after, a row of days, the twin on one day, or a chart; its words stand beside it."""
    from littoral.acts.still_trial import still_trial
    from littoral.acts.written_arrow import written_arrow

    with refusals(), progress_bar(quiet=as_json) as progress:
        options: dict[str, Any] = {
            "kind": kind, "size": size, "days": day or [], "paper": paper, "look": look, "file": file,
            "scale": 2 if double else 1, "labels": labels, "chart": chart,
            "arrows": [written_arrow(text) for text in arrow or ()],
        }  # fmt: skip
        made = still_trial(logbook, trial, out or _results(logbook), options, progress=progress)
    if as_json:
        print_json(made.as_json())
        return
    say(f"still      {made.picture}")
    say(f"words      {made.words}")
    say(made.alt)


def _results(logbook: Path) -> Path:
    return logbook.resolve().parent / "results"
