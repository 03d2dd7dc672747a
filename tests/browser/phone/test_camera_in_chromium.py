"""The camera page: framing by the last photo, files of the phone's own format, doubts shown at once."""

from __future__ import annotations

import pytest

pytest.importorskip("playwright", reason="Playwright is not installed; it is in the development requirements")
from tests.browser.phone.at_the_tank import (
    CAMERA,
    take_photo,
    visit,
)
from tests.photos_made import dark, file_of, shot, with_hand

from littoral.acts.add_photo import add_photo
from littoral.logbook.book import Logbook

pytestmark = pytest.mark.browser


def test_the_last_photo_lies_over_the_live_picture(phone, computer):
    with phone.opened() as context:
        page = visit(context, computer.address + CAMERA)
        assert page.locator("[data-part=overlay]").count() == 0
        take_photo(page)
        assert "in the logbook" in page.locator("[data-part=told]").inner_text()
        page.goto(computer.address + CAMERA)
        page.wait_for_selector("#camera[data-state=live]")
        overlay = page.locator("[data-part=overlay]")
        assert overlay.evaluate("image => image.decode().then(() => image.naturalWidth)") > 100
        assert float(overlay.evaluate("image => getComputedStyle(image).opacity")) == 0.45
        page.locator("[data-part=slider]").fill("80")
        assert float(overlay.evaluate("image => getComputedStyle(image).opacity")) == 0.8
        picture, over = (page.locator(f"[data-part={part}]").bounding_box() for part in ("video", "overlay"))
        assert picture == over
        context.set_offline(True)
        page.goto(computer.address + CAMERA)  # with the overlay of before
        page.wait_for_selector("#camera[data-state=live]")
        assert (
            page.locator("[data-part=overlay]").evaluate("image => image.decode().then(() => image.naturalWidth)") > 100
        )
    assert len(computer.stored()) == 1


def test_without_a_live_camera_a_photo_is_chosen_and_what_is_none_is_refused(phone, computer, tmp_path):
    from PIL import Image

    Image.new("RGB", (800, 600), (30, 90, 60)).save(tmp_path / "IMG_0001.jpg")
    (tmp_path / "film.gif").write_bytes(b"GIF89a" + bytes(300))
    with phone.opened(camera=False) as context:
        page = visit(context, computer.address + CAMERA)
        page.wait_for_selector("#camera[data-state=beside]")
        assert page.locator("[data-part=pick]").get_attribute("capture") == "environment"
        page.locator("[data-part=pick]").set_input_files(tmp_path / "film.gif")
        page.wait_for_selector("[data-part=told].wrong")
        page.locator("[data-part=pick]").set_input_files(tmp_path / "IMG_0001.jpg")
        page.wait_for_selector("#camera[data-state=taken]")
        page.locator("[data-part=keep]").click()
        page.wait_for_selector("#camera[data-state=done]")
    (entry,) = computer.stored()
    assert entry.payload.file_name == "IMG_0001.jpg"
    with Logbook.open(computer.logbook) as book:
        assert book.original(entry.payload.sha256).read_bytes() == (tmp_path / "IMG_0001.jpg").read_bytes()


def test_a_doubtful_photo_of_a_phones_own_format_is_shown_at_once_to_keep_or_take_again(phone, computer, tmp_path):
    add_photo(computer.logbook, file_of(shot("left", 1)), "left")
    (tmp_path / "a.heic").write_bytes(file_of(with_hand(shot("left", 2)), kind="HEIC"))
    (tmp_path / "b.heic").write_bytes(file_of(dark(shot("left", 3)), kind="HEIC"))
    with phone.opened(camera=False) as context:
        page = visit(context, computer.address + CAMERA)
        page.wait_for_selector("#camera[data-state=beside]")
        for name, button, state in (("a.heic", "retaken", "beside"), ("b.heic", "all-the-same", "done")):
            page.locator("[data-part=pick]").set_input_files(tmp_path / name)
            page.locator("#camera[data-state=unshown] [data-part=keep]").click()
            page.wait_for_selector("#camera[data-state=doubt]")
            assert "Look twice:" in page.locator("[data-part=told]").inner_text()
            page.locator(f"[data-part={button}]").click()
            page.wait_for_selector(f"#camera[data-state={state}]")
    first, *two = sorted(computer.stored(), key=lambda one: one.payload.file_name)
    assert {one.payload.file_name: one.payload.decided for one in (first, *two)} == {
        "a.heic": "set aside", "b.heic": "kept", "left.jpg": "",
    }  # fmt: skip
    assert first.note.startswith("taken again: something seems to be in front")
