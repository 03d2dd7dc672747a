"""Photos themselves in a package: nothing of place, time, device and person left in the file, and measured anew."""

from __future__ import annotations

import importlib.util
import io
import zipfile
from pathlib import Path
from types import ModuleType

import pytest
from PIL import Image
from tests import packages_made as made

from littoral.acts.import_package import import_package
from littoral.acts.package_trial import about_of, package_trial
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.logbook.book import Logbook
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Photo

KEY = "two-ways-of-feeding"


@pytest.fixture(scope="module")
def pictures() -> ModuleType:
    file = Path(__file__).parents[1] / "publish" / "test_package_pictures.py"
    spec = importlib.util.spec_from_file_location("pictures", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("anonymous", [False, True])
def test_originals_go_along_without_what_their_files_say(pictures: ModuleType, tmp_path: Path, anonymous: bool) -> None:
    own, trial = made.filled(tmp_path / "own"), made.trial_of(made.text_of())
    jpeg = pictures._jpeg(6)
    out = io.BytesIO()
    Image.new("RGB", (64, 48), "green").save(out, "TIFF")
    with Logbook.open(own) as book:
        for number, (data, suffix) in enumerate(((jpeg, ".jpg"), (out.getvalue(), ".tif"))):
            sha256 = book.keep_bytes(data, suffix)
            photo = Photo(sha256, "left", "exif", f"IMG_20260320_{number}{suffix}")
            entry = Entry(f"new{number}", instant_of(18.0 + number, trial), "UTC", "left", photo, trial=KEY)
            book.add([entry], kept={sha256: (suffix, len(data))})
    done = package_trial(
        own, None, tmp_path / "p.zip", about=about_of("CC0-1.0"), photos="originals", anonymous=anonymous, now=made.NOW
    )
    assert done.pictures == 1
    assert len(done.left_out) == made.PHOTOS + 1  # those that were never here, and the TIFF
    assert any("only JPEG and PNG" in line for line in done.left_out)
    with zipfile.ZipFile(tmp_path / "p.zip") as archive:
        (name,) = (one for one in archive.namelist() if one.startswith("photos/"))
        everything = archive.read(name)
    for word in (b"2026:03:02", b"GPS", b"Mudville", b"by Annegret"):  # what `_jpeg` plants
        assert word not in everything
    taken = import_package(tmp_path / "second", tmp_path / "p.zip")
    assert (taken.pictures, taken.photos_left_out) == (1, made.PHOTOS + 1)
    assert is_whole(verify_logbook(tmp_path / "second"))
    with Logbook.open(tmp_path / "second") as book:
        assert book.original(Path(name).stem).read_bytes() == pictures.stripped(jpeg)


def test_a_package_whose_photo_is_no_photo_by_name_is_refused(tmp_path: Path) -> None:
    import hashlib
    import json

    from littoral.publish.package.source import DamagedPackageError

    own = made.filled(tmp_path / "own")
    package_trial(own, None, tmp_path / "p", about=about_of("CC0-1.0"), now=made.NOW)
    (tmp_path / "p" / "photos").mkdir()
    (tmp_path / "p" / "photos" / "evil.html").write_bytes(b"<script>")
    said = json.loads((tmp_path / "p" / "datapackage.json").read_text())
    said["resources"].append(
        {"path": "photos/evil.html", "bytes": 8, "hash": f"sha256:{hashlib.sha256(b'<script>').hexdigest()}"}
    )
    (tmp_path / "p" / "datapackage.json").write_text(json.dumps(said))
    with pytest.raises(DamagedPackageError, match="no photo by its name"):
        import_package(tmp_path / "second", tmp_path / "p")
    assert not (tmp_path / "second").exists()
