"""The sequel of a trial: its text with the arms swapped, and nothing else changed."""

from __future__ import annotations

import difflib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from littoral.trial.design import after_crossover
from littoral.trial.plan import Plan, alternating
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text
from littoral.trial.written.swapped import NotSwappedError, swapped_text

START = date(2026, 6, 1)
WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")
FRESH = starting_text(title="Moss or fern", start="2026-03-02")


def trial_of(text: str):
    trial, faults = read_trial(text, where="here")
    assert trial is not None, faults
    return trial


@pytest.mark.parametrize("text", [WHOLE, FRESH])
def test_only_key_title_start_draw_and_tanks_change(text: str) -> None:
    trial = trial_of(text)
    made = swapped_text(text, trial, start=START)
    after = trial_of(made)
    assert {arm.key: arm.tanks for arm in after.arms} == {
        trial.arms[0].key: trial.arms[1].tanks,
        trial.arms[1].key: trial.arms[0].tanks,
    }
    assert after.start == START
    assert after.drawn == f"arms swapped from the trial {trial.key}"
    same = {"arms": trial.arms, "start": trial.start, "key": trial.key, "title": trial.title}
    assert replace(after, **same, drawn=trial.drawn, draw_seed=trial.draw_seed) == trial
    changed = [line for line in difflib.ndiff(text.splitlines(), made.splitlines()) if line.startswith("+ ")]
    assert len(changed) == 6
    assert "# day 0" in made
    assert made.count("#") == text.count("#")


def test_a_sequel_of_a_sequel_comes_back_under_a_key_of_its_own() -> None:
    once = swapped_text(FRESH, trial_of(FRESH), start=START)
    first = trial_of(once)
    assert (first.key, first.title) == ("moss-or-fern-swapped", "Moss or fern, arms swapped")
    second = trial_of(swapped_text(once, first, start=date(2026, 9, 1), taken=("moss-or-fern", first.key)))
    assert (second.key, second.title) == ("moss-or-fern-swapped-2", "Moss or fern, arms swapped (2)")
    assert [arm.tanks for arm in second.arms] == [arm.tanks for arm in trial_of(FRESH).arms]


def test_a_long_key_stays_within_what_a_key_may_be() -> None:
    text = starting_text(title="word " * 12, start="2026-03-02")
    assert len(trial_of(swapped_text(text, trial_of(text), start=START)).key) <= 40


def test_what_cannot_be_swapped_is_refused() -> None:
    trial = trial_of(FRESH)
    crossed = replace(trial, plan=Plan(kind="crossover", period_days=14, swapped=(False, True)))
    with pytest.raises(NotSwappedError, match="swaps its regimes itself"):
        swapped_text(FRESH, crossed, start=START)
    uneven = replace(trial, arms=(trial.arms[0], replace(trial.arms[1], tanks=("a", "b"))))
    with pytest.raises(NotSwappedError, match="equally many tanks"):
        swapped_text(FRESH, uneven, start=START)
    with pytest.raises(NotSwappedError, match="cannot be swapped safely"):
        swapped_text(FRESH, replace(trial, factor="light"), start=START)


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (Plan("crossover", 14.0, 7.0, (False, True), half_life_days=2.0), "at least 4 periods instead of 2."),
        (Plan("crossover", 14.0, 2.0, alternating(4), half_life_days=2.0), "a washout of 3 half-lives, 6 days."),
        (
            Plan("crossover", 14.0, 7.0, (False, False, True, True), half_life_days=2.0),
            "an order drawn by lot instead of one block each way.",
        ),
        (Plan("crossover", 14.0, 7.0, alternating(6), half_life_days=2.0), "2 more pairs that swap in the same way"),
    ],
)
def test_after_a_crossover_what_it_lacked_is_proposed(plan, said):
    trial, _ = read_trial(WHOLE, where="trial.toml")
    assert trial is not None
    with pytest.raises(NotSwappedError, match="nothing left to swap") as refused:
        swapped_text(WHOLE, replace(trial, plan=plan), start=date(2026, 6, 1))
    assert said in str(refused.value)
    assert said in after_crossover(replace(trial, plan=plan))


def with_design(design: str) -> str:
    return WHOLE.replace("[arms.sparing]", f"[design]\n{design}\n[arms.sparing]", 1)


@pytest.mark.parametrize(
    "design",
    ['kind = "pairs"\npairs = [["left", "right"]]', 'kind = "parallel"\nblocks = { window = ["left", "right"] }'],
)
def test_pairs_and_blocks_are_swapped_within_themselves(design):
    text = with_design(design)
    trial, faults = read_trial(text, where="trial.toml")
    assert faults == ()
    assert trial is not None
    after, faults = read_trial(swapped_text(text, trial, start=date(2026, 6, 1)), where="next.toml")
    assert faults == ()
    assert after is not None
    assert after.plan.blocks == trial.plan.blocks
    assert after.plan.pairs == tuple((two, one) for one, two in trial.plan.pairs)
    assert [arm.tanks for arm in after.arms] == [arm.tanks for arm in reversed(trial.arms)]


def test_a_start_that_was_drawn_is_drawn_anew_and_not_carried_over():
    text = with_design('kind = "parallel"\nstart_drawn_from = "10 to 30 days"')
    trial, _ = read_trial(text, where="trial.toml")
    assert trial is not None
    with pytest.raises(NotSwappedError, match="Draw a day for the next trial"):
        swapped_text(text, trial, start=date(2026, 6, 1))
