"""Bottle labels: what each size carries, what it says where it is shortened, the same bytes each time."""

from __future__ import annotations

import shutil
import subprocess
import sys
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import cv2
import pytest
from pypdf import PdfReader

from littoral.chemistry.ghs import ghs_label
from littoral.chemistry.package_data import table
from littoral.errors import MissingExtraError
from littoral.publish.pdf.bottle_label import SIZES, BottleLabel, Size, label_pdf
from littoral.publish.pdf.pictograms import PICTOGRAMS, pictogram
from littoral.publish.pdf.setting import NotSetError

MACRO = BottleLabel(
    name="macro stock",
    volume="500 mL",
    composition=(("KNO3", "33 g"), ("KH2PO4", "2.6 g"), ("K2SO4", "8 g")),
    holds=(("K⁺", "34.2 mg/mL"), ("NO₃⁻", "40.5 mg/mL")),
    dose="2.2 mL in 42 L adds mg/L: NO₃⁻ 2.1, K⁺ 1.8",
    made_on="2026-03-02",
    discard_after="2027-03-02",
    keep="Keep away from children and food.",
    ghs=ghs_label(()),
    not_told=("whether the solution is oxidising",),
    url="http://127.0.0.1:8765/mix?trial=sparing-or-full&bottle=macro",
)
TRACE = replace(
    MACRO,
    name="trace stock",
    composition=(("CuSO4·5H2O", "12 g"), ("ZnSO4·7H2O", "40 g"), ("MnSO4·H2O", "80 g"), ("H3BO3", "20 g")),
    ghs=ghs_label(("H302", "H318", "H360FD", "H373", "H410")),
)
ALWAYS = ("macro stock", "33 g", "2.2 mL in 42 L", "Made on 2026-03-02", "discard after 2027-03-02", "data sheets")


def text_of(pdf: bytes) -> str:
    reader = PdfReader(BytesIO(pdf))
    assert len(reader.pages) == 1
    return " ".join(reader.pages[0].extract_text().replace("\u00a0", " ").split())


@pytest.mark.parametrize("size", SIZES)
def test_a_label_of_its_size_with_what_is_never_left_out(size: Size) -> None:
    pdf = label_pdf(MACRO, size)
    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(tuple(mm / 25.4 * 72 for mm in SIZES[size]), abs=0.01)
    text = text_of(pdf)
    for said in ALWAYS:
        assert said in text
    assert "proves nothing" in text


@pytest.mark.parametrize("size", SIZES)
def test_hazards_on_each_size(size: Size) -> None:
    text = text_of(label_pdf(TRACE, size))
    assert "Danger" in text
    for statement in TRACE.ghs.h:
        assert statement.code in text


def test_the_largest_carries_every_phrase_and_the_smallest_says_see_sheet() -> None:
    large, small = text_of(label_pdf(TRACE, "large")), text_of(label_pdf(TRACE, "small"))
    for statement in (*TRACE.ghs.h, *TRACE.ghs.p):
        assert statement.text in large
    assert "see sheet" not in large
    assert "see sheet" in small
    assert TRACE.ghs.p[-1].text not in small


def test_the_reason_for_a_dose_over_a_limit_is_on_the_label() -> None:
    assert "given because: plants only" in text_of(label_pdf(replace(MACRO, anyway="plants only"), "medium"))


@pytest.mark.parametrize("label", [MACRO, TRACE], ids=["macro", "trace"])
def test_the_same_label_gives_the_same_bytes(label: BottleLabel) -> None:
    first = label_pdf(label, "medium")
    assert label_pdf(label, "medium") == first
    assert b"CreationDate" not in first
    metadata = PdfReader(BytesIO(first)).metadata
    assert metadata is not None
    assert (metadata.title, metadata.creation_date) == (f"Label: {label.name}", None)


def test_what_a_person_wrote_is_set_as_it_stands() -> None:
    name = '#panic("x") $x^2$ *b* _i_ \\ "q" `c` @ref <l>'
    assert name in text_of(label_pdf(replace(MACRO, name=name), "large"))


def test_what_does_not_fit_is_refused_with_a_way_out() -> None:
    many = tuple((f"C10H12FeN2NaO8·{i}H2O", f"{i}.123 g") for i in range(1, 60))
    with pytest.raises(NotSetError, match="does not fit 50 x 30 mm") as caught:
        label_pdf(replace(MACRO, composition=many), "small")
    assert "larger size" in caught.value.right


def test_every_pictogram_of_the_hazard_table_is_drawn() -> None:
    needed = {row["pictogram"] for row in table("phrases")["hazard"].values() if row["pictogram"]}
    assert needed <= set(PICTOGRAMS)
    for code in PICTOGRAMS:
        root = ElementTree.fromstring(pictogram(code))
        frame = root.find("{http://www.w3.org/2000/svg}polygon")
        assert frame is not None
        assert frame.get("fill") == "#fff"
        assert frame.get("stroke") == "#d8000f"
        corners = [tuple(map(float, corner.split(","))) for corner in (frame.get("points") or "").split()]
        # a square set on a point: equal diagonals that cross at right angles in the middle
        assert corners == [(50.0, 4.5), (95.5, 50.0), (50.0, 95.5), (4.5, 50.0)]
    with pytest.raises(KeyError):
        pictogram("GHS99")


def test_pictograms_and_code_are_on_the_label() -> None:
    plain, with_code = (label_pdf(replace(MACRO, url=url), "medium") for url in ("", MACRO.url))
    assert len(with_code) > len(plain) + 1000
    assert len(label_pdf(replace(TRACE, url=""), "medium")) > len(plain) + 1000


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm draws the page for the reader of codes")
@pytest.mark.parametrize("size", SIZES)
def test_the_code_is_read_back_from_paper(size: Size, tmp_path: Path) -> None:
    """By OpenCV's reader, which we did not write, from the page drawn at 300 dots per inch."""
    (tmp_path / "label.pdf").write_bytes(label_pdf(MACRO, size))
    command = ["pdftoppm", "-png", "-r", "300", "-singlefile", str(tmp_path / "label.pdf"), str(tmp_path / "label")]
    subprocess.run(command, check=True)
    picture = cv2.imread(str(tmp_path / "label.png"))
    assert picture is not None
    read, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    assert read == MACRO.url


@pytest.mark.parametrize("library", ["typst", "segno"])
def test_without_the_extra_it_is_named(library: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(MissingExtraError, match=r"littoral\[print\]"):
        label_pdf(MACRO, "small")
