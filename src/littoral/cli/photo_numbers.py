"""Commands on what photos say: any measure over days, and whether a colour is the plant or the camera."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import aside, print_json, progress_bar, refusals, say

if TYPE_CHECKING:
    from littoral.acts.photos.colour_page import ColourPage
    from littoral.acts.photos.series_page import SeriesPage


def series(
    logbook: LogbookFolder,
    measure: Annotated[
        str, typer.Option(help="What: height, width, cover, redness, algae … Without it they are listed.")
    ] = "",
    of: Annotated[str, typer.Option(help="Of which stand or region only.", metavar="PLACE")] = "",
    trial: TrialKey = None,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print one line for each photo, for a spreadsheet.")] = False,
) -> None:
    """Show what photos say over days, by stand or region: what is left out and why, and the camera's part in it."""
    from littoral.acts.photos.series_page import photo_series

    with refusals():
        if as_json and as_csv:
            raise typer.BadParameter("Choose --json or --csv.")
        with progress_bar(quiet=as_json or as_csv) as progress:
            page = photo_series(logbook, trial, progress=progress).chosen(measure, of)
    if as_json:
        print_json(page.as_json())
    elif as_csv:
        typer.echo(page.as_csv(), nl=False)
    elif not measure:
        _list(page)
    else:
        _show(page)


def _list(page: SeriesPage) -> None:
    for one in page.measures:
        say(f"{one.key:14} {one.name}, {one.unit}")
    if not page.measures:
        say("No photo of this trial was measured.")
    else:
        aside("Choose one with --measure.")


def _show(page: SeriesPage) -> None:
    assert page.measure is not None
    name = page.measure.name[:1].upper() + page.measure.name[1:]
    say(f"{name} in {page.measure.unit}, first three photos to last three:")
    for one in page.summaries():
        camera = f"one photo {one.single}" if one.single else "one photo's doubt is not known"
        repeats = f"; repeat shots differ by: {one.repeats}" if one.repeats != "–" else ""
        left = f", {one.left_out} left out" if one.left_out else ""
        say(f"  {one.place}, {one.arm_name}: {one.went or 'nothing'}; {camera}{repeats}; {one.photos} photos{left}")
    if page.floor:
        say(page.floor)
    odd = page.remarkable()
    if odd:
        say("Photos that stand out or are left out:")
    for row in odd:
        value = row.text or "none"
        say(f"  day {int(row.point.day)}, {row.place}, {row.arm_name}: {value}; {row.why} ({row.point.photo[:12]})")


def colour(
    logbook: LogbookFolder,
    of: Annotated[str, typer.Option(help="Of which stand only.", metavar="STAND")] = "",
    trial: TrialKey = None,
    as_json: AsJson = False,
) -> None:
    """Is it the plant, or the camera? What may be said of each stand's colour, and what the camera makes by itself."""
    from littoral.acts.photos.colour_page import see_colour

    with refusals(), progress_bar(quiet=as_json) as progress:
        page = see_colour(logbook, trial, progress=progress, of=of, charts=False)
    if as_json:
        print_json(page.as_json())
    else:
        _tell(page)


def _tell(page: ColourPage) -> None:
    if page.trial.rendered:
        say("Rendered demo, no real tank.")
    for text in page.answer:
        say(text)
    for one in page.stands:
        least = "" if one.least is None else f" The camera alone may make {one.least:.1f} a*."
        say(f"{one.name[:1].upper()}{one.name[1:]}: {one.short}.{least}")
        for text in (one.finding.wording, one.finding.detail, one.left_open, one.outside, one.together):
            if text:
                say(f"  {text}")
        for change in one.changes:
            say(f"  {change.said}")
    if not page.stands:
        say("No stand of plants is drawn in this trial.")
    for photo in page.gated:
        where = f"{photo.view_name}, day {int(photo.day)}"
        say(f"Over the gate of {page.gate:g} ΔE00: {where}, {photo.residual:.1f}: {photo.why}")
    if page.settle:
        say("What would settle it:")
    for text in page.settle:
        say(f"  {text}")
