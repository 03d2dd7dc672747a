"""Writing all results of a trial to a folder: sheet, charts, film and findings."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from littoral.feeding.cost import ArmCost
from littoral.findings.feeding import TankFeeding
from littoral.findings.levels import Levels
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress
from littoral.publish.chart import Chart
from littoral.publish.chart_files import write_chart
from littoral.publish.charts import SLIM_PX, WIDE_PX, charts_of
from littoral.publish.draw import inline_svg, to_svg
from littoral.publish.film.make import make_film
from littoral.publish.findings_json import SCHEMA_FILE, findings_text, schema_text
from littoral.publish.override_words import overrides_of
from littoral.publish.pdf.papers import Paper
from littoral.publish.pdf.sheet import sheet_pdf
from littoral.publish.sheet import DrawnChart, Sheet, sheet_html, sheet_of
from littoral.publish.stills import carrying_stills, stills
from littoral.trial.model import Trial

Draw = Callable[[Chart], str]
"""Draws a chart as SVG text, and may keep it."""


def publish(
    book: Logbook,
    trial: Trial,
    out: Path,
    *,
    measured: Measured,
    findings: Sequence[Finding],
    levels: Mapping[str, Levels] | None = None,
    feeding: Mapping[str, TankFeeding] | None = None,
    costs: Mapping[str, ArmCost] | None = None,
    paper: Paper = "a4",
    film: bool = True,
    progress: Progress | None = None,
) -> dict[str, Path]:
    """Write a trial's results to the folder `out` and return each file or folder by what it is.

    "sheet" (a page), "print" (the same for `paper`, as PDF), "findings", its "schema" and "charts" always; "film" with
    its "captions" where there are photos and `film`. Each file appears only when it is whole, and the same logbook
    gives the same files. Raises DrawError or EncoderError where a chart or the film cannot be made.
    """
    folder = out / "charts"
    folder.mkdir(parents=True, exist_ok=True)
    written = {
        "sheet": out / "sheet.html",
        "print": out / "sheet.pdf",
        "findings": out / "findings.json",
        "schema": out / SCHEMA_FILE,
        "charts": folder,
    }
    write_whole(written["schema"], schema_text().encode())
    write_whole(written["findings"], findings_text(trial, findings).encode())
    sheet, charts = gathered_sheet(
        book, trial, measured=measured, findings=findings, levels=levels, feeding=feeding, costs=costs, film=film
    )
    html = sheet_page(sheet, charts, draw=lambda chart: write_chart(chart, folder), progress=progress)
    write_whole(written["sheet"], html.encode())
    write_whole(written["print"], sheet_pdf(sheet, charts[WIDE_PX], paper=paper))
    if film:
        made = make_film(
            trial, measured, book.entries(trial.key), out / "film.mp4", findings=findings, progress=progress
        )
        written |= {} if made is None else {"film": made.encoded.path, "captions": made.captions}
    return written


def gathered_sheet(
    book: Logbook,
    trial: Trial,
    *,
    measured: Measured,
    findings: Sequence[Finding],
    levels: Mapping[str, Levels] | None = None,
    feeding: Mapping[str, TankFeeding] | None = None,
    costs: Mapping[str, ArmCost] | None = None,
    film: bool = False,
) -> tuple[Sheet, Mapping[int, Mapping[str, Chart]]]:
    """Return a trial's sheet, and its charts by width in pixels (WIDE_PX, SLIM_PX) and key.

    `film` says that a film is written beside it, and may be spoken of.
    """
    entries = book.entries(trial.key)
    charts = {
        width: charts_of(
            trial,
            measured=measured,
            findings=findings,
            levels=levels,
            feeding=feeding,
            entries=entries,
            width_px=width,
        )
        for width in (WIDE_PX, SLIM_PX)
    }
    sheet = sheet_of(
        trial,
        measured=measured,
        findings=findings,
        charts=charts[WIDE_PX],
        pictures=stills(trial, measured),
        carrying=carrying_stills(trial, measured, findings),
        levels=levels,
        feeding=feeding,
        costs=costs,
        written_down=book.first_written(trial.key),
        overridden=overrides_of(trial, entries),
        film=film,
    )
    return sheet, charts


def sheet_page(
    sheet: Sheet,
    charts: Mapping[int, Mapping[str, Chart]],
    *,
    draw: Draw = lambda chart: to_svg(chart.spec),
    progress: Progress | None = None,
) -> str:
    """Return the sheet as one HTML text, its wide charts drawn by `draw`. DrawError."""
    drawn: dict[str, DrawnChart] = {}
    wide, slim = charts[WIDE_PX], charts[SLIM_PX]
    for done, (key, chart) in enumerate(wide.items(), start=1):
        drawn[key] = DrawnChart(
            key,
            inline_svg(draw(chart), prefix=f"{key}-wide", alt=chart.alt),
            inline_svg(to_svg(slim[key].spec), prefix=f"{key}-slim", alt=chart.alt),
            chart.caption,
        )
        if progress is not None:
            progress(done, len(wide), "charts")
    return sheet_html(sheet, drawn)
