"""Files that are broken, odd, or no photos at all, among others that are."""

from __future__ import annotations

import io

import pytest
from PIL import Image
from tests.acts.photos import photos_tried
from tests.acts.photos.photos_tried import (
    NOW,
    TRIAL,
    bad_files,
    file,
    odd_files,
    one,
    stored,
    taken,
)
from tests.photos_made import file_of, shot

from littoral.acts.photos.add_photos import add_photos
from littoral.acts.told import Told
from littoral.findings.measuring import measure_photos
from littoral.logbook import originals
from littoral.logbook.book import Logbook

started = photos_tried.started
folder = photos_tried.folder


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_a_photo_turned_by_exif_is_upright(folder, orientation):
    row = one(folder, file_of(shot("left", 4), taken=taken(4), orientation=orientation), view="left")
    assert row.state == "added"


@pytest.mark.parametrize("name", ["empty.jpg", "cut.jpg", "text.jpg", "huge.jpg", "film.jpg", "zeros.jpg"])
def test_what_is_no_photo_is_refused_with_its_reason_and_the_rest_goes_on(folder, name):
    good = file_of(shot("left", 4), taken=taken(4))
    done = add_photos(folder, [file(name, bad_files()[name]), file("good.jpg", good)], view="left", now=NOW)
    assert [row.state for row in done.rows] == ["refused", "added"]
    assert len(done.rows[0].said) > 20
    assert len(stored(folder)) == 7


@pytest.mark.parametrize(
    "name",
    ["cmyk.jpg", "grey.jpg", "16-bit.png", "16-bit.tif", "animated.webp", "animated.png", "phone.heic", "plain.webp",
     "plain.tif"],
)  # fmt: skip
def test_odd_but_whole_photos_are_taken_as_they_are(folder, name):
    data = odd_files()[name]
    row = one(folder, data, name, view="left", told=Told(when="2026-03-06 18:05"))
    assert (row.state, row.doubts) == ("added", ())
    if "animated" in name:
        assert "2 pictures" in row.remarks[0]
    with Logbook.open(folder) as book:
        assert book.original(originals.sha256_of(data)).read_bytes() == data


def test_the_place_stays_in_the_original_and_nothing_made_of_it_holds_it(folder):
    from littoral.acts.frame_photo import overlay

    data = file_of(shot("left", 6), taken=taken(6), place=True)
    row = one(folder, data, view="left")
    assert any("never published" in remark for remark in row.remarks)
    with Logbook.open(folder) as book:
        assert book.original(originals.sha256_of(data)).read_bytes() == data
        measured = measure_photos(book, book.trial(TRIAL.key), workers=1)
    made = [overlay(folder, TRIAL.key, "left"), *(p.prepared.read_bytes() for p in measured.photos if p.prepared)]
    assert len(made) > 3
    for picture in made:
        with Image.open(io.BytesIO(picture)) as shown:
            assert not shown.getexif()
            assert "exif" not in shown.info


def test_another_camera_is_remarked_upon(folder):
    row = one(folder, file_of(shot("left", 4), taken=taken(4), camera="Two"), view="left")
    assert (row.state, len(row.remarks)) == ("added", 1)
    assert "another camera (Two)" in row.remarks[0]
