"""Import is all or nothing, idempotent, and names what is wrong with each photo."""

from __future__ import annotations

import io
import re
import shutil
import sqlite3
import struct
import zlib
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image

from littoral.acts.check_trial import check_trial
from littoral.acts.import_trial import import_trial
from littoral.acts.start_trial import start_trial
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.entries import Care, Dose, Entry, Photo, WaterChange


@pytest.fixture
def files(small_demo, tmp_path: Path) -> Path:
    """A copy of the small demo's own files, to be spoilt; two photos of each view are enough here."""
    for name in ("trial.toml", "entries.csv"):
        shutil.copy(small_demo.files / name, tmp_path)
    for folder in sorted((small_demo.files / "photos").iterdir()):
        (tmp_path / "photos" / folder.name).mkdir(parents=True)
        for photo in sorted(folder.iterdir())[:2]:
            shutil.copy(photo, tmp_path / "photos" / folder.name)
    return tmp_path


def stored(folder: Path) -> tuple[Entry, ...]:
    with Logbook.open(folder) as book:
        return book.entries(book.trials()[0])


def test_what_is_on_disk_is_in_the_logbook(files: Path) -> None:
    done = import_trial(files / "logbook", files / "trial.toml")
    entries = stored(files / "logbook")
    photos = [entry.payload for entry in entries if isinstance(entry.payload, Photo)]
    on_disk = [path for path in (files / "photos").rglob("*") if path.is_file()]
    assert (done.new_entries, done.new_photos) == (len(entries) - len(photos), len(photos))
    assert len(photos) == len(on_disk) == 4
    assert done.new_entries > 20
    with Logbook.open(files / "logbook") as book:
        kept = {book.original(photo.sha256).read_bytes() for photo in photos}
    assert kept == {path.read_bytes() for path in on_disk}


def test_importing_twice_changes_nothing(files: Path) -> None:
    import_trial(files / "logbook", files / "trial.toml")
    before = stored(files / "logbook")
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (again.new_entries, again.new_photos) == (0, 0)
    assert stored(files / "logbook") == before


def test_a_text_that_changed_is_said_and_the_first_stays_known(files: Path) -> None:
    first = import_trial(files / "logbook", files / "trial.toml")
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (first.text_words(), again.text_words(), again.version) == ("", "", 1)
    text = (files / "trial.toml").read_text()
    (files / "trial.toml").write_text(f"{text}\n# one thing more\n")
    changed = import_trial(files / "logbook", files / "trial.toml")
    assert changed.text_words() == "the trial's text changed: version 2 is in force"
    with Logbook.open(files / "logbook") as book:
        times = book.written(first.trial)
        assert (len(times), book.first_written(first.trial)) == (2, min(times))


def test_a_photo_that_comes_later_is_added(files: Path) -> None:
    late = next((files / "photos").rglob("*.jpg"))
    data = late.read_bytes()
    late.unlink()
    import_trial(files / "logbook", files / "trial.toml")
    late.write_bytes(data)
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (again.new_entries, again.new_photos) == (0, 1)


def edit(file: Path, *pairs: tuple[str, str]) -> None:
    text = file.read_text()
    for old, new in pairs:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    file.write_text(text)


def test_a_row_that_was_edited_or_deleted_is_followed_and_the_old_one_stays(files: Path) -> None:
    entries = files / "entries.csv"
    with entries.open("a") as file:
        file.write("2026-03-05,12:00,left,care,,120 min,,\n2026-03-06,12:00,left,note,,,wrong tank,\n")
    first = import_trial(files / "logbook", files / "trial.toml")
    before = stored(files / "logbook")
    edit(entries, ("120 min", "12 min"), ("2026-03-06,12:00,left,note,,,wrong tank,\n", ""))
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (again.new_entries, again.corrected, again.withdrawn) == (1, 0, 2)
    after = stored(files / "logbook")
    assert len(after) == len(before) - 1
    assert [entry.payload for entry in after if isinstance(entry.payload, Care) and entry.payload.minutes in (12, 120)]
    assert Care(120) not in [entry.payload for entry in after]
    with sqlite3.connect(files / "logbook" / "logbook.sqlite3") as plain:
        (rows,) = plain.execute("SELECT count(*) FROM entry").fetchone()
    plain.close()
    assert rows == first.new_entries + first.new_photos + 1 + 2
    import_trial(files / "logbook", files / "trial.toml")
    assert stored(files / "logbook") == after


def test_a_stroke_and_a_net_volume_that_are_put_right_correct_the_past(files: Path) -> None:
    with (files / "entries.csv").open("a") as file:
        file.write("2026-03-05,12:00,left,water change,,4 L,,\n")
    import_trial(files / "logbook", files / "trial.toml")
    before = stored(files / "logbook")
    strokes = [entry for entry in before if isinstance(entry.payload, Dose) and entry.payload.of == "macro"]
    change = next(entry.payload.share for entry in before if is_change(entry, at_day=5))
    edit(
        files / "trial.toml",
        ('stroke = "1.1 mL"', 'stroke = "2.2 mL"'),
        ('fill = "27 cm"', 'net_volume = "40 L"\nfill = "27 cm"'),
    )
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (again.new_entries, again.new_photos, again.withdrawn) == (0, 0, 0)
    assert again.corrected == len(strokes) + 1
    after = stored(files / "logbook")
    assert len(after) == len(before)
    doubled = [entry.payload.ml for entry in after if isinstance(entry.payload, Dose) and entry.payload.of == "macro"]
    once = [entry.payload.ml for entry in strokes if isinstance(entry.payload, Dose)]
    assert sorted(doubled) == pytest.approx(sorted(2 * ml for ml in once))
    assert next(entry.payload.share for entry in after if is_change(entry, at_day=5)) == pytest.approx(4 / 40)
    assert change != pytest.approx(4 / 40)
    assert import_trial(files / "logbook", files / "trial.toml").corrected == 0


def is_change(entry: Entry, *, at_day: int) -> bool:
    return isinstance(entry.payload, WaterChange) and entry.tank == "left" and entry.at.day == at_day


def test_a_short_name_that_entries_use_cannot_go_and_nothing_is_changed(files: Path) -> None:
    import_trial(files / "logbook", files / "trial.toml")
    before = stored(files / "logbook")
    edit(files / "trial.toml", ("[views.left]", "[views.west]"), ("[views.left.tanks", "[views.west.tanks"))
    with pytest.raises(FaultsError, match=r'2 photos .* name the view "left", which the trial file does not have'):
        import_trial(files / "logbook", files / "trial.toml")
    assert stored(files / "logbook") == before


def test_a_bottle_is_renamed_with_its_rows(files: Path) -> None:
    import_trial(files / "logbook", files / "trial.toml")
    for name in ("trial.toml", "entries.csv"):
        text = (files / name).read_text()
        (files / name).write_text(re.sub(r"\bmacro\b(?! stock)", "main", text))
    done = import_trial(files / "logbook", files / "trial.toml")
    assert done.withdrawn == done.new_entries > 10
    assert {entry.payload.of for entry in stored(files / "logbook") if isinstance(entry.payload, Dose)} == {
        "main",
        "micro",
    }


def test_two_trials_at_once_with_the_same_tanks_and_views_share_nothing(files: Path, tmp_path: Path) -> None:
    """Every started trial has a left and a right tank, as the demo has; here they even have a photo in common."""
    import_trial(files / "logbook", files / "trial.toml")
    demo = stored(files / "logbook")
    other = start_trial(tmp_path / "other", title="Two lamps", start="2026-03-03", seed=1, zone="Europe/Berlin")
    left = other.trial.views["left"]
    last = sorted((files / "photos" / "left").iterdir())[-1]
    shutil.copy(last, tmp_path / "other" / left.photos / "2026-03-20_1200.jpg")
    with other.entries_file.open("a") as file:
        file.write("2026-03-09,12:00,left,care,,7 min,,\n")
    done = import_trial(files / "logbook", other.trial_file, now=datetime(2026, 12, 1, tzinfo=UTC))
    assert (done.new_entries, done.new_photos) == (1, 1)
    with Logbook.open(files / "logbook") as book:
        assert book.entries(demo[0].trial) == demo
        assert sorted(type(entry.payload).__name__ for entry in book.entries(other.trial.key)) == ["Care", "Photo"]
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (again.new_entries, again.new_photos, again.corrected, again.withdrawn) == (0, 0, 0, 0)


@pytest.mark.parametrize("when", ["2026:03:01 12:00:00", "2026:03:30 12:00:00"])
def test_a_photo_outside_the_trials_days_is_named(files: Path, when: str) -> None:
    (files / "photos" / "left" / "stray.jpg").write_bytes(jpeg_dated(when))
    checked = check_trial(files / "trial.toml")
    assert len(checked.faults) == 1
    assert "the trial's days are 2026-03-02 to 2026-03-29 (day 0 to 27)" in str(checked.faults[0])
    done = import_trial(files / "logbook", files / "trial.toml", leave_out_bad_photos=True)
    assert (done.new_photos, len(done.left_out)) == (4, 1)


def test_a_folder_of_photos_that_may_not_be_read_is_named(files: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    really = Path.iterdir

    def guarded(self: Path) -> Iterator[Path]:
        if self.name == "left":
            raise PermissionError(13, "Permission denied")
        return really(self)

    monkeypatch.setattr(Path, "iterdir", guarded)
    faults = check_trial(files / "trial.toml").faults
    assert [str(fault) for fault in faults] == [
        "left: 'photos/left' cannot be read (Permission denied). Let this user read the folder."
    ]


def png_of_100_gigapixels() -> bytes:
    side = 316_228
    chunks = ((b"IHDR", struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)), (b"IDAT", zlib.compress(bytes(64))))
    written = [
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in chunks
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(written)


def jpeg_dated(when: str) -> bytes:
    picture, exif = Image.new("RGB", (64, 48), "teal"), Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = when
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", exif=exif)
    return buffer.getvalue()


BAD_PHOTOS: dict[str, tuple[Callable[[], bytes], str]] = {
    "not-an-image.jpg": (lambda: b"dear diary", "not a JPEG"),
    "zero-bytes.jpg": (lambda: b"", "empty"),
    "truncated.jpg": (lambda: jpeg_dated("2026:03:05 12:00:00")[:-200], "cut short: its end is missing"),
    "100-gigapixels.png": (png_of_100_gigapixels, "316228 x 316228 pixels"),
    "1970.jpg": (lambda: jpeg_dated("1970:01:01 00:00:00"), "1970"),
    "future.jpg": (lambda: jpeg_dated("2046:03:05 12:00:00"), "2046"),
}


@pytest.mark.parametrize("name", BAD_PHOTOS)
def test_a_bad_photo_gets_one_message_and_changes_nothing(name: str, files: Path) -> None:
    make, said = BAD_PHOTOS[name]
    bad = next(iter((files / "photos").iterdir())) / name
    bad.write_bytes(make())
    with pytest.raises(FaultsError) as caught:
        import_trial(files / "logbook", files / "trial.toml")
    assert len(caught.value.faults) == 1
    assert name in str(caught.value)
    assert said in str(caught.value)
    assert not (files / "logbook").exists()


def test_a_bad_photo_can_be_left_out_and_is_named(files: Path) -> None:
    bad = next(iter((files / "photos").iterdir())) / "bad.jpg"
    bad.write_bytes(b"dear diary")
    done = import_trial(files / "logbook", files / "trial.toml", leave_out_bad_photos=True)
    assert done.new_photos == 4
    assert [fault.where.rsplit("/", 1)[-1] for fault in done.left_out] == ["bad.jpg"]


def test_a_photo_for_no_view_is_named(files: Path) -> None:
    stray = files / "photos" / "kitchen"
    stray.mkdir()
    (stray / "2026-03-05.jpg").write_bytes(jpeg_dated("2026:03:05 12:00:00"))
    faults = check_trial(files / "trial.toml").faults
    assert [fault.what for fault in faults] == ["this photo belongs to no view."]
    assert faults[0].where.endswith("2026-03-05.jpg")


def test_a_photo_beside_the_folders_of_the_views_is_named(files: Path) -> None:
    (files / "photos" / "2026-03-05.jpg").write_bytes(jpeg_dated("2026:03:05 12:00:00"))
    faults = check_trial(files / "trial.toml").faults
    assert [(fault.what, Path(fault.where).name) for fault in faults] == [
        ("this photo belongs to no view.", "2026-03-05.jpg")
    ]


@pytest.mark.parametrize("name", ["IMG_0001.AVIF", "a.avif", "a.dng", "a.raw", "a.bmp", "a.gif"])
@pytest.mark.parametrize("place", ["left", "."])
def test_a_picture_in_a_format_that_is_not_read_is_named(name: str, place: str, files: Path) -> None:
    file = next((files / "photos").glob("left*")) if place == "left" else files / "photos"
    (file / name).write_bytes(b"whatever it holds")
    (fault,) = check_trial(files / "trial.toml").faults
    kind = name.rpartition(".")[2].upper()
    assert fault.what == f"{kind} is not read yet."
    assert "JPEG" in fault.right
    assert Path(fault.where).name == name


def test_files_that_are_no_pictures_may_lie_among_the_photos(files: Path) -> None:
    (files / "photos" / "notes.txt").write_text("lamp cleaned")
    assert not check_trial(files / "trial.toml").faults


def test_a_mistake_in_the_entries_changes_nothing(files: Path) -> None:
    with (files / "entries.csv").open("a") as file:
        file.write("2026-03-05,12:00,left,dose,macro,2 bananas,,\n")
    with pytest.raises(FaultsError, match="bananas"):
        import_trial(files / "logbook", files / "trial.toml")
    assert not (files / "logbook").exists()


def test_a_trial_file_in_another_encoding_is_refused_with_its_line(files: Path) -> None:
    text = (files / "trial.toml").read_text()
    (files / "trial.toml").write_bytes(text.encode().replace(b"format", b"# caf\xe9\nformat", 1))
    fault = check_trial(files / "trial.toml").faults[0]
    assert "UTF-8" in str(fault)
    assert fault.line == text[: text.index("format")].count("\n") + 1
