"""The printed sheet: read back by another library, it says what the page says, is tagged, and stays the same."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime
from html.parser import HTMLParser
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.publish.charts import charts_of
from littoral.publish.pdf.sheet import sheet_pdf
from littoral.publish.publish import WIDE_PX, gathered_sheet, sheet_page
from littoral.publish.sheet import Sheet
from littoral.trial.entries import Entry
from littoral.trial.model import Trial


class Book:
    """A logbook that holds the fixture's entries only."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._entries = entries

    def entries(self, trial_key: str) -> Sequence[Entry]:
        return self._entries

    def first_written(self, key: str) -> datetime:
        return datetime(2026, 2, 27, tzinfo=UTC)


@pytest.fixture(scope="module")
def gathered(trial: Trial, measured: Measured, findings: Sequence[Finding], entries: Sequence[Entry]) -> Any:
    few = Measured(tuple(photo for photo in measured.photos if photo.day < 12), "test 1")
    return gathered_sheet(Book(entries), trial, measured=few, findings=findings)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def pdf(gathered: Any) -> bytes:
    sheet, charts = gathered
    return sheet_pdf(sheet, charts[WIDE_PX], paper="a4")


@pytest.fixture(scope="module")
def read(pdf: bytes) -> PdfReader:
    return PdfReader(BytesIO(pdf))


def words(text: str) -> str:
    """Without spaces, line ends, hyphens at them and page footers: what is compared is the words."""
    return re.sub(r"[\s\u00ad\u2010-]", "", text)


class Words(HTMLParser):
    """The words of a page's headings, paragraphs and cells."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.kept = ("h1", "h2", "h3", "td", "th", "li")
        self.inside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        while self.inside and self.inside.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if self.inside and self.inside[-1] in self.kept and data.strip():
            self.found.append(data.strip())


def test_it_says_all_that_the_page_says(read: PdfReader, gathered: Any) -> None:
    printed = words("".join(page.extract_text() for page in read.pages))
    page = Words()
    page.feed(sheet_page(*gathered))
    assert len(page.found) > 40
    assert [one for one in page.found if words(one) not in printed] == []


def test_it_is_tagged_named_and_in_a_language(read: PdfReader, gathered: Any) -> None:
    root: Any = read.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).startswith("en")
    assert read.metadata is not None
    assert read.metadata.title == gathered[0].title
    xmp = root["/Metadata"].get_data().decode()
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp  # PDF/UA-1, ISO 14289-1; its rules are typst's own check
    kinds: dict[str, int] = {}
    spoken: list[str] = []

    def walk(node: Any) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for one in node:
                walk(one)
        elif isinstance(node, dict):
            kind = str(node.get("/S", ""))
            kinds[kind] = kinds.get(kind, 0) + 1
            if kind == "/Figure":
                spoken.append(str(node.get("/Alt", "")))
            walk(node.get("/K", []))

    walk(root["/StructTreeRoot"])
    assert kinds["/H1"] >= 8
    assert kinds["/H2"] >= 8
    assert kinds["/Table"] >= 2
    assert kinds["/TH"] >= 6
    charts = gathered[1][WIDE_PX]
    pictures = [one for row in gathered[0].picture_rows for one in row.pictures if one.data]
    assert set(spoken) >= {chart.alt for chart in charts.values()} | {one.alt for one in pictures}


def test_its_links_lead_to_pages_of_its_own_and_its_fonts_are_within(read: PdfReader, gathered: Any) -> None:
    notes = [note.get_object() for page in read.pages for note in page.get("/Annots", [])]
    links = [note for note in notes if note.get("/Subtype") == "/Link"]
    assert len(links) >= len(gathered[0].contents) + len(gathered[0].answers)  # one over two lines is two
    assert all("/Dest" in one or one["/A"]["/S"] == "/GoTo" for one in links)
    for page in read.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            assert any(key in inner["/FontDescriptor"] for key in ("/FontFile2", "/FontFile3"))


def test_a4_and_letter(pdf: bytes, gathered: Any) -> None:
    sheet, charts = gathered
    letter = PdfReader(BytesIO(sheet_pdf(sheet, charts[WIDE_PX], paper="letter")))
    sizes = [
        {tuple(round(float(side)) for side in page.mediabox[2:]) for page in of.pages}
        for of in (PdfReader(BytesIO(pdf)), letter)
    ]
    assert sizes == [{(595, 842)}, {(612, 792)}]  # ISO 216; ANSI/ASME Y14.1 A, both in points of 1/72 inch


def test_the_same_sheet_is_the_same_bytes(pdf: bytes, gathered: Any) -> None:
    sheet, charts = gathered
    assert sheet_pdf(sheet, charts[WIDE_PX], paper="a4") == pdf


def test_a_trial_without_photos_and_what_a_person_wrote_as_typst(
    trial: Trial, measured: Measured, entries: Sequence[Entry], findings: Sequence[Finding]
) -> None:
    from dataclasses import replace

    odd = replace(trial, title='#panic("no") $x^2$ *bold* @ref <label> \\', rendered=False)
    none = Measured((), "test 1")
    sheet: Sheet
    sheet, _ = gathered_sheet(Book(entries), odd, measured=none, findings=())  # type: ignore[arg-type]
    made = PdfReader(BytesIO(sheet_pdf(sheet, charts_of(odd, measured=none, findings=()), paper="a4")))
    assert made.metadata is not None
    assert made.metadata.title == odd.title
    text = "".join(page.extract_text() for page in made.pages)
    assert words(odd.title) in words(text)
    assert "Rendered demo" not in text
    assert "Pictures" not in text
