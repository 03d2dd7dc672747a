"""The calendar feed and the bench card, as they are sent."""

from __future__ import annotations

import io
import shutil
import subprocess
from datetime import date

import pytest

from littoral.acts.give_bench_card import give_bench_card
from littoral.errors import FaultsError

BASE = "http://127.0.0.1:8765"


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


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm draws the page for the reader of codes")
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_its_codes_are_read_and_open_what_is_there(bench, tmp_path, paper):
    cv2 = pytest.importorskip("cv2")
    card = tmp_path / "card.pdf"
    data = give_bench_card(
        bench.folder, tanks=["left"], address=f"{BASE}/", paper=paper, out=card, now=bench.now
    )  # fmt: skip
    assert card.read_bytes() == data
    assert len(pages_of(data)) == 1
    subprocess.run(["pdftoppm", "-png", "-r", "200", "-singlefile", card, tmp_path / "card"], check=True)
    read = cv2.QRCodeDetector().detectAndDecodeMulti(cv2.imread(str(tmp_path / "card.png")))[1]
    of_tank = "trial=sparing-or-full&tank=left"
    assert set(read) == {
        f"{BASE}/today?{of_tank}",
        f"{BASE}/entry/dose?{of_tank}&what=macro",
        f"{BASE}/entry/dose?{of_tank}&what=micro",
        f"{BASE}/entry/reading?{of_tank}",
        f"{BASE}/entry/note?{of_tank}",
    }
    for address in read:
        assert bench.get(address.removeprefix(BASE)).status_code == 200


def test_a_card_without_an_address_has_no_codes(bench):
    data = give_bench_card(bench.folder, first=date(2026, 3, 2), now=bench.now)
    assert "Scan to write down" not in "".join(pages_of(data))
    with pytest.raises(FaultsError, match="The tanks are left, right"):
        give_bench_card(bench.folder, tanks=["middle"], now=bench.now)


@pytest.mark.parametrize("address", ["ftp:/x", "192.168.1.20:8765", "http://", "http://x:y"])
def test_codes_lead_to_an_address_of_the_web_only(bench, address):
    with pytest.raises(FaultsError, match=r"such as http://192\.168\.1\.20:8765"):
        give_bench_card(bench.folder, address=address, now=bench.now)
