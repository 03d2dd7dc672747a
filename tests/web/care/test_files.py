"""The calendar feed and the bench card, as they are sent."""

from __future__ import annotations

import io
from datetime import date

import pytest

from littoral.acts.give_bench_card import give_bench_card
from littoral.errors import FaultsError


def test_the_calendar_is_of_all_tanks_or_one(bench):
    whole = bench.get("/calendar/sparing-or-full.ics")
    assert whole.status_code == 200
    assert whole.headers["content-type"] == "text/calendar; charset=utf-8"
    assert whole.content.startswith(b"BEGIN:VCALENDAR")
    left = bench.get("/calendar/sparing-or-full/left.ics")
    assert len(left.content) < len(whole.content)
    assert bench.get("/calendar/nothing.ics").status_code == 404
    assert bench.get("/calendar/sparing-or-full/middle.ics").status_code == 409


def pages_of(data: bytes) -> list[str]:
    pypdf = pytest.importorskip("pypdf")
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def sizes_of(data: bytes) -> set[tuple[int, int]]:
    pypdf = pytest.importorskip("pypdf")
    return {
        (round(float(page.mediabox.width)), round(float(page.mediabox.height)))
        for page in pypdf.PdfReader(io.BytesIO(data)).pages
    }


def test_the_bench_card_has_a_page_for_each_tank(bench):
    answer = bench.get("/bench-card/sparing-or-full.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    left, right = pages_of(answer.content)
    for said in ("left tank", "full", "Sun 8 Mar", "1 stroke macro stock", "18:00", "Overdosing kills animals"):
        assert said in left
    assert "right tank" in right
    assert "Sat 21 Mar" in right
    assert sizes_of(answer.content) == {(595, 842)}
    assert sizes_of(bench.get("/bench-card/sparing-or-full.pdf?paper=letter").content) == {(612, 792)}
    assert len(pages_of(bench.get("/bench-card/sparing-or-full.pdf?tank=left").content)) == 1
    assert bench.get("/bench-card/sparing-or-full.pdf?paper=napkin").status_code == 409
    assert answer.content == bench.get("/bench-card/sparing-or-full.pdf").content


def test_its_codes_open_forms_that_are_there(bench):
    cv2 = pytest.importorskip("cv2")
    from littoral.acts import give_bench_card as act

    found: list[str] = []
    make = act.bench_cards_pdf

    def keep(cards, paper):
        found.extend(code.address for card in cards for code in card.codes)
        return make(cards, paper)

    act.bench_cards_pdf = keep
    try:
        give_bench_card(bench.folder, tanks=["left"], address="http://127.0.0.1:8765/", now=bench.now)
    finally:
        act.bench_cards_pdf = make
    assert len(found) == 5
    assert cv2 is not None
    for address in found:
        assert bench.get(address.removeprefix("http://127.0.0.1:8765")).status_code == 200
    assert "what=macro" in found[1]


def test_a_card_without_an_address_has_no_codes(bench):
    data = give_bench_card(bench.folder, first=date(2026, 3, 2), now=bench.now)
    assert "Scan to write down" not in "".join(pages_of(data))
    with pytest.raises(FaultsError, match="The tanks are left, right"):
        give_bench_card(bench.folder, tanks=["middle"], now=bench.now)
