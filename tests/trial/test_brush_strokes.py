"""Brush strokes as they are sent: whatever JSON can say is read, or told as a mistake."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.trial.model import View
from littoral.trial.written.brush_strokes import read_strokes, write_strokes

VIEW = View(key="front", name="front", photos="photos", match="*", frame_px=(400, 300), panes=())
GOOD = {"side": "stand", "width": 5, "path": [[120, 80], [160, 84]]}
PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


def test_what_was_read_is_written_the_same():
    read, faults = read_strokes(json.dumps([GOOD, {**GOOD, "side": "not"}]), VIEW, where="strokes")
    assert not faults
    assert [one.is_stand for one in read] == [True, False]
    assert read_strokes(write_strokes(read), VIEW, where="strokes") == (read, ())


@pytest.mark.parametrize(
    "stroke",
    [
        {**GOOD, "side": ["stand"]},
        {**GOOD, "side": {}},
        {**GOOD, "width": 10**400},
        {**GOOD, "width": float("nan")},
        {**GOOD, "path": [[10**400, 1]]},
        {**GOOD, "path": [[-(10**400), 1]]},
        {**GOOD, "path": [[float("inf"), 1]]},
    ],
)
def test_what_is_no_stroke_is_told(stroke):
    _, faults = read_strokes(json.dumps([GOOD, stroke]), VIEW, where="strokes")
    assert len(faults) == 1
    assert "stroke 2" in faults[0].what


def test_brackets_without_end_are_told():
    _, faults = read_strokes("[" * 100_000, VIEW, where="strokes")
    assert len(faults) == 1


@settings(max_examples=60, deadline=None)
@given(PLAIN, st.sampled_from(sorted(GOOD)))
def test_nothing_that_json_says_crashes(said, part):
    for text in (json.dumps(said), json.dumps([{**GOOD, part: said}])):
        read_strokes(text, VIEW, where="strokes")
