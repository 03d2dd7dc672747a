"""Many photos at once: each file has its row, doubts wait for a person, nothing acknowledged is lost."""

from __future__ import annotations

import io
import struct
import sys
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from faults.many_photos import child, lost, new_book, write_files
from PIL import Image
from tests.photos_made import blurred, dark, file_of, shot, with_hand

from littoral.acts.change_entry import undo_entry
from littoral.acts.photos.add_photos import TOGETHER, add_photos, files_in
from littoral.acts.photos.decide_photos import NoPhotoError, decide_photos
from littoral.acts.photos.list_photos import list_photos
from littoral.acts.photos.rows import BY_LOOK, PhotoFile
from littoral.acts.told import Told
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.errors import FaultsError
from littoral.findings.measuring import measure_photos
from littoral.logbook import originals
from littoral.logbook.book import Logbook
from littoral.trial.entries import Photo
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parents[2] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
LEFT = WHOLE[WHOLE.index("[views.left]") : WHOLE.index("[[questions]]")]
TEXT = WHOLE.replace(LEFT, LEFT + LEFT.replace("left", "right").replace("top right", "top left"))
TRIAL = read_trial(TEXT, where="trial.toml")[0]
assert TRIAL is not None
NOW = datetime(2026, 3, 30, 12, tzinfo=UTC)


def taken(day: int, clock: str = "18:00:00") -> str:
    return f"2026:03:{2 + day:02} {clock}"


def file(name: str, data: bytes) -> PhotoFile:
    return PhotoFile(name, lambda: data)


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A logbook with three photos of each tank, told apart by their folders."""
    folder = tmp_path_factory.mktemp("started") / "logbook"
    with Logbook.create(folder) as book:
        book.take_in(TRIAL, TEXT)
    files = [
        file(f"photos/{tank}/{day}.jpg", file_of(shot(tank, day), taken=taken(day), camera="One"))
        for tank in ("left", "right")
        for day in range(3)
    ]
    done = add_photos(folder, files, now=NOW)
    assert [row.state for row in done.rows] == ["added"] * 6
    assert {row.view_by for row in done.rows} == {"folder"}
    return folder


@pytest.fixture
def folder(started: Path, tmp_path: Path) -> Path:
    import shutil

    return Path(shutil.copytree(started, tmp_path / "logbook"))


def stored(folder: Path) -> list[Photo]:
    with Logbook.open(folder) as book:
        return [entry.payload for entry in book.entries_of(TRIAL.key, (Photo,))]


def one(folder: Path, data: bytes, name: str = "IMG_1.jpg", **options: object):
    (row,) = add_photos(folder, [file(name, data)], now=NOW, **options).rows
    return row


# Where and when


@pytest.mark.parametrize("tank", ["left", "right"])
def test_the_view_is_told_by_its_look_and_waits_for_confirmation(folder, tank):
    row = one(folder, file_of(shot(tank, 5), taken=taken(5)))
    assert (row.state, row.view, row.view_by, row.doubts) == ("to decide", tank, "look", (BY_LOOK,))
    assert (stored(folder)[-1].waits, stored(folder)[-1].used) == (True, False)
    decide_photos(folder, [row.photo], "keep", now=NOW)
    assert stored(folder)[-1].used


def test_without_a_photo_to_compare_with_the_view_is_asked(tmp_path):
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
    row = one(tmp_path / "logbook", file_of(shot("left"), taken=taken(1)))
    assert (row.state, row.asks, set(row.choices)) == ("asked", "view", {"left", "right"})
    assert one(tmp_path / "logbook", file_of(shot("left"), taken=taken(1)), view="left").state == "added"


def test_a_photo_of_something_else_is_asked_about(folder):
    row = one(folder, file_of(shot("a third tank", 3), taken=taken(3)))
    assert (row.state, row.asks) == ("asked", "view")
    assert len(stored(folder)) == 6


def test_without_a_date_it_is_asked_and_the_persons_word_counts(folder):
    data = file_of(shot("left", 4))
    row = one(folder, data, view="left")
    assert (row.state, row.asks, row.propose_when) == ("asked", "date", "")
    row = one(folder, data, view="left", told=Told(when="2026-03-06 18:05"))
    assert (row.state, row.at) == ("added", datetime(2026, 3, 6, 17, 5, tzinfo=UTC))
    assert stored(folder)[-1].dated_by == "person"


def test_the_date_in_a_file_name_is_read(folder):
    row = one(folder, file_of(shot("left", 4)), "IMG_20260306_181500.jpg", view="left")
    assert (row.state, row.at) == ("added", datetime(2026, 3, 6, 17, 15, tzinfo=UTC))


def test_a_clock_off_by_a_year_is_noticed_and_put_right_when_told(folder):
    data = file_of(shot("left", 4), taken="2025:03:06 18:00:00")
    row = one(folder, data, view="left")
    assert (row.state, row.asks, row.propose_when) == ("asked", "date", "2026-03-06 18:00")
    assert "clock wrong?" in row.said
    row = one(folder, data, view="left", clock="+1 year")
    assert (row.state, row.at) == ("added", datetime(2026, 3, 6, 17, tzinfo=UTC))
    assert "put right" in row.remarks[0]


def test_camera_and_file_name_that_disagree_are_a_doubt(folder):
    row = one(folder, file_of(shot("left", 4), taken=taken(4)), "2026-03-20_1800.jpg", view="left")
    assert row.state == "to decide"
    assert "is a clock wrong?" in row.doubts[0]


@pytest.mark.parametrize("written", ["soon", "1 year", "+1 fortnight", "+99999 d"])
def test_what_cannot_be_read_of_a_clock_is_refused(folder, written):
    with pytest.raises(FaultsError, match="clock"):
        one(folder, b"", clock=written)


# Bad photos


@pytest.mark.parametrize(
    ("spoil", "word"),
    [
        (with_hand, "in front"), (dark, "light off"), (blurred, "blurred"),
        (lambda image: np.ascontiguousarray(image[:, ::-1]), "mirrored"),
        (lambda image: shot("right", 4), "rather than"),
        (lambda image: np.ascontiguousarray(np.rot90(image)), "another shape"),
    ],
    ids=["hand", "night", "blurred", "mirrored", "other tank", "portrait"],
)  # fmt: skip
def test_a_bad_photo_is_kept_and_left_to_the_person(folder, spoil, word):
    row = one(folder, file_of(spoil(shot("left", 4)), taken=taken(4)), view="left")
    assert row.state == "to decide"
    assert any(word in doubt for doubt in row.doubts)
    (listed,) = list_photos(folder, states=("to decide",)).photos
    assert (listed.photo, listed.doubts) == (row.photo, row.doubts)


def test_a_mirrored_photo_among_many_says_what_turning_it_over_leaves(tmp_path):
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
    files = [file(f"{day}.jpg", file_of(shot("left", day), taken=taken(day))) for day in range(3)]
    turned = np.ascontiguousarray(shot("left", 4)[:, ::-1])
    rows = add_photos(
        tmp_path / "logbook", [*files, file("m.jpg", file_of(turned, taken=taken(4)))], view="left", now=NOW
    ).rows
    assert [row.state for row in rows] == ["added"] * 3 + ["to decide"]
    (doubt,) = rows[3].doubts
    assert doubt.startswith("mirrored: left and right look swapped. Turned over it lies on an earlier photo to ")
    assert doubt.endswith("as it is, not at all")


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_a_photo_turned_by_exif_is_upright(folder, orientation):
    row = one(folder, file_of(shot("left", 4), taken=taken(4), orientation=orientation), view="left")
    assert row.state == "added"


@lru_cache
def bad_files() -> dict[str, bytes]:
    whole = file_of(shot("left", 4), taken=taken(4))
    huge = bytearray(whole)
    at = huge.index(b"\xff\xc0") + 5
    huge[at : at + 4] = struct.pack(">HH", 50_000, 50_000)
    return {
        "empty.jpg": b"",
        "cut.jpg": whole[: len(whole) // 2],
        "text.jpg": b"dear diary, today the plants\n" * 20,
        "huge.jpg": bytes(huge),
        "film.jpg": b"\0\0\0\x18ftypmp42" + bytes(200),
        "zeros.jpg": bytes(5000),
    }


@pytest.mark.parametrize("name", ["empty.jpg", "cut.jpg", "text.jpg", "huge.jpg", "film.jpg", "zeros.jpg"])
def test_what_is_no_photo_is_refused_with_its_reason_and_the_rest_goes_on(folder, name):
    good = file_of(shot("left", 4), taken=taken(4))
    done = add_photos(folder, [file(name, bad_files()[name]), file("good.jpg", good)], view="left", now=NOW)
    assert [row.state for row in done.rows] == ["refused", "added"]
    assert len(done.rows[0].said) > 20
    assert len(stored(folder)) == 7


@lru_cache
def odd_files() -> dict[str, bytes]:
    image = Image.fromarray(shot("left", 4))

    def saved(picture: Image.Image, kind: str, **options: object) -> bytes:
        stream = io.BytesIO()
        picture.save(stream, kind, **options)
        return stream.getvalue()

    wide = (np.asarray(image.convert("L")).astype(np.uint16)) * 257
    return {
        "cmyk.jpg": saved(image.convert("CMYK"), "JPEG", quality=92),
        "grey.jpg": saved(image.convert("L"), "JPEG", quality=92),
        "16-bit.png": saved(Image.fromarray(wide), "PNG"),
        "16-bit.tif": saved(Image.fromarray(wide), "TIFF"),
        "animated.webp": saved(image, "WEBP", save_all=True, append_images=[image.rotate(180)], quality=90),
        "animated.png": saved(image, "PNG", save_all=True, append_images=[image.rotate(180)]),
        "phone.heic": file_of(shot("left", 4), kind="HEIC"),
        "plain.webp": file_of(shot("left", 4), kind="WEBP"),
        "plain.tif": file_of(shot("left", 4), kind="TIFF"),
    }


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


# Doubles, order, stopping, resuming


def test_the_same_content_is_one_whatever_its_name_and_view(folder):
    data = file_of(shot("left", 4), taken=taken(4))
    done = add_photos(folder, [file("a.jpg", data), file("b.jpg", data)], view="left", now=NOW)
    assert [row.state for row in done.rows] == ["added", "duplicate"]
    assert "a.jpg" in done.rows[1].said
    again = one(folder, data, "c.jpg", view="right")
    assert (again.state, again.view) == ("duplicate", "left")
    undo_entry(folder, done.rows[0].photo, now=NOW)
    assert "stays undone" in one(folder, data, view="left").said


def test_every_file_has_its_row_in_order_and_is_acknowledged_once(folder):
    files = [file(f"{day}.jpg", file_of(shot("left", day), taken=taken(day, "19:00:00"))) for day in range(12)]
    files.insert(3, file("no.jpg", b"no"))
    said, steps = [], []
    done = add_photos(
        folder, files, view="left", now=NOW, acknowledge=said.append,
        progress=lambda at, total, what: steps.append((at, total)),
    )  # fmt: skip
    assert [row.file for row in done.rows] == [one.name for one in files]
    assert said == list(done.rows)
    assert steps == [(at, 13) for at in range(1, 14)]
    assert (done.count("added"), done.count("refused"), done.stopped) == (12, 1, False)
    assert done.words() == "13 files: 12 added, 1 refused"


def test_stopped_it_keeps_what_it_acknowledged_and_goes_on_later(folder):
    files = [file(f"{day}.jpg", file_of(shot("left", day), taken=taken(day, "19:00:00"))) for day in range(14)]
    said: list[object] = []
    done = add_photos(folder, files, view="left", now=NOW, acknowledge=said.append, stop=lambda: len(said) >= TOGETHER)
    assert done.stopped
    assert TOGETHER <= len(done.rows) < 14
    assert len(stored(folder)) == 6 + len(done.rows)
    rest = add_photos(folder, files, view="left", now=NOW)
    assert (rest.count("duplicate"), rest.count("added")) == (len(done.rows), 14 - len(done.rows))
    assert len(stored(folder)) == 20


@pytest.mark.skipif(sys.platform != "linux", reason="kills a process")
@pytest.mark.parametrize("after", [1, 19])
def test_killed_in_the_middle_nothing_acknowledged_is_lost(tmp_path, after):
    """`kill -9` right behind an acknowledgement; 3,000 files with random kills are in `make proof`."""
    write_files(tmp_path / "photos", 28)
    new_book(tmp_path / "logbook")
    said, ended = child(tmp_path / "logbook", tmp_path / "photos", die_after=after)
    assert (len(said), ended) == (after, False)
    assert lost(tmp_path / "logbook", said) == []
    rest = add_photos(tmp_path / "logbook", files_in([tmp_path / "photos"]), view="left", now=NOW)
    assert rest.count("duplicate") >= after
    assert rest.count("added") + rest.count("duplicate") == 28
    assert is_whole(verify_logbook(tmp_path / "logbook"))


# Decisions


def test_a_decision_is_an_entry_and_can_be_changed(folder):
    row = one(folder, file_of(blurred(shot("left", 4)), taken=taken(4)), view="left")
    with pytest.raises(FaultsError, match="reason"):
        decide_photos(folder, [row.photo], "set aside", now=NOW)
    done = decide_photos(folder, [row.photo], "set aside", reason="shaken", who="B", now=NOW)
    assert (done.new, done.entries[0].note, done.entries[0].who) == (1, "shaken", "B")
    assert decide_photos(folder, [row.photo], "set aside", reason="shaken", who="B", now=NOW).new == 0
    (listed,) = list_photos(folder, states=("set aside",)).photos
    assert (listed.note, listed.doubts) == ("shaken", row.doubts)
    with Logbook.open(folder) as book:
        photo = measure_photos(book, book.trial(TRIAL.key), workers=1).photos[3]
    assert (photo.excluded, photo.regions) == ("set aside by a person: shaken", ())
    decide_photos(folder, [row.photo], "keep", reason="sharp enough", now=NOW)
    assert list_photos(folder, states=("set aside", "to decide")).photos == ()


def test_a_photo_of_another_tank_is_moved_there(folder):
    row = one(folder, file_of(shot("right", 4), taken=taken(4)), view="left")
    done = decide_photos(folder, [row.photo], "other view", view="right", now=NOW)
    assert (done.entries[0].tank, done.entries[0].payload.view, done.entries[0].payload.used) == (
        "right",
        "right",
        True,
    )
    assert one(folder, file_of(shot("right", 4), taken=taken(4)), view="left").state == "duplicate"


def test_importing_the_folder_again_does_not_overrule_a_decision(folder):
    from littoral.logbook.sync import changes

    row = one(folder, file_of(shot("right", 4), taken=taken(4)), view="left")
    with Logbook.open(folder) as book:
        first, _ = book.entry(row.photo)
        decide_photos(folder, [row.photo], "other view", view="right", now=NOW)
        found = changes(book.entries_since(TRIAL.key, after=0), [first], file=None)
    assert found.added() == ()


@pytest.mark.parametrize(
    ("decision", "more", "field"),
    [("perhaps", {}, "decision"), ("other view", {"view": "lfet"}, "view"), ("other view", {}, "view")],
)
def test_what_is_no_decision_is_refused(folder, decision, more, field):
    photo = list_photos(folder).photos[0].photo
    with pytest.raises(FaultsError) as refused:
        decide_photos(folder, [photo], decision, now=NOW, **more)
    assert refused.value.faults[0].where == field
    with pytest.raises(NoPhotoError):
        decide_photos(folder, ["nothing"], "keep", now=NOW)


def test_a_photo_that_waits_is_not_measured_and_says_so(folder):
    one(folder, file_of(dark(shot("left", 4)), taken=taken(4)), view="left")
    with Logbook.open(folder) as book:
        photo = measure_photos(book, book.trial(TRIAL.key), workers=1).photos[3]
    assert photo.excluded.startswith("to decide: nearly black")


def test_repeat_shots_are_numbered(folder):
    data = [file_of(shot("left", 5, seed=n), taken=taken(5, f"18:0{n}:00")) for n in range(3)]
    data.append(file_of(shot("left", 5, seed=9), taken=taken(5, "18:30:00")))
    add_photos(folder, [file(f"{n}.jpg", one) for n, one in enumerate(data)], view="left", now=NOW)
    bursts = [photo.burst for photo in list_photos(folder, view="left").photos]
    assert bursts == [None, None, None, 1, 1, 1, None]


# Files and folders


def test_a_folder_gives_its_files_by_name_with_their_folders(tmp_path):
    (tmp_path / "shots" / "left").mkdir(parents=True)
    for name in ("left/b.jpg", "a.JPG", ".hidden.jpg", "notes.txt"):
        (tmp_path / "shots" / name).write_bytes(name.encode())
    found = files_in([tmp_path / "shots", tmp_path / "gone.jpg"])
    assert [one.name for one in found] == ["shots/a.JPG", "shots/left/b.jpg", "shots/notes.txt", "gone.jpg"]
    assert found[1].read() == b"left/b.jpg"


def test_a_file_that_is_not_there_has_its_row(folder, tmp_path):
    (row,) = add_photos(folder, files_in([tmp_path / "gone.jpg"]), view="left", now=NOW).rows
    assert (row.state, "cannot be read" in row.said) == ("refused", True)
