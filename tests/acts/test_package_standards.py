"""A package of the demo against the standards' own readers, and against a second logbook made from it."""

from __future__ import annotations

import csv
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from tests import packages_made as made

from littoral.acts.import_package import import_package
from littoral.acts.package_trial import about_of, package_trial
from littoral.publish.findings_json import findings_text
from littoral.publish.package.crate import CRATE_FILE
from littoral.publish.package.miappe import NEEDED, SECTIONS

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::PendingDeprecationWarning")
ABOUT = about_of("CC-BY-4.0", author="School biology club", institution="A school", country="DE", site="bench")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A package as a folder: every kind of entry, corrections, measures."""
    own = made.filled(tmp_path_factory.mktemp("own") / "logbook", who="=J")
    target = tmp_path_factory.mktemp("package") / "package"
    package_trial(own, None, target, about=ABOUT, now=made.NOW)
    return target


def test_frictionless_finds_it_valid(folder: Path) -> None:
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert [error.message for task in report.tasks for error in task.errors] == []
    assert report.valid
    package = frictionless.Package(str(folder / "datapackage.json"))
    rows = package.get_resource("readings").read_rows()
    assert rows[0]["low_mg_per_l"] == 40
    assert str(rows[0]["high_mg_per_l"]) == "Infinity"


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("data/care.csv", "120.0", "many"),
        ("data/doses.csv", "macro", "a bottle that is not there"),
        ("data/entries.csv", "dose", "potion"),
    ],
)
def test_frictionless_finds_what_is_wrong(folder: Path, tmp_path: Path, file: str, old: str, new: str) -> None:
    frictionless = pytest.importorskip("frictionless")
    import hashlib
    import shutil

    shutil.copytree(folder, tmp_path / "bad")
    data = (tmp_path / "bad" / file).read_bytes()
    changed = data.replace(old.encode(), new.encode())
    assert changed != data
    (tmp_path / "bad" / file).write_bytes(changed)
    said = json.loads((tmp_path / "bad" / "datapackage.json").read_text())
    for resource in said["resources"]:
        if resource["path"] == file:  # so that it is the table that is wrong and not its hash
            resource["bytes"], resource["hash"] = len(changed), f"sha256:{hashlib.sha256(changed).hexdigest()}"
    (tmp_path / "bad" / "datapackage.json").write_text(json.dumps(said))
    assert not frictionless.validate(str(tmp_path / "bad" / "datapackage.json")).valid


def test_every_column_has_a_meaning_and_every_quantity_a_unit(folder: Path) -> None:
    said = json.loads((folder / "datapackage.json").read_text())
    tables = [resource for resource in said["resources"] if resource["path"].startswith("data/")]
    assert len(tables) > 15
    fields = [(table["name"], field) for table in tables for field in table["schema"]["fields"]]
    assert all(field["description"] for _, field in fields)
    without = {
        f"{table}.{field['name']}" for table, field in fields if field["type"] == "number" and "unit" not in field
    }
    assert without == {  # shown in the unit of the question or gauge, or without one: CIELAB
        "questions.smallest", "gauge_readings.low", "gauge_readings.high",
        "measures.lightness", "measures.a", "measures.b", "measures.colour_error",
    }  # fmt: skip


def test_the_reference_library_reads_the_crate(folder: Path) -> None:
    pytest.importorskip("rocrate")
    from rocrate.rocrate import ROCrate

    crate = ROCrate(str(folder))
    assert crate.root_dataset["license"].id == "https://creativecommons.org/licenses/by/4.0/"
    assert crate.root_dataset["author"]["name"] == "School biology club"
    files = {entity.id for entity in crate.data_entities}
    there = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert files == there - {CRATE_FILE}
    assert all(entity["encodingFormat"] for entity in crate.data_entities)


def test_miappe_has_every_needed_field_filled(folder: Path) -> None:
    found: dict[str, list[dict[str, str]]] = {}
    for section, fields in SECTIONS.items():
        with (folder / "miappe" / f"{section}.csv").open(newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        assert rows
        assert list(rows[0]) == [name for name, _ in fields]
        assert all(row[name] for row in rows for name in NEEDED & set(row))
        found[section] = rows
    assert found["study"][0]["Geographic location (country)"] == "DE"
    assert found["experimental-factor"][0]["Experimental Factor values"] == "sparing; full"
    assert {row["Observation unit ID"] for row in found["observation-unit"]} == {"left", "right"}


def test_the_demo_comes_back_with_identical_findings_and_its_pictures(small_demo: Any, tmp_path: Path) -> None:
    from littoral.acts.view_trial import view_trial

    package_trial(small_demo.logbook, None, tmp_path / "demo.zip", about=ABOUT, photos="measured", now=made.NOW)
    done = import_package(tmp_path / "second", tmp_path / "demo.zip")
    assert done.pictures == done.photos_left_out > 40
    seen = view_trial(tmp_path / "second", "sparing-or-full")
    with zipfile.ZipFile(tmp_path / "demo.zip") as archive:  # what the first logbook found
        assert archive.read("findings.json").decode() == findings_text(seen.trial, seen.findings)
    shown = [one.photo for tank in seen.tanks for one in tank.shown if one.photo is not None]
    assert shown
    assert all(photo.original == photo.prepared and photo.original.is_file() for photo in shown)
    assert seen.left_out == 0
