"""A view drawn anew: read by the trial file's rules, written so that it is read the same, held from its day on."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.trial.entries import Drawn
from littoral.trial.model import Pane, Region
from littoral.trial.written.drawings import as_drawn, read_drawing, write_drawing
from littoral.trial.written.reader import read_trial

TRIAL = read_trial((Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8"), where="trial.toml")[0]
assert TRIAL is not None
VIEW = next(iter(TRIAL.views.values()))
TANK = VIEW.panes[0].tank
STAND = next(one.key for one in VIEW.panes[0].regions if one.kind == "stand")
WIDTH, HEIGHT = VIEW.frame_px


def box(left: float, top: float, right: float, bottom: float) -> tuple[tuple[float, float], ...]:
    return (left, top), (right, top), (right, bottom), (left, bottom)


def pane(left: float) -> Pane:
    return Pane(TANK, (Region(STAND, "stand", box(left, 10, left + 40, 90)),), width_cm=60.0)


@given(
    st.lists(st.floats(0, 0.4), min_size=2, max_size=2),
    st.sampled_from(["auto", "chroma", "green"]),
    st.one_of(st.none(), st.floats(1, 300)),
    st.booleans(),
)
def test_what_is_written_is_read_the_same(low, look, width, glass):
    shape = box(low[0] * WIDTH, low[1] * HEIGHT, 0.9 * WIDTH, 0.8 * HEIGHT)
    regions = (
        Region(STAND, "stand", shape, look),
        Region("a stone", "stone", shape),
        Region("grey card", "card", shape, reflects=0.18),
        Region("a chart", "card", shape, chart="after Nov 2014"),
    )
    drawn = (Pane(TANK, regions, shape if glass else None, width),)  # type: ignore[arg-type]
    text = write_drawing(drawn)
    again, faults = read_drawing(text, TRIAL, VIEW)
    assert faults == ()
    assert again == drawn
    assert write_drawing(again) == text


@pytest.mark.parametrize(
    ("panes", "said"),
    [
        ("no json", "is no JSON"),
        ("[1]", "not tables"),
        ("{}", "shows no tank"),
        ({"nowhere": {"regions": [{"stone": "a", "polygon": [[1, 1], [9, 1], [9, 9]]}]}}, 'no tank "nowhere"'),
        ({TANK: {"regions": []}}, "no regions"),
        ({TANK: {"regions": [{"stone": "a", "polygon": [[1, 1], [9, 1]]}]}}, "2 points"),
        ({TANK: {"regions": [{"stone": "a", "polygon": [[0, 0], [9, 9], [9, 0], [0, 9]]}]}}, "crosses itself"),
        ({TANK: {"regions": [{"stone": "a", "polygon": [[0, 0], [9, 9], [9, 90000]]}]}}, "outside the frame"),
        ({TANK: {"regions": [{"stand": "a palm", "polygon": [[0, 0], [9, 9], [9, 0]]}]}}, "not described"),
        ({TANK: {"width": "6 kg", "regions": [{"stone": "a", "polygon": [[0, 0], [9, 9], [9, 0]]}]}}, "kg"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_what_would_do(panes, said):
    _, faults = read_drawing(panes if isinstance(panes, str) else json.dumps(panes), TRIAL, VIEW)
    assert faults
    assert any(said in one.what for one in faults), faults
    assert all(one.right for one in faults)


def drawn(from_day: float, left: float) -> Drawn:
    return Drawn(VIEW.key, from_day, write_drawing((pane(left),)))


def test_each_drawing_holds_from_its_day_on_and_earlier_days_keep_theirs():
    trial = as_drawn(TRIAL, [drawn(21, 50), drawn(7, 20), drawn(30, 70)])
    view = trial.views[VIEW.key]
    assert view.panes == (pane(70),)
    # Day 7 was drawn after day 21: it holds from day 7 on, whatever was to hold later; day 30 came last.
    assert view.earlier == ((7, VIEW.panes), (30, (pane(20),)))
    assert TRIAL.views[VIEW.key].earlier == ()


def test_a_drawing_for_the_whole_trial_leaves_no_other():
    view = as_drawn(TRIAL, [drawn(21, 50), drawn(0, 20)]).views[VIEW.key]
    assert view.panes == (pane(20),)
    assert view.earlier == ()


def test_the_same_day_drawn_twice_holds_as_drawn_last():
    view = as_drawn(TRIAL, [drawn(21, 50), drawn(21, 60)]).views[VIEW.key]
    assert view.panes == (pane(60),)
    assert view.earlier == ((21, VIEW.panes),)


def test_what_the_trial_file_has_no_more_is_left_out():
    fewer = replace(TRIAL, stands={})
    assert as_drawn(fewer, [drawn(0, 20)]) is fewer
    assert as_drawn(TRIAL, [Drawn("no such view", 0, write_drawing((pane(1),)))]) is TRIAL
