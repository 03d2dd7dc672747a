"""`littoral answer` on yield, regrowth, onset of algae and scores, from files; what photos would give is made up."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner, Result

from littoral.acts import answer_questions as act
from littoral.cli.main import app
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.publish.findings_json import findings_schema

TRIAL = """
format = 1
[trial]
key = "pots"
title = "Two pots"
factor = "light"
start = 2026-03-02
zone = "UTC"
length = "8 weeks"
[tanks.left]
name = "left pot"
[tanks.right]
name = "right pot"
[arms.dim]
tanks = ["left"]
[arms.bright]
tanks = ["right"]
[stands.stems]
name = "stems"
[views.front]
name = "front"
photos = "photos"
frame = "200 x 100 px"
[views.front.tanks.left]
corners = [[0, 0], [100, 0], [100, 100], [0, 100]]
width = "30 cm"
regions = [
  { stand = "stems", polygon = [[10, 10], [50, 10], [50, 90]] },
  { stone = "stone", polygon = [[60, 60], [90, 60], [90, 90]] },
]
[views.front.tanks.right]
corners = [[100, 0], [200, 0], [200, 100], [100, 100]]
width = "30 cm"
regions = [
  { stand = "stems", polygon = [[110, 10], [150, 10], [150, 90]] },
  { stone = "stone", polygon = [[160, 60], [190, 60], [190, 90]] },
]
[[questions]]
key = "onset"
ask = "When did algae come?"
measure = "algae onset"
of = ["stone"]
threshold = "10 %"
expect = "bright lower"
primary = true
[[questions]]
key = "regrowth"
ask = "Did it grow back sooner?"
measure = "regrowth"
of = ["stems"]
[[questions]]
key = "condition"
ask = "In better condition?"
measure = "condition"
of = ["stems"]
smallest = 0.5
[[questions]]
key = "algae"
ask = "Fewer algae by eye?"
measure = "algae score"
[[questions]]
key = "yield"
ask = "Which gave more?"
measure = "yield"
of = ["stems"]
[[questions]]
key = "compact"
ask = "Which stayed compact?"
measure = "compactness"
"""

ENTRIES = """date,time,tank,kind,what,amount
2026-03-12,00:00,left,trim,stems,"to 10 cm, 10 g"
2026-03-12,00:00,right,trim,stems,"to 10 cm, 12 g"
2026-04-26,12:00,left,trim,stems,"to 0 cm, 20 g"
2026-04-26,12:00,right,trim,stems,"to 0 cm, 41 g"
2026-03-09,12:00,left,score,plants stems,2
2026-03-09,12:00,right,score,plants stems,3
2026-03-16,12:00,left,score,plants stems,3
2026-03-17,12:00,right,score,plants stems,2
2026-03-23,12:00,left,score,plants stems,2
2026-03-23,12:00,right,score,plants stems,4
2026-03-23,12:00,left,score,algae,1
2026-03-23,12:00,right,score,algae,1
"""


def measured(*_: object, **__: object) -> Measured:
    """Stems that double in 8 days (left) or 5 (right), halved on day 10; algae of 1 and 2 points a day after it."""
    photos = []
    for day in range(55):
        at = day + 0.5
        regions = []
        for tank, doubling, points in (("left", 8.0, 1.0), ("right", 5.0, 2.0)):
            height = 10 * 2 ** (at / doubling) * (0.5 if at > 10 else 1.0)
            regions.append(RegionMeasure(tank, "stems", "stand", cover=0.4, height_px=height, height_cm=height))
            regions.append(RegionMeasure(tank, "stone", "stone", algae=0.01 * points * max(0.0, day - 10)))
        photos.append(MeasuredPhoto(f"p{day}", "", "front", at, None, 0.5, 0.1, "card", (), tuple(regions)))
    return Measured(tuple(photos), "made up")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


@pytest.fixture(scope="module")
def logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pots")
    (folder / "photos").mkdir()
    (folder / "trial.toml").write_text(TRIAL)
    (folder / "entries.csv").write_text(ENTRIES)
    done = run("import", folder / "trial.toml")
    assert done.exit_code == 0, done.output
    return folder / "logbook"


def test_every_question_is_answered_with_the_numbers_worked_out_by_hand(
    logbook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(act, "measure_photos", measured)
    done = run("answer", logbook, "--json")
    assert done.exit_code == 0, done.output
    document = json.loads(done.output)
    jsonschema.validate(document, findings_schema())
    found = {one["question"]: one for one in document["findings"]}
    onset, back, yields = found["onset"], found["regrowth"], found["yield"]
    assert [value["value"] for value in onset["arms"]] == [20.5, 15.5]  # 10 points: 10 days at 1 a day, 5 at 2
    assert onset["effect"] == -5
    assert onset["wording"].startswith(
        "Right pot (bright) had algae earlier: a description of these two tanks; tank or treatment, unknown. Algae on "
        "10 % or more of a place: right pot (bright) from day 15, left pot (dim) from day 20."
    )
    # 6.6 and 13.4 points, at 2 and at 1 a day
    assert onset["detail"] == (
        "Expected beforehand: bright lower; as seen. Right pot (bright): first on stone; day 14 if photos show 3.4 "
        "points too few, day 17 if too many. Left pot (dim): first on stone; day 17 if photos show 3.4 points too few, "
        "day 24 if too many."
    )
    # back one doubling after the photo of day 9.5, which is half a day before the trim
    assert [value["value"] for value in back["arms"]] == pytest.approx([7.5, 4.5])
    assert back["effect_words"] == "3 days sooner"
    assert [curve["median_day"] for curve in back["curves"]] == pytest.approx([7.5, 4.5])
    assert [value["value"] for value in yields["arms"]] == [30.0, 53.0]
    assert yields["detail"] == (
        "Right pot (bright): 12 g trimmed, 41 g standing at the end; left pot (dim): 10 g trimmed, 20 g standing at "
        "the end."
    )
    assert found["condition"]["effect_words"] == "higher in 2 of 3 weeks, lower in 1"
    assert found["condition"]["effect"] == pytest.approx(1 / 3)
    assert found["algae"]["wording"].startswith(
        "The tanks scored the same every time: a description of these two tanks."
    )
    assert {one["rule"] for one in found.values()} == {
        "description of these tanks", "exact account", found["compact"]["rule"],
    }  # fmt: skip
    assert found["compact"]["effect"] is not None


def test_the_table_says_differences_in_words(logbook: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(act, "measure_photos", measured)
    printed = run("answer", logbook).output
    for words in ("5 days earlier", "3 days sooner", "+23.0 g"):
        assert words in printed


def test_without_photos_what_is_written_down_still_answers(logbook: Path) -> None:
    document = json.loads(run("answer", logbook, "--json").output)
    rules = {one["question"]: one["rule"] for one in document["findings"]}
    assert rules["onset"] == rules["regrowth"] == "not answered"
    assert rules["condition"] == "description of these tanks"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('threshold = "10 %"', 'threshold = "0 %"', "it must be above 0 % and below 100 %"),
        ('threshold = "10 %"', 'threshold = "10 cm"', "`questions[1].threshold`"),
        ("smallest = 0.5", 'smallest = 0.5\nthreshold = "5 %"', 'is given, but "condition" has none'),
        (
            "primary = true",
            "primary = true\nsmallest = 2",
            '"algae onset" has no interval that could be held against it',
        ),
        ('measure = "yield"\nof = ["stems"]', 'measure = "yield"\nof = ["stemz"]', "stems"),
        ('measure = "algae score"', 'measure = "algae score"\nof = ["stems"]', "is taken on whole tanks"),
    ],
)
def test_mistakes_in_these_questions_are_named(tmp_path: Path, old: str, new: str, said: str) -> None:
    assert old in TRIAL
    (tmp_path / "photos").mkdir()
    (tmp_path / "trial.toml").write_text(TRIAL.replace(old, new))
    checked = run("check", tmp_path / "trial.toml")
    assert checked.exit_code == 1
    assert said in " ".join(checked.output.split())
