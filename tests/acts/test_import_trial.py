"""Import is all or nothing, idempotent, and names what is wrong with each photo."""

from __future__ import annotations

import io
import shutil
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from littoral.acts.check_trial import check_trial
from littoral.acts.import_trial import import_trial
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.entries import Entry, Photo


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


def test_a_photo_that_comes_later_is_added(files: Path) -> None:
    late = next((files / "photos").rglob("*.jpg"))
    data = late.read_bytes()
    late.unlink()
    import_trial(files / "logbook", files / "trial.toml")
    late.write_bytes(data)
    again = import_trial(files / "logbook", files / "trial.toml")
    assert (again.new_entries, again.new_photos) == (0, 1)


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
