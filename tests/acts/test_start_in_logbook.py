"""Starting a trial right in a logbook, and finding what was published of one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from littoral.acts import start_trial
from littoral.acts.list_trials import list_trials
from littoral.acts.machine_zone import zone_named
from littoral.acts.published_files import published_files
from littoral.acts.start_trial import OUR_FOLDERS, start_in_logbook
from littoral.acts.view_trial import view_trial
from littoral.errors import FaultsError, LittoralError
from littoral.logbook.book import Logbook

FIELDS = {"title": "Brighter, or dimmer?", "glass": "60 x 30 x 30 cm", "start": "2026-03-02", "length": "6 weeks",
          "baseline": "1 week", "zone": "Europe/Lisbon", "first": "dim light", "second": "Bright!"}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    Logbook.create(tmp_path / "logbook").close()
    return tmp_path / "logbook"


def test_a_trial_is_started_with_its_files_and_its_page(folder):
    key = start_in_logbook(folder, **FIELDS)
    files = folder.parent / key
    assert {path.name for path in files.iterdir()} == {"trial.toml", "entries.csv", "photos"}
    (listed,) = list_trials(folder)
    assert (listed.title, listed.files, listed.photos) == ("Brighter, or dimmer?", files, 0)
    page = view_trial(folder, key)
    assert page.trial.length_days == 42
    assert page.trial.baseline_days == 7
    assert page.trial.zone == "Europe/Lisbon"
    assert [(arm.key, arm.name, arm.regime) for arm in page.trial.arms] == [
        ("dim-light", "dim light", "dim-light"), ("bright", "Bright!", "bright"),
    ]  # fmt: skip
    assert page.trial.baseline_regime == "dim-light"
    assert all(shown.photo is None for tank in page.tanks for shown in tank.shown)
    assert [finding.rule for finding in page.findings] == ["not answered"] * len(page.findings)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("title", ""),
        ("glass", ""),
        ("glass", "60 by 30"),
        ("start", "soon"),
        ("length", "8 moons"),
        ("baseline", ""),
        ("zone", "Lisbon"),
        ("first", ""),
        ("second", ""),
        ("second", "Dim light"),
    ],
)
def test_a_field_that_is_wrong_is_named_and_nothing_is_written(folder, field, value):
    with pytest.raises(FaultsError) as refused:
        start_in_logbook(folder, **{**FIELDS, field: value})
    assert refused.value.faults
    assert [path.name for path in folder.parent.iterdir()] == ["logbook"]
    assert list_trials(folder) == ()


@pytest.mark.parametrize("title", ["../../etc", "/etc/passwd", "..", "a\x00b", "C:\\x", '"]\nkey = "../x"'])
def test_no_title_leads_out_of_the_folder(folder, title):
    try:
        key = start_in_logbook(folder, **{**FIELDS, "title": title})
    except FaultsError:
        assert [path.name for path in folder.parent.iterdir()] == ["logbook"]
    else:
        assert {path.name for path in folder.parent.iterdir()} == {"logbook", key}
        assert list_trials(folder)[0].title == title


def test_a_title_that_is_taken_is_refused(folder):
    start_in_logbook(folder, **FIELDS)
    with pytest.raises(FaultsError, match="is taken already"):
        start_in_logbook(folder, **FIELDS)


def test_two_that_start_the_same_trial_at_once_leave_one_whole(folder, monkeypatch):
    write, other = start_trial._write, []

    def interrupted(*args: object) -> object:
        monkeypatch.setattr(start_trial, "_write", write)
        try:  # somebody else is faster between our look and our files
            other.append(start_in_logbook(folder, **FIELDS))
        except FaultsError as error:
            other.append(error)
        return write(*args)

    monkeypatch.setattr(start_trial, "_write", interrupted)
    try:
        other.append(start_in_logbook(folder, **FIELDS))
    except LittoralError as error:
        other.append(error)
    assert sorted(isinstance(one, FaultsError) for one in other) == [False, True]
    with Logbook.open(folder) as book:
        (key,) = book.trials()
    assert (folder.parent / key / "trial.toml").is_file()


@pytest.mark.parametrize("title", sorted(OUR_FOLDERS))
def test_a_title_that_would_lie_in_a_folder_of_ours_is_refused(folder, title):
    with pytest.raises(FaultsError, match="folder of Littoral's own"):
        start_in_logbook(folder, **{**FIELDS, "title": title.title()})
    assert [path.name for path in folder.parent.iterdir()] == ["logbook"]


def test_where_the_logbook_cannot_take_it_no_folder_is_left(folder, monkeypatch):
    def full(*_: object, **__: object) -> None:
        raise OSError("no space left")

    monkeypatch.setattr(Logbook, "take_in", full)
    with pytest.raises(OSError, match="no space left"):
        start_in_logbook(folder, **FIELDS)
    assert [path.name for path in folder.parent.iterdir()] == ["logbook"]


@pytest.mark.parametrize(
    ("variable", "clock_file", "zone"),
    [
        ("Europe/Lisbon", "/usr/share/zoneinfo/Asia/Tokyo", "Europe/Lisbon"),
        (":America/Argentina/Ushuaia", "", "America/Argentina/Ushuaia"),
        ("", "/usr/share/zoneinfo/America/Argentina/Ushuaia", "America/Argentina/Ushuaia"),
        ("", "/var/db/timezone/zoneinfo/Asia/Tokyo", "Asia/Tokyo"),
        ("CET-1CEST", "/usr/share/zoneinfo/Asia/Tokyo", "Asia/Tokyo"),
        ("", "/etc/localtime", "UTC"),
    ],
)
def test_the_zone_of_the_machine(variable, clock_file, zone):
    assert zone_named(variable, clock_file) == zone


def test_only_results_of_this_trial_count(folder):
    results = folder.parent / "results"
    (results / "charts").mkdir(parents=True)
    for name in ("sheet.html", "film.mp4", "notes.txt", "charts/cover.svg"):
        (results / name).write_text("x")
    assert published_files(folder, "mine") == {}
    for text in ("", "[]", '{"trial": "mine"}', json.dumps({"trial": {"key": "other"}})):
        (results / "findings.json").write_text(text)
        assert published_files(folder, "mine") == {}
    (results / "findings.json").write_text(json.dumps({"trial": {"key": "mine"}}))
    assert set(published_files(folder, "mine")) == {"sheet.html", "film.mp4", "findings.json", "cover.svg"}
