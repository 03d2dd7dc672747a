"""The demo as files: what a keeper would bring, read by the doors that read a keeper's files."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps

from littoral.demo.entries import HEADER, entries_csv, rows
from littoral.demo.layout import Frame, lay_out
from littoral.demo.scenario import OtherTrialError, photo_plans, write_demo
from littoral.demo.story import tell
from littoral.demo.trial_text import trial_text
from littoral.stats.growth import growth_rate
from littoral.stats.series import Series
from littoral.trial.days import day_of
from littoral.trial.entries import Photo
from littoral.trial.measures import MEASURES
from littoral.trial.written.entries_csv import read_entries
from littoral.trial.written.reader import read_trial

NOW = datetime(2026, 6, 1, tzinfo=UTC)


def read(seed: int, days: int = 56):
    story = tell(seed, days=days)
    layouts = {tank: lay_out(story, tank) for tank in ("left", "right")}
    trial, faults = read_trial(trial_text(story, layouts, Frame((1600, 1200))), where="trial.toml")
    assert faults == ()
    assert trial is not None
    return story, trial


@pytest.mark.parametrize("seed", [0, 1, 2, 3, 4])
def test_trial_file_and_entries_have_no_fault(seed) -> None:
    story, trial = read(seed)
    entries, faults = read_entries(entries_csv(story).encode(), where="entries.csv", trial=trial, now=NOW)
    assert faults == ()
    assert len(entries) == len(rows(story))
    assert not any(isinstance(entry.payload, Photo) for entry in entries)


def test_the_trial_asks_the_six_questions_of_two_tanks_with_six_stands_and_a_root() -> None:
    story, trial = read(1)
    assert trial.rendered
    assert trial.baseline_days == 14
    assert trial.length_days == 56
    assert {question.measure for question in trial.questions} == {
        "height growth", "compactness", "redness", "algae", "care minutes", "cost"
    }  # fmt: skip
    assert {question.measure for question in trial.questions} <= set(MEASURES)
    assert sum(question.primary for question in trial.questions) == 1
    for tank in ("left", "right"):
        regions = trial.views[tank].panes[0].regions
        assert sum(region.kind == "stand" for region in regions) == 6
        assert {"wood", "stone", "glass", "card"} <= {region.kind for region in regions}
        assert trial.arm_of(tank).regime == story.arm_of[tank]


def test_photos_are_dated_sized_and_named_as_planned(tiny_demo) -> None:
    story = tell(1, days=17)
    for tank in ("left", "right"):
        plans = photo_plans(story, tank)
        files = sorted((tiny_demo.folder / "photos" / tank).iterdir())
        assert [file.name for file in files] == [plan.file_name for plan in plans]
        assert plans[0].first
        assert int(plans[0].day) == 0
        for file, plan in zip(files, plans, strict=True):
            with Image.open(file) as photo:
                stamp = photo.getexif().get_ifd(0x8769)[0x9003]
                assert stamp == plan.taken.strftime("%Y:%m:%d %H:%M:%S")
                assert ImageOps.exif_transpose(photo).size == (400, 300)
    turned = {plan.orientation for tank in ("left", "right") for plan in photo_plans(tell(1, days=56), tank)}
    assert turned == {1, 3, 6}


@pytest.mark.parametrize("seed", [1, 2])
def test_days_without_photos_differ_between_the_tanks(seed) -> None:
    story = tell(seed, days=56)
    missing = {
        tank: set(range(56)) - {int(plan.day) for plan in photo_plans(story, tank)} for tank in ("left", "right")
    }
    assert len(missing["left"]) == len(missing["right"]) == 7
    assert missing["left"] != missing["right"]


def test_photo_days_are_the_trial_s_own_days_also_when_clocks_change() -> None:
    story, trial = read(1)
    for plan in photo_plans(story, "right"):
        assert plan.day == pytest.approx(day_of(plan.taken, trial), abs=1e-9)


def test_the_same_seed_gives_the_same_bytes_whoever_renders(tiny_demo, tmp_path: Path) -> None:
    write_demo(tmp_path / "again", days=17, size=(400, 300), workers=2)
    ours = sorted(path.relative_to(tmp_path / "again") for path in (tmp_path / "again").rglob("*") if path.is_file())
    assert ours == sorted(path.relative_to(tiny_demo.folder) for path in tiny_demo.folder.rglob("*") if path.is_file())
    for path in ours:
        assert (tmp_path / "again" / path).read_bytes() == (tiny_demo.folder / path).read_bytes(), path


def test_another_seed_gives_another_demo_in_place_of_the_first(tiny_demo, tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(tiny_demo.folder, folder)
    done: list[tuple[int, int]] = []
    write_demo(folder, seed=2, days=3, size=(400, 300), workers=1, progress=lambda at, of, what: done.append((at, of)))
    photos = list((folder / "photos").rglob("*.jpg"))
    assert len(photos) == len(done) == done[-1][0] == done[-1][1] < 10
    first = "photos/left/" + photo_plans(tell(2, days=3), "left")[0].file_name
    earlier = tiny_demo.folder / "photos" / "left" / photo_plans(tell(1, days=17), "left")[0].file_name
    assert (folder / first).read_bytes() != earlier.read_bytes()


def test_another_trial_is_not_overwritten(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text("format = 1\n", encoding="utf-8")
    with pytest.raises(OtherTrialError, match="is a trial of its own") as refused:
        write_demo(tmp_path, days=3, size=(400, 300), workers=1)
    assert refused.value.trial_file == tmp_path / "trial.toml"
    assert [path.name for path in tmp_path.iterdir()] == ["trial.toml"]


def test_truth_holds_every_photo_and_region_and_an_answer_to_each_question(tiny_demo) -> None:
    _, trial = read(1)
    truth = tiny_demo.truth
    files = {str(path.relative_to(tiny_demo.folder)) for path in (tiny_demo.folder / "photos").rglob("*.jpg")}
    assert set(truth["photos"]) == files
    for photo in truth["photos"].values():
        keys = {region.key for region in trial.views[photo["view"]].panes[0].regions}
        assert set(photo["regions"]) == keys
    assert set(truth["answers"]) == {question.key for question in trial.questions}


def test_truth_in_the_baseline_has_the_growth_it_was_drawn_from(tiny_demo) -> None:
    """The nominal heights to the last digit kept; those of the drawn leaves within the interval of their own slope."""
    photos = [photo for photo in tiny_demo.truth["photos"].values() if photo["view"] == "left" and photo["day"] < 14]
    days = np.array([photo["day"] for photo in photos])
    for key in ("red-stem", "feather", "green-stem"):
        stated = tiny_demo.truth["parameters"]["left"][key]["height_rate_baseline_per_day"]
        nominal = np.array([photo["regions"][key]["true_height_cm"] for photo in photos])
        last_digit = 0.001 / nominal.min() / np.ptp(days)  # two heights off by half a digit each
        assert np.polyfit(days, np.log(nominal), 1)[0] == pytest.approx(stated, abs=last_digit), key
        drawn = np.array([photo["regions"][key]["height_cm"] for photo in photos])
        low, high = growth_rate(Series(key, "cm", "level", days, drawn)).rate_per_day.interval(0.99)
        assert low <= stated <= high, key


def test_every_photo_says_that_it_is_rendered(tiny_demo) -> None:
    file = next((tiny_demo.folder / "photos" / "left").iterdir())
    with Image.open(file) as photo:
        assert photo.getexif()[0x010E] == "rendered demo"


def test_header_is_the_agreed_one() -> None:
    assert ",".join(HEADER) == "date,time,tank,kind,what,amount,note,who"
