"""Blocks and a drawn start in the table [design]: what is read, what is refused, and what the hash holds of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from littoral.trial.locked import design_changes, design_hash
from littoral.trial.model import Trial
from littoral.trial.plan import OrderError, draw_start
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")
# the trial of the file has a baseline of two weeks and two tanks, one in each arm


def read(design: str) -> tuple[Trial | None, str]:
    text = WHOLE.replace("[arms.sparing]", f'[design]\nkind = "parallel"\n{design}\n[arms.sparing]', 1)
    trial, faults = read_trial(text, where="trial.toml")
    return trial, " ".join(str(fault) for fault in faults)


def test_blocks_and_start_are_read():
    trial, faults = read(
        'blocks = { window = ["left", "right"] }\nblocked_by = "light"\nstart_drawn_from = ["2 weeks", "10 days"]\n'
    )
    assert faults == ""
    assert trial is not None
    assert trial.plan.blocks == (("window", ("left", "right")),)
    assert trial.plan.blocked_by == "light"
    assert trial.plan.start_drawn_from == (10.0, 14.0)


def test_a_range_of_days_is_each_of_them():
    trial, faults = read('start_drawn_from = "10 to 30 days"')
    assert faults == ""
    assert trial is not None
    assert trial.plan.start_drawn_from == tuple(float(day) for day in range(10, 31))


def test_the_seed_must_give_the_day_that_the_baseline_ends():
    could_be = tuple(float(day) for day in range(10, 31))
    right = next(seed for seed in range(1000) if draw_start(could_be, seed=seed) == 14.0)
    wrong = next(seed for seed in range(1000) if draw_start(could_be, seed=seed) == 20.0)
    assert read(f'start_drawn_from = "10 to 30 days"\nstart_seed = {right}')[1] == ""
    assert (
        "draws day 20, but the regimes begin on day 14"
        in read(f'start_drawn_from = "10 to 30 days"\nstart_seed = {wrong}')[1]
    )


@pytest.mark.parametrize(
    ("design", "said"),
    [
        ('blocks = { window = ["left"], wall = ["right"] }', "no tanks of both arms"),
        ('blocks = { window = ["left", "middle"] }', 'names "middle"'),
        ('blocks = { a = ["left", "right"], b = ["left", "right"] }', "one block only"),
        ('blocks = ["left"]', "not a table"),
        ('start_drawn_from = "15 to 30 days"', "does not hold day 14"),
        ('start_drawn_from = "0 to 30 days"', "outside the trial"),
        ('start_drawn_from = ["2 weeks"]', "fewer than two days"),
        ("start_seed = 4", "`start_drawn_from` is not"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(design, said):
    trial, faults = read(design)
    assert trial is None
    assert said in faults


def test_blocks_belong_to_a_parallel_trial():
    text = WHOLE.replace(
        "[arms.sparing]",
        '[design]\nkind = "pairs"\npairs = [["left", "right"]]\nblocks = { a = ["left", "right"] }\n[arms.sparing]',
        1,
    )
    assert "blocks of two already" in " ".join(str(fault) for fault in read_trial(text, where="")[1])


def test_the_draw_is_even_and_repeats():
    could_be = (10.0, 12.0, 14.0, 16.0)
    drawn = [draw_start(could_be, seed=seed) for seed in range(400)]
    assert drawn == [draw_start(could_be, seed=seed) for seed in range(400)]
    counts = np.array([drawn.count(day) for day in could_be])
    assert counts.sum() == 400
    assert ((counts - 100) ** 2 / 100).sum() < 16.3  # chi-square on 3 degrees of freedom, 1 in 1000
    with pytest.raises(OrderError, match="2 or more days"):
        draw_start((3.0,), seed=1)


def test_the_hash_of_designs_without_them_stays_and_with_them_changes():
    plain, _ = read("")
    drawn, _ = read('start_drawn_from = "10 to 30 days"')
    assert plain is not None
    assert drawn is not None
    assert design_hash(plain) != design_hash(drawn)
    assert any("start drawn from: was nothing" in said for said in design_changes(plain, drawn))
    assert any("now nothing" in said for said in design_changes(drawn, plain))
