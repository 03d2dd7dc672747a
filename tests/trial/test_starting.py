from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.trial.measures import MEASURES
from littoral.trial.written.entries_csv import read_entries
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_entries, starting_text


def started(**values):
    trial, faults = read_trial(
        starting_text(**({"title": "A trial", "start": "2026-03-02"} | values)), where="trial.toml"
    )
    assert faults == ()
    assert trial is not None
    return trial


def test_a_new_trial_has_no_faults_and_asks_questions():
    trial = started()
    assert trial.start == date(2026, 3, 2)
    assert {len(arm.tanks) for arm in trial.arms} == {1}
    assert [question.primary for question in trial.questions] == [True] + [False] * 5
    assert {question.measure for question in trial.questions} >= {"height growth", "algae", "care minutes", "cost"}


def test_both_draws_occur_and_are_kept_with_their_seed():
    full = {seed: started(seed=seed) for seed in range(8)}
    assert {trial.arms[1].tanks for trial in full.values()} == {("left",), ("right",)}
    assert all(trial.draw_seed == seed and trial.arms[1].tanks[0] in trial.drawn for seed, trial in full.items())


@pytest.mark.parametrize(
    ("first", "second", "keys"),
    [
        ("sparing", "full", ("sparing", "full")),
        ('Dim, "cold" light', "bright", ("dim-cold-light", "bright")),
        ("CO2", "CO2+", ("first", "second")),
        ("弱い", "強い", ("first", "second")),
        ("x" * 60, "second", ("x" * 40, "second")),
    ],
)
def test_the_regimes_are_named_as_one_likes(first, second, keys):
    trial = started(first=first, second=second)
    assert tuple(trial.regimes) == tuple(arm.key for arm in trial.arms) == keys
    assert [arm.name for arm in trial.arms] == [regime.name for regime in trial.regimes.values()] == [first, second]
    assert [arm.regime for arm in trial.arms] == list(keys)
    assert trial.baseline_regime == keys[0]
    assert trial.questions[0].expect == (keys[1], "higher")
    assert trial.questions[0].ask == f"Did the plants grow faster with {second}?"


def test_the_scale_and_the_water_follow_the_glass():
    trial = started(glass="36 x 18 x 18 in")
    assert [view.panes[0].width_cm for view in trial.views.values()] == pytest.approx([91.44, 91.44])
    vessel = trial.tanks["left"].vessel
    assert vessel is not None
    assert vessel.fill_cm == pytest.approx(0.9 * 45.72, abs=0.05)


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_any_title_is_written_so_that_it_is_read_again(title):
    trial, faults = read_trial(starting_text(title=title, start="2026-03-02"), where="trial.toml")
    if trial is None:
        assert {fault.what.split("`")[1] for fault in faults} == {"trial.title"}
    else:
        assert trial.title == title.strip()


@pytest.mark.parametrize(
    ("values", "what"),
    [
        ({"start": "soon"}, '`trial.start` is "soon", not a date.'),
        ({"start": '2026-03-02"\n[tanks]'}, "`trial.start` is"),
        ({"glass": "60 x 30"}, '`tanks.left.glass` is "60 x 30", not three lengths with a unit.'),
        ({"zone": "Berlin"}, '`trial.zone` is "Berlin", which is not a time zone.'),
        ({"length": "1 week"}, "`trial.baseline` is 14 days long, but the trial only 7."),
    ],
)
def test_a_value_that_fits_nothing_is_named(values, what):
    text = starting_text(**({"title": "A trial", "start": "2026-03-02"} | values))
    _, faults = read_trial(text, where="trial.toml")
    assert len(faults) == 1
    assert faults[0].what.startswith(what)


def test_the_rules_written_as_comments_can_be_taken_as_they_are():
    text = starting_text(title="A trial", start="2026-03-02")
    for key in ("[design]", "kind", "stopping", "trimming"):
        text = text.replace(f"# {key}", key)
    trial, faults = read_trial(text, where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert "same day" in trial.plan.trimming
    assert "animals" in trial.plan.stopping


def test_every_measure_is_named_above_the_questions():
    asked = starting_text(title="A trial", start="2026-03-02").partition("answered by a measure:")[2]
    named = " ".join(asked.partition("[[questions]]")[0].replace("#", " ").split())
    assert named == ", ".join(MEASURES) + "."


def test_an_empty_file_of_entries_is_read():
    now = datetime(2026, 11, 1, tzinfo=UTC)
    assert read_entries(starting_entries().encode(), where="entries.csv", trial=started(), now=now) == ((), ())


@pytest.mark.parametrize("start", ["2026-03-02", " 2026-3-2", "2026/03/02", "2.3.2026"])
def test_the_start_is_taken_in_every_clear_form(start):
    trial, faults = read_trial(starting_text(title="Two ways", start=start), where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert trial.start == date(2026, 3, 2)


@pytest.mark.parametrize(
    ("start", "said"),
    [
        ("2026-13-40", '"2026-13-40", but there is no month 13. Write year-month-day, such as 2026-03-02.'),
        ("30.02.2026", '"30.02.2026", but month 2 of 2026 has 28 days. Write year-month-day, such as 2026-03-02.'),
        ("03/04/2026", '"03/04/2026", which may mean two days. Write year-month-day, such as 2026-03-02.'),
    ],
)
def test_a_start_that_is_no_date_is_called_that(start, said):
    _, faults = read_trial(starting_text(title="Two ways", start=start), where="the new trial")
    assert [f"{fault.what} {fault.right}" for fault in faults] == [f"`trial.start` is {said}"]
