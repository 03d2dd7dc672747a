"""Photos by day, and one photo with what was measured and counted on it; setting one aside and using it again."""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from littoral.acts.photos.gallery import SHOWS, counted_picture, gallery, see_photo
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.web.app import create_app

KEY = "sparing-or-full"


@pytest.fixture(scope="module")
def logbook(small_demo, tmp_path_factory: pytest.TempPathFactory) -> Path:
    with Logbook.open(small_demo.logbook) as book:
        measure_photos(book, book.trial(KEY))  # once for all tests; the pages are asked of a copy
    return Path(shutil.copytree(small_demo.logbook, tmp_path_factory.mktemp("gallery") / "logbook"))


@pytest.fixture
def page(logbook: Path, asking: Any) -> Any:
    app = create_app(logbook, port=8765)
    yield type(asking)(app)
    app.state.waiting.close()


def any_photo(logbook: Path, view: str = "left", day: int = 10) -> str:
    rows = (photo for found, row in gallery(logbook, KEY).days if found >= day for photo in row.get(view, ()))
    return next(rows).photo


def test_every_photo_stands_on_its_day_in_its_column(page: Any, logbook: Path) -> None:
    found = gallery(logbook, KEY)
    shown = page.get(f"/trial/{KEY}/photos").text
    photos = [one.photo for _, row in found.days for some in row.values() for one in some]
    assert len(photos) == found.counts["all"] == found.measured > 40
    assert sorted(re.findall(rf"/trial/{KEY}/photos/([^/\"]+)/small\.jpg", shown)) == sorted(photos)
    assert [day for day, _ in found.days] == sorted({day for day, _ in found.days})
    for show in SHOWS:
        assert page.get(f"/trial/{KEY}/photos?show={show.replace(' ', '%20')}").status_code == 200
    assert page.get(f"/trial/{KEY}/photos?show=pretty").status_code == 422
    assert page.get("/trial/nothing/photos").status_code == 404


def test_the_photo_pages_share_one_navigation(page: Any, logbook: Path) -> None:
    here = f"/trial/{KEY}"
    links = {}
    for path in ("photos", "photos/add", "views/left", "views/right", f"photos/{any_photo(logbook)}"):
        nav = page.get(f"{here}/{path}").text.split('aria-label="Photos of this trial"')[1].split("</nav>")[0]
        links[path] = tuple(re.findall(r'href="([^"]+)"', nav))
    assert set(links.values()) == {
        (f"{here}/photos", f"{here}/photos/add", f"/camera?trial={KEY}", f"{here}/views/left", f"{here}/series",
         f"{here}/colour"),
    }  # fmt: skip


def test_a_photo_says_what_was_measured_and_where_its_neighbours_are(page: Any, logbook: Path) -> None:
    photo = any_photo(logbook)
    seen = see_photo(logbook, KEY, photo)
    shown = page.get(f"/trial/{KEY}/photos/{photo}").text
    figures = [figure.value for one in seen.regions for figure in one.figures]
    assert len(figures) > 15
    sizes = [one for row in seen.regions for one in row.figures if one.name != "colour" and row.kind == "stand"]
    assert all(re.fullmatch(r"[0-9.]+ ± [0-9.]+ (cm|%)", one.value) for one in sizes), sizes
    assert not [one for one in figures if "-" in one]  # a minus is a minus
    assert [one for one in figures if one not in shown] == []
    assert f"{seen.before}" in shown
    assert f"{seen.after}" in shown
    assert see_photo(logbook, KEY, str(seen.after)).before == photo
    assert page.get(f"/trial/{KEY}/photos/none").status_code == 404


def test_what_is_laid_over_it_is_what_was_counted(page: Any, logbook: Path) -> None:
    photo = any_photo(logbook)
    answer = page.get(f"/trial/{KEY}/photos/{photo}/counted.png")
    assert answer.headers["content-type"] == "image/png"
    with Image.open(io.BytesIO(answer.content)) as opened:
        over = np.asarray(opened)
    seen = see_photo(logbook, KEY, photo)
    plants = (over[..., 0] == 255) & (over[..., 3] > 0)
    width, height = seen.view.frame_px
    assert over.shape[1] / over.shape[0] == pytest.approx(width / height, rel=0.01)
    with Logbook.open(logbook) as book:
        (measured,) = (one for one in measure_photos(book, book.trial(KEY)).photos if one.entry_id == photo)
    scale = over.shape[1] / width
    for region, row in zip(seen.regions, measured.regions, strict=True):
        if region.kind != "stand" or row.cover is None:
            continue
        xs, ys = np.array(region.polygon_px).T * scale  # the demo's stands are upright boxes
        box = plants[round(ys.min()) : round(ys.max()), round(xs.min()) : round(xs.max())]
        assert box.mean() >= row.cover - 0.02, region.name  # a stand before it may be counted there as well
    assert plants.any()
    assert counted_picture(logbook, KEY, "none") is None
    assert page.get(f"/trial/{KEY}/photos/none/counted.png").status_code == 404


def test_a_photo_is_set_aside_with_a_reason_and_used_again(page: Any, logbook: Path) -> None:
    photo = any_photo(logbook, day=20)
    path = f"/trial/{KEY}/photos/{photo}"
    bare = page.post(path, {"decision": "set aside", "reason": ""})
    assert bare.status_code == 422
    assert "Say why the photo is left out" in bare.text
    done = page.post(path, {"decision": "set aside", "reason": "a hand in front"})
    assert done.status_code == 303
    aside = done.headers["location"].partition("?")[0]
    shown = page.get(aside).text
    assert "a hand in front" in shown
    assert gallery(logbook, KEY).counts["set aside"] == 1
    again = page.post(aside, {"decision": "keep"})
    assert again.status_code == 303
    assert gallery(logbook, KEY).counts["set aside"] == 0
    kept = page.get(path)  # the address of before leads to what stands now
    assert kept.status_code == 303
    assert page.get(kept.headers["location"]).status_code == 200
    assert page.post(aside, {"decision": "burn"}).status_code in (404, 422)
