"""The hash of a design changes with what is asked and done, and with nothing else."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from littoral.trial.locked import design_changes, design_hash, design_part
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")


def read(*changes: tuple[str, str]) -> Trial:
    text = WHOLE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    trial, faults = read_trial(text, where="")
    assert faults == ()
    assert trial is not None
    return trial


def test_the_hash_is_that_of_the_part_as_compact_sorted_json():
    trial = read()
    text = json.dumps(design_part(trial), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert design_hash(trial) == hashlib.sha256(text.encode("utf-8")).hexdigest()


@pytest.mark.parametrize(
    "change",
    [
        ('title = "Sparing', 'title = "Frugal'),
        ("# The trial of the demo", "# Whatever"),
        ('length = "8 weeks"', 'length = "56 days"'),
        ('"500 g for 7.90"', '"500 g for 8.90"'),
        ("[[300, 200]", "[[301, 200]"),
        ('amount = "1 stroke"', 'amount = "1.1 mL"'),
    ],
)
def test_what_is_no_design_leaves_the_hash(change):
    assert design_hash(read(change)) == design_hash(read())
    assert design_changes(read(), read(change)) == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ("smallest = 0.005", "smallest = 0.01"),
            "Question “growth”, the smallest difference that matters: was 0.005, now 0.01.",
        ),
        (('expect = "full higher"', 'expect = "full lower"'), "what was expected: was full, higher, now full, lower."),
        (('key = "growth"', 'key = "speed"'), "Question “growth” was taken out."),
        (('length = "8 weeks"', 'length = "9 weeks"'), "Length in days: was 56, now 63."),
        (('length = "2 weeks", regime', 'length = "1 week", regime'), "Days of the baseline: was 14, now 7."),
        (('"light 8 h a day", ', ""), "Held equal: was light 8 h a day, water change 40 %"),
        (('amount = "4 strokes"', 'amount = "3 strokes"'), "Arm “full”, its regime: was “full” (4.4 mL of macro on"),
        (
            ("[arms.sparing]", '[design]\nkind = "parallel"\nspread = "10 %"\n[arms.sparing]'),
            "Design, spread: was nothing",
        ),
        (("seed = 20260301", "seed = 20260302"), "Seed of the draw: was 20260301, now 20260302."),
    ],
)
def test_what_was_changed_is_said(change, said):
    after = read(change)
    assert design_hash(after) != design_hash(read())
    assert any(said in one for one in design_changes(read(), after)), design_changes(read(), after)


def test_a_threshold_is_part_of_the_design_only_where_it_is_given():
    plain = read(('measure = "height growth"', 'measure = "algae onset"'), ('of = ["red-stem"]', ""), ("smallest", "#"))
    given = read(
        ('measure = "height growth"', 'measure = "algae onset"\nthreshold = "8 %"'),
        ('of = ["red-stem"]', ""),
        ("smallest", "#"),
    )
    assert "threshold_points" not in design_part(plain)["questions"][0]
    assert design_part(given)["questions"][0]["threshold_points"] == 8.0
    assert design_changes(plain, given) == ("Question “growth”, its threshold in percent points: was nothing, now 8.",)
    assert design_changes(given, plain) == ("Question “growth”, its threshold in percent points: was 8, now nothing.",)
    assert design_hash(plain) != design_hash(given)
