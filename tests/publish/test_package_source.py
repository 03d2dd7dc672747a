"""Packages that are damaged, foreign or made to do harm: refused with a reason, and nothing is written."""

from __future__ import annotations

import hashlib
import io
import json
import stat
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from tests import packages_made as made

from littoral.acts.import_package import import_package
from littoral.acts.package_trial import about_of, package_trial
from littoral.errors import FaultsError, LittoralError
from littoral.logbook.refused import DATABASE
from littoral.publish.package import source as source_module
from littoral.publish.package.source import DamagedPackageError, NoPackageError

Files = dict[str, bytes]


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Files:
    """The files of a package."""
    own = made.filled(tmp_path_factory.mktemp("own") / "logbook")
    target = tmp_path_factory.mktemp("package") / "p.zip"
    package_trial(own, None, target, about=about_of("CC0-1.0"), now=made.NOW)
    with zipfile.ZipFile(target) as archive:
        return {info.filename: archive.read(info) for info in archive.infolist()}


def zipped(files: Files) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def relisted(files: Files, **changed: bytes) -> Files:
    """Return the files with some changed and their hashes right again: an attack, not a damage."""
    names = {name.replace("/", "_").replace(".", "_").replace("-", "_"): name for name in files}
    made_ = files | {names[key]: data for key, data in changed.items()}
    said = json.loads(made_["datapackage.json"])
    for resource in said["resources"]:
        data = made_[resource["path"]]
        resource["bytes"], resource["hash"] = len(data), f"sha256:{hashlib.sha256(data).hexdigest()}"
    return made_ | {"datapackage.json": json.dumps(said).encode()}


def refused(data: bytes, tmp_path: Path) -> LittoralError:
    (tmp_path / "p.zip").write_bytes(data)
    with pytest.raises(LittoralError) as caught:
        import_package(tmp_path / "logbook", tmp_path / "p.zip")
    assert not (tmp_path / "logbook" / DATABASE).exists() or not any((tmp_path / "logbook").rglob("originals/*/*"))
    return caught.value


def test_the_whole_one_is_taken(whole: Files, tmp_path: Path) -> None:
    (tmp_path / "p.zip").write_bytes(zipped(whole))
    assert import_package(tmp_path / "logbook", tmp_path / "p.zip").new_photos == made.PHOTOS


def test_a_changed_byte_in_any_file_is_found(whole: Files, tmp_path: Path) -> None:
    read = [name for name in whole if name.startswith("data/") or name in ("trial.toml", "texts.json", "findings.json")]
    for name in read:
        if name in ("data/arms.csv", "data/tanks.csv", "data/levels.csv"):  # said anew by trial.toml; not read
            continue
        if name.removeprefix("data/").removesuffix(".csv") in (
            "fed", "questions", "stands", "views", "bottles", "bottle_contents", "gauges",
        ):  # fmt: skip
            continue
        data = whole[name]
        changed = data[:-3] + bytes([data[-3] ^ 1]) + data[-2:]
        error = refused(zipped(whole | {name: changed}), tmp_path)
        assert isinstance(error, DamagedPackageError), name
        assert name in str(error)


@pytest.mark.parametrize(
    ("what", "change"),
    [
        ("is no zip file", lambda files: b"not a zip"),
        ("is no zip file", lambda files: zipped(files)[:2000]),
        ("has no datapackage.json", lambda files: zipped({"a.txt": b"x"})),
        ("something else", lambda files: zipped({"datapackage.json": b'{"resources": []}'})),
        (
            "its format is",
            lambda files: zipped({"datapackage.json": b'{"littoral": {"format": "littoral package 9"}}'}),
        ),
        ("cannot be read", lambda files: zipped({"datapackage.json": b"[" * 100_000})),
        ("trial.toml", lambda files: zipped({name: data for name, data in files.items() if name != "trial.toml"})),
        ("a path outside itself", lambda files: zipped(files | {"../evil.txt": b"x"})),
        ("a path outside itself", lambda files: zipped(files | {"/etc/evil": b"x"})),
        ("a path outside itself", lambda files: zipped(files | {"C:evil": b"x"})),
        ("cannot be a file of it", lambda files: zipped(_listing(files, path="../../etc/passwd"))),
        ("cannot be a file of it", lambda files: zipped(_listing(files, path="data//etc"))),
        ("more than are read", lambda files: zipped(_listing(files, path="data/big.csv", size=10**12))),
        ("without path, bytes or hash", lambda files: zipped(_listing(files, path="data/x.csv", size="many"))),
    ],
)
def test_what_is_no_package_or_a_trap_is_refused(
    whole: Files, tmp_path: Path, what: str, change: Callable[[Files], bytes]
) -> None:
    error = refused(change(dict(whole)), tmp_path)
    assert isinstance(error, NoPackageError | DamagedPackageError)
    assert what in str(error)


def _listing(files: Files, *, path: str, size: object = 3) -> Files:
    said = json.loads(files["datapackage.json"])
    said["resources"].append({"name": "x", "path": path, "bytes": size, "hash": "sha256:" + "0" * 64})
    return files | {"datapackage.json": json.dumps(said).encode()}


def test_a_link_in_it_is_refused(whole: Files, tmp_path: Path) -> None:
    out = io.BytesIO(zipped(whole))
    with zipfile.ZipFile(out, "a") as archive:
        info = zipfile.ZipInfo("photos/link.jpg")
        info.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(info, "/etc/passwd")
    assert "is a link" in str(refused(out.getvalue(), tmp_path))


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_files_of_one_name_are_refused(whole: Files, tmp_path: Path) -> None:
    out = io.BytesIO(zipped(whole))
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr("trial.toml", "another")
    assert "two files of one name" in str(refused(out.getvalue(), tmp_path))


def test_a_bomb_is_read_no_further_than_it_says(whole: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    most: list[int] = []
    read = source_module.PackageSource._bytes

    def counted(self: source_module.PackageSource, path: str, limit: int) -> bytes:
        data = read(self, path, limit)
        most.append(len(data) - limit)
        return data

    monkeypatch.setattr(source_module.PackageSource, "_bytes", counted)
    error = refused(zipped(whole | {"texts.json": b" " * 50_000_000}), tmp_path)
    assert "texts.json has not the hash" in str(error)
    assert max(most) <= 1


def test_too_many_files_are_refused(whole: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(source_module, "MAX_FILES", 10)
    assert "more than 10" in str(refused(zipped(whole), tmp_path))


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"data_care_csv": (b"120.0", b"nan")}, "care.csv, line"),
        ({"data_care_csv": (b"120.0", b"-1.0")}, "less than 0"),
        ({"data_care_csv": (b"entry,day", b"day,entry")}, "has not the columns"),
        ({"data_entries_csv": (b",care,", b",note,")}, "not in the table of its kind"),
        ({"data_entries_csv": (b"Europe/Berlin", b"Europe/Nowhere")}, "cannot be read"),
        ({"data_entries_csv": (b",qc0z,", b",zzz,")}, "corrects one that is not there"),
        ({"data_photo_measures_csv": (b"qp00z", b"q00z")}, "is no photo"),
        ({"data_photos_csv": (b"0" * 63, b"../" * 21)}, "no SHA-256"),
        ({"data_scores_csv": (b",plants,2", b",plants,5")}, "no step 5"),
        ({"data_scores_csv": (b",plants,", b",moods,")}, "scale 'moods'"),
        ({"data_readings_csv": (b",nitrate,40.0,INF", b",gold,40.0,INF")}, "no nutrient 'gold'"),
        ({"data_readings_csv": (b",40.0,INF", b",40.0,4.0")}, "ends before it begins"),
        ({"data_water_changes_csv": (b",0.4", b",1.4")}, "more than all the water"),
        ({"data_doses_csv": (b",2.2,,", b",2.2,1.0,")}, "not in mL"),
        ({"data_gauge_readings_csv": (b",temperature,", b",mood,")}, "no gauge 'mood'"),
        ({"texts_json": (b"written_at", b"written_on")}, "cannot be read"),
        ({"texts_json": (b"8 weeks", b"9 weeks")}, "is not the last text"),
    ],
)
def test_tables_that_cannot_be_are_refused_although_their_hashes_are_right(
    whole: Files, tmp_path: Path, changes: dict[str, tuple[bytes, bytes]], what: str
) -> None:
    names = {name.replace("/", "_").replace(".", "_"): name for name in whole}
    changed = {}
    for key, (old, new) in changes.items():
        assert old in whole[names[key]], key
        changed[key] = whole[names[key]].replace(old, new)
    error = refused(zipped(relisted(whole, **changed)), tmp_path)
    assert isinstance(error, DamagedPackageError)
    assert what in str(error)


def test_entries_that_do_not_fit_the_trial_are_told(whole: Files, tmp_path: Path) -> None:
    changed = whole["data/doses.csv"].replace(b"macro", b"nobodys")
    error = refused(zipped(relisted(whole, data_doses_csv=changed)), tmp_path)
    assert isinstance(error, FaultsError)
    assert 'the bottle "nobodys"' in str(error)
