"""A chart's files show the same drawing: of one size, with the same words, the dark one in other colours."""

from __future__ import annotations

import html
import re
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from littoral.findings.measured import Measured
from littoral.publish.chart_files import write_chart
from littoral.publish.charts import charts_of
from littoral.publish.look import DARK, LIGHT, on_dark
from littoral.trial.model import Trial


@pytest.fixture(scope="module")
def folder(trial: Trial, measured: Measured, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("charts")
    write_chart(charts_of(trial, measured=measured, findings=())["cover"], folder)
    return folder


def svg_of(folder: Path, end: str) -> str:
    return (folder / f"cover{end}.svg").read_text(encoding="utf-8")


def picture(folder: Path, end: str) -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    with Image.open(folder / f"cover{end}.png") as opened:
        return np.asarray(opened.convert("RGB"))


def pdf_of(folder: Path) -> PdfReader:
    return PdfReader(BytesIO((folder / "cover.pdf").read_bytes()))


def test_all_files_are_of_one_size(folder: Path) -> None:
    width, height = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg_of(folder, "")).groups())  # type: ignore[union-attr]
    for end in ("", "-dark"):
        assert picture(folder, end).shape == pytest.approx((2 * height, 2 * width, 3), abs=2)
    box = pdf_of(folder).pages[0].mediabox
    assert float(box.width) / float(box.height) == pytest.approx(width / height, rel=1e-3)


def test_the_pdf_has_the_words_of_the_svg(folder: Path) -> None:
    said = [
        html.unescape(re.sub(r"<[^>]*>", "", one)) for one in re.findall(r"<text[^>]*>(.*?)</text>", svg_of(folder, ""))
    ]
    printed = re.sub(r"\s", "", pdf_of(folder).pages[0].extract_text())
    assert len(said) > 10
    assert [one for one in said if re.sub(r"\s", "", one) not in printed] == []


def test_dark_is_the_same_drawing_in_the_other_colours(folder: Path) -> None:
    light, dark = svg_of(folder, ""), svg_of(folder, "-dark")
    assert re.sub(r'"#[0-9a-f]{6}"', "", light) == re.sub(r'"#[0-9a-f]{6}"', "", dark)
    swap = on_dark()
    assert [swap.get(one, one) for one in re.findall(r'"(#[0-9a-f]{6})"', light)] == re.findall(
        r'"(#[0-9a-f]{6})"', dark
    )
    assert not set(re.findall(r'"(#[0-9a-f]{6})"', dark)) & (set(swap) - set(swap.values()))


def test_each_stands_on_its_own_paper(folder: Path) -> None:
    for end, paper in (("", LIGHT), ("-dark", DARK)):
        assert "#" + picture(folder, end)[2, 2].tobytes().hex() == paper.paper


def test_written_twice_the_files_are_the_same(folder: Path, trial: Trial, measured: Measured, tmp_path: Path) -> None:
    write_chart(charts_of(trial, measured=measured, findings=())["cover"], tmp_path)
    names = sorted(path.name for path in folder.iterdir())
    assert names == sorted(path.name for path in tmp_path.iterdir())
    assert [name for name in names if (folder / name).read_bytes() != (tmp_path / name).read_bytes()] == []
