"""Strokes on a photo in real Chromium: by finger and by keyboard, undone, kept, and taken back."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from littoral.acts.photos.list_photos import list_photos
from littoral.acts.photos.teach_look import list_strokes

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [390])
def test_a_stand_is_taught_by_finger_and_by_keyboard(two_photos, tmp_path: Path, serve, visit, width: int) -> None:
    logbook = Path(shutil.copytree(two_photos.logbook, tmp_path / "logbook"))
    photo = list_photos(logbook, two_photos.key).photos[0].photo
    with serve(logbook) as address:
        page = visit(
            f"{address}/trial/{two_photos.key}/photos/{photo}#teach", width=width, ready="#teach[data-ready]",
            has_touch=True, is_mobile=True,
        )  # fmt: skip
        svg = page.locator("figure.over svg")
        svg.scroll_into_view_if_needed()
        box = svg.bounding_box()

        def finger(*path: tuple[float, float]) -> None:
            """A real touch, sent by the browser's own protocol."""
            session = page.context.new_cdp_session(page)
            for at, (x, y) in enumerate(path):
                point = {"x": box["x"] + x * box["width"], "y": box["y"] + y * box["height"]}
                kind = "touchStart" if at == 0 else "touchMove"
                session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [point]})
            session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
            session.detach()

        said = page.locator("[data-part=said]")
        finger((0.40, 0.40), (0.43, 0.44), (0.46, 0.50))
        assert said.inner_text() == "1 on the stand, 0 beside it."
        finger((0.50, 0.40), (0.55, 0.44))
        page.click("[data-do=undo]")
        assert said.inner_text() == "Undone. 1 on the stand, 0 beside it."
        page.click("[data-do=redo]")
        page.click("text=this is not")
        svg.focus()
        for key in ("Shift+ArrowLeft", "Shift+ArrowLeft", " ", "ArrowLeft", "ArrowUp", "ArrowLeft", " "):
            page.keyboard.press(key)
        assert said.inner_text() == "2 on the stand, 1 beside it."
        for key in (" ", "ArrowLeft", "Escape"):
            page.keyboard.press(key)
        assert said.inner_text() == "Left. 2 on the stand, 1 beside it."
        page.keyboard.press("Control+z")
        page.keyboard.press("Control+Shift+z")
        sent = json.loads(page.input_value("#teach input[name=strokes]"))
        assert [one["side"] for one in sent] == ["stand", "stand", "not"]
        assert all(len(one["path"]) > 1 for one in sent)
        assert f"/photos/{photo}" in page.url  # the arrow keys did not go to the photo before
        page.click("[data-do=keep]")
        page.wait_for_selector("#teach[data-ready] .kept li")
        kept = list_strokes(logbook, two_photos.key)
        assert [one.counts for one in kept] == [(2, 1)]
        assert "2 on the stand, 1 beside it" in page.inner_text(".teach .kept li")
        assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
        page.click(".teach .kept button")
        page.wait_for_selector("#teach[data-ready]:not(:has(.kept))")
        assert "taken back" in page.inner_text(".notice[role=status]")
        page.close()
    assert list_strokes(logbook, two_photos.key) == ()
