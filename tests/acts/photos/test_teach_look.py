"""Strokes through the logbook: kept as an entry, held from their day on, taken back, refused where they contradict."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from tests.strokes_drawn import lines_within
from typer.testing import CliRunner

from littoral.acts.change_entry import NotCorrectableError, correct_entry, undo_entry
from littoral.acts.package_trial import package_trial
from littoral.acts.photos.list_photos import list_photos
from littoral.acts.photos.teach_look import list_strokes, teach_look
from littoral.cli.main import app
from littoral.errors import FaultsError
from littoral.findings.measured import MeasuredPhoto
from littoral.findings.measuring import measure_photos
from littoral.findings.view_series import read_image
from littoral.logbook.book import Logbook
from littoral.publish.package.packed import About

TRIAL, VIEW, STAND = "sparing-or-full", "left", "red-stem"


@pytest.fixture
def logbook(small_demo, tmp_path: Path) -> Path:
    with Logbook.open(small_demo.logbook) as book:
        measure_photos(book, book.trial(TRIAL))  # once for all tests; what is drawn here is measured in a copy
    return Path(shutil.copytree(small_demo.logbook, tmp_path / "logbook"))


def seen(logbook: Path) -> dict[str, MeasuredPhoto]:
    with Logbook.open(logbook) as book:
        measured = measure_photos(book, book.trial(TRIAL), workers=1)
    return {photo.entry_id: photo for photo in measured.photos if photo.view == VIEW}


def covers(photos: dict[str, MeasuredPhoto], stand: str = STAND) -> dict[float, float]:
    return {
        photo.day: one.cover
        for photo in photos.values()
        for one in photo.regions
        if one.region == stand and one.cover is not None
    }


def drawn(photo: MeasuredPhoto, logbook: Path, *, contrary: bool = False) -> str:
    """Strokes on a photo's plant, where it was counted, and beside it."""
    with Logbook.open(logbook) as book:
        view = book.trial(TRIAL).views[VIEW]
    places = [one.key for pane in view.panes for one in pane.regions]
    polygon = next(one.polygon_px for pane in view.panes for one in pane.regions if one.key == STAND)
    assert photo.counted is not None
    marked = cv2.imread(str(photo.counted), cv2.IMREAD_GRAYSCALE)
    assert photo.prepared is not None
    scale = view.frame_px[0] / read_image(photo.prepared).shape[1]
    inside = cv2.fillPoly(np.zeros_like(marked), [np.round(np.array(polygon) / scale).astype(np.int32)], 1) == 1
    plant = marked == places.index(STAND) + 1
    rng = np.random.default_rng(5)
    sides = [("stand", path) for path in lines_within(cv2.erode(plant.astype(np.uint8), None) == 1, rng, count=6)]
    sides += [("not", path) for path in lines_within(inside & ~plant, rng, count=6)]
    if contrary:
        sides += [("not" if side == "stand" else "stand", path) for side, path in sides]
    return json.dumps([{"side": side, "width": 3, "path": (path * scale).tolist()} for side, path in sides])


def test_strokes_teach_from_a_day_on_and_can_be_taken_back(logbook: Path, tmp_path: Path) -> None:
    before = seen(logbook)
    photo = max(before.values(), key=lambda one: one.day)
    strokes = drawn(photo, logbook)
    told = {"tank": "left", "stand": STAND}
    with pytest.raises(FaultsError, match=r"contradict each other: only .* number .* on this photo"):
        teach_look(logbook, TRIAL, photo.entry_id, strokes=drawn(photo, logbook, contrary=True), **told)
    for wrong in ({"stand": "stone"}, {"tank": "right"}, {"from_day": 1e6}, {"strokes": "[]"}):
        with pytest.raises(FaultsError):
            teach_look(logbook, TRIAL, photo.entry_id, **{"strokes": strokes, **told, **wrong})
    assert list_strokes(logbook, TRIAL) == ()

    done = teach_look(logbook, TRIAL, photo.entry_id, strokes=strokes, from_day=14, **told)
    assert (done.new, done.remarks) == (1, ())
    assert teach_look(logbook, TRIAL, photo.entry_id, strokes=strokes, from_day=14, **told).new == 0
    assert done.words == ("left tank: red stem plant shown by brush strokes in left tank, front, from day 14 on",)
    with pytest.raises(NotCorrectableError, match="Undo these strokes"):
        correct_entry(logbook, done.entries[0].id, note="better")
    after = seen(logbook)
    old, new = covers(before), covers(after)
    assert {day for day in old if day < 14 and old[day] != new[day]} == set()
    assert any(old[day] != new[day] for day in old if day >= 14)
    assert max(abs(old[day] - new[day]) for day in old) < 0.1  # the index finds this plant too
    others = [covers(one, "carpet") for one in (before, after)]
    assert others[0] == others[1]

    about = About(licence="CC0-1.0")
    package_trial(logbook, TRIAL, tmp_path / "package.zip", about=about, anonymous=True)
    undo_entry(logbook, done.entries[0].id)
    assert list_strokes(logbook, TRIAL) == ()
    assert covers(seen(logbook)) == old


def test_the_command_reads_a_file_lists_and_says_what_is_missing(logbook: Path, tmp_path: Path) -> None:
    with Logbook.open(logbook) as book:
        measured = {one.entry_id: one for one in measure_photos(book, book.trial(TRIAL)).photos if one.view == VIEW}
    photo = max(measured.values(), key=lambda one: one.day)
    name = next(one.file for one in list_photos(logbook, TRIAL).photos if one.photo == photo.entry_id)
    strokes = json.loads(drawn(photo, logbook))
    rows = [
        {"photo": name, "tank": "left", "stand": STAND, "strokes": [one for one in strokes if one["side"] == "not"]}
    ]
    file = tmp_path / "strokes.json"
    file.write_text(json.dumps(rows), encoding="utf-8")
    run = CliRunner().invoke(app, ["photos", "strokes", str(logbook), "--from", str(file)])
    assert run.exit_code == 0
    assert "do not teach yet: strokes on the stand are missing" in " ".join(run.output.split())
    run = CliRunner().invoke(app, ["photos", "strokes", str(logbook), "--list"])
    assert "left/red-stem" in run.output
    assert "0 on the stand, 6 beside it" in run.output
    run = CliRunner().invoke(app, ["photos", "strokes", str(logbook), "--list", "--json"])
    assert json.loads(run.stdout)["strokes"][0]["strokes"] == [one | {"width": 3.0} for one in rows[0]["strokes"]]
    run = CliRunner().invoke(
        app, ["photos", "strokes", str(logbook), "--take-back", list_strokes(logbook)[0].entry[:8]]
    )
    assert run.exit_code == 0
    assert list_strokes(logbook) == ()
    file.write_text('[{"photo": "no such", "strokes": []}, {"colour": 1}]', encoding="utf-8")
    run = CliRunner().invoke(app, ["photos", "strokes", str(logbook), "--from", str(file)])
    assert run.exit_code != 0
    assert 'names the photo "no such"' in " ".join(run.output.split())
