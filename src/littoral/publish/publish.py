"""Writing all results of a trial to a folder: sheet, charts, film and findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from littoral.feeding.cost import ArmCost
from littoral.findings.feeding import TankFeeding
from littoral.findings.levels import Levels
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress
from littoral.publish.charts import SLIM_PX, charts_of
from littoral.publish.draw import inline_svg, to_png, to_svg
from littoral.publish.film.make import make_film
from littoral.publish.findings_json import SCHEMA_FILE, findings_text, schema_text
from littoral.publish.override_words import overrides_of
from littoral.publish.sheet import DrawnChart, sheet_html, sheet_of
from littoral.publish.stills import stills
from littoral.trial.model import Trial


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
    film: bool = True,
    progress: Progress | None = None,
) -> dict[str, Path]:
    """Write a trial's results to the folder `out` and return each file or folder by what it is.

    "sheet", "findings", its "schema" and "charts" always; "film" with its "captions" where there are photos and `film`.
    Each file appears only when it is whole, and the same logbook gives the same files. Raises DrawError or EncoderError
    where a chart or the film cannot be made.
    """
    entries = book.entries(trial.key)
    folder = out / "charts"
    folder.mkdir(parents=True, exist_ok=True)
    written = {
        "sheet": out / "sheet.html", "findings": out / "findings.json", "schema": out / SCHEMA_FILE, "charts": folder
    }  # fmt: skip
    write_whole(written["schema"], schema_text().encode())
    write_whole(written["findings"], findings_text(trial, findings).encode())

    wide = charts_of(
        trial, measured=measured, findings=findings, levels=levels, feeding=feeding, entries=entries
    )  # fmt: skip
    slim = charts_of(
        trial, measured=measured, findings=findings, levels=levels, feeding=feeding, entries=entries, width_px=SLIM_PX
    )
    drawn: dict[str, DrawnChart] = {}
    for done, (key, chart) in enumerate(wide.items(), start=1):
        svg = to_svg(chart.spec)
        write_whole(folder / f"{key}.svg", svg.encode())
        write_whole(folder / f"{key}.png", to_png(chart.spec))
        drawn[key] = DrawnChart(
            key,
            inline_svg(svg, prefix=f"{key}-wide", alt=chart.alt),
            inline_svg(to_svg(slim[key].spec), prefix=f"{key}-slim", alt=chart.alt),
            chart.caption,
        )
        if progress is not None:
            progress(done, len(wide), "charts")

    sheet = sheet_of(
        trial,
        measured=measured,
        findings=findings,
        charts=wide,
        pictures=stills(trial, measured),
        levels=levels,
        feeding=feeding,
        costs=costs,
        written_down=book.first_written(trial.key),
        overridden=overrides_of(trial, entries),
        film=film,
    )
    write_whole(written["sheet"], sheet_html(sheet, drawn).encode())
    made = make_film(trial, measured, entries, out / "film.mp4", findings=findings, progress=progress) if film else None
    if made is not None:
        written |= {"film": made.encoded.path, "captions": made.captions}
    return written
