"""A folder chosen in real Chromium: every file has its end, it can be stopped and goes on, doubts are decided about."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.photos_made import blurred, file_of, shot

from littoral.acts.photos.list_photos import list_photos
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

pytestmark = pytest.mark.browser
WHOLE = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
LEFT = WHOLE[WHOLE.index("[views.left]") : WHOLE.index("[[questions]]")]
TEXT = WHOLE.replace(LEFT, LEFT + LEFT.replace("left", "right").replace("top right", "top left"))
KEY = "sparing-or-full"


def put(folder: Path, name: str, data: bytes) -> None:
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(data)


@pytest.mark.parametrize("width", [390])
def test_a_folder_comes_in_and_its_doubts_are_decided(tmp_path: Path, serve, visit, width: int) -> None:
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(trial, TEXT)
    for tank in ("left", "right"):
        for day in range(2):
            put(tmp_path / "first", f"{tank}/{day}.jpg", file_of(shot(tank, day), taken=f"2026:03:0{3 + day} 18:00:00"))
        for day in range(3, 5):
            name = f"IMG_{tank[0]}{day}.jpg"
            put(tmp_path / "more", name, file_of(shot(tank, day), taken=f"2026:03:0{3 + day} 18:00:00"))
    put(tmp_path / "more", "soft.jpg", file_of(blurred(shot("left", 5)), taken="2026:03:08 18:00:00"))
    put(tmp_path / "more", "no.jpg", b"no photo at all")
    put(tmp_path / "more", "undated.jpg", file_of(shot("left", 6)))
    with serve(tmp_path / "logbook") as address:
        page = visit(f"{address}/trial/{KEY}/photos/add", width=width, ready="#add[data-ready]")
        page.set_input_files("[data-part=folder]", str(tmp_path / "first"))
        page.wait_for_selector("#add[data-state=done]")
        assert page.inner_text("[data-end=added]") == "4 added"
        page.set_input_files("[data-part=folder]", str(tmp_path / "more"))
        page.wait_for_selector(".ask-list li")
        page.fill(".ask-list input", "2026-03-09 18:00")
        page.wait_for_selector("#add[data-state=done]")
        page.click(".ask-list button")
        page.wait_for_selector("#add[data-state=done]")
        page.wait_for_selector(".card")
        ends = [item.inner_text() for item in page.query_selector_all("[data-part=ends] li")]
        assert ends == ["4 added", "6 to decide", "0 there already", "0 asked about", "1 refused"]
        assert "it looks like text" in page.inner_text("[data-part=refused-list]")
        page.locator(".look-group button:has-text('Confirm')").first.click()
        page.wait_for_function("() => document.querySelectorAll('.look-group').length === 1")
        page.locator(".look-group button:has-text('Confirm')").first.click()
        page.wait_for_function("() => document.querySelectorAll('.look-group').length === 0")
        page.click(".card button:has-text('Set aside')")
        page.click(".card button:has-text('for this reason')")
        page.wait_for_selector("[data-part=decide]", state="hidden")
        assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
        page.close()
    found = list_photos(tmp_path / "logbook")
    assert (found.count("in use"), found.count("set aside"), found.count("to decide")) == (9, 1, 0)
