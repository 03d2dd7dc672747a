"""The sheet as a tagged PDF, for A4 or Letter: the same words, tables, pictures and charts as the page."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from dataclasses import asdict
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from littoral.errors import extras_needed
from littoral.publish.chart import Chart
from littoral.publish.draw import to_svg
from littoral.publish.pdf.papers import PAPERS, Paper
from littoral.publish.sheet import Sheet


@extras_needed()
def sheet_pdf(sheet: Sheet, charts: Mapping[str, Chart], *, paper: Paper) -> bytes:
    """Return the sheet as PDF/UA-1 (ISO 14289-1: tagged, with a text for each picture); the same sheet, the same bytes.

    `charts` are those of the sheet, by key. Raises DrawError where a chart cannot be drawn, MissingExtraError without
    typst.
    """
    import typst

    with TemporaryDirectory(prefix="littoral-sheet-") as name:
        folder = Path(name)
        template = resources.files("littoral.publish.pdf").joinpath("sheet.typ").read_text(encoding="utf-8")
        (folder / "sheet.typ").write_text(template, encoding="utf-8")
        data = {
            "paper": PAPERS[paper],
            "sheet": _with_files(asdict(sheet), folder),
            "charts": {key: _chart(chart, folder) for key, chart in charts.items()},
        }
        (folder / "data.json").write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
        return bytes(
            typst.compile(
                folder / "sheet.typ",
                root=folder,
                format="pdf",
                ignore_system_fonts=True,
                timestamp=0,
                pdf_standards="ua-1",
            )
        )


def _chart(chart: Chart, folder: Path) -> dict[str, str]:
    file = f"{chart.key}.svg"
    (folder / file).write_text(to_svg({**chart.spec, "background": "#ffffff"}), encoding="utf-8")
    return {"file": file, "alt": chart.alt, "caption": chart.caption}


def _with_files(sheet: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Return the sheet with its pictures as files of `folder` instead of data within the text."""
    shown = [one for row in sheet["picture_rows"] for one in row["pictures"]]
    shown += [one for row in sheet["carrying_rows"] for _, one in row["pictures"]]
    for number, one in enumerate((one for one in shown if one["data"]), start=1):
        file = f"picture-{number}.jpg"
        (folder / file).write_bytes(base64.b64decode(one["data"].partition(",")[2]))
        one["data"] = file
    return sheet
