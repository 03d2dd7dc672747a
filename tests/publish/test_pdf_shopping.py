"""The shopping list on A4: all it must say, over pages where it is long, the same bytes each time."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from littoral.publish.pdf.shopping_list import ShoppingList, ShoppingRow, shopping_pdf

ROW = ShoppingRow(
    what="KNO3, potassium nitrate",
    packs="1 × 500 g",
    amount="44.3 g",
    price="7.90 EUR",
    buy_by="2026-03-02",
    runs_out="2026-03-06",
    overdue=True,
)
LIST = ShoppingList(
    title="To buy for the bench",
    made_on="2026-03-02",
    covers="26 weeks",
    rows=(ROW, replace(ROW, price="", overdue=False)),
    total="7.90 EUR",
    notes=("Note.",),
)


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_a_list_says_what_how_much_by_when_and_what_it_costs() -> None:
    pdf = shopping_pdf(LIST)
    text = text_of(pdf)
    for said in (
        ROW.what,
        ROW.packs,
        ROW.amount,
        ROW.price,
        ROW.buy_by,
        ROW.runs_out,
        "not known",
        "together 7.90 EUR",
    ):
        assert said in text
    assert text.count("now: it runs out before an order comes") == 1
    box = PdfReader(BytesIO(pdf)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.05)
    assert shopping_pdf(LIST) == pdf


def test_an_empty_list_says_so() -> None:
    assert "Nothing needs buying in that time." in text_of(shopping_pdf(replace(LIST, rows=())))


def test_a_long_list_goes_on_with_its_head() -> None:
    pdf = shopping_pdf(replace(LIST, rows=(ROW,) * 60))
    pages = PdfReader(BytesIO(pdf)).pages
    assert len(pages) > 1
    assert all("buy by" in page.extract_text() for page in pages)


def test_what_a_person_wrote_is_set_as_it_stands() -> None:
    assert "#eval(1+1) *x*" in text_of(shopping_pdf(replace(LIST, title="#eval(1+1) *x*")))
