from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.trial.design import DrawError, design_of, draw_arms
from littoral.trial.plan import Plan, alternating
from littoral.trial.written.reader import read_trial

TRIAL = read_trial((Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8"), where="")[0]
assert TRIAL is not None


def test_one_tank_per_arm_cannot_tell_the_factor_from_the_tank():
    design = design_of(TRIAL)
    assert design.name == "one tank per arm, with a baseline of 14 days"
    assert (design.arms, design.tanks_per_arm, design.drawn, design.pairs_in_frame) == (2, 1, True, 0)
    assert (
        design.can == "It can show whether these tanks differ, and whether the difference changed after the arms began."
    )
    assert "cannot tell the feeding regime from other differences" in design.cannot
    assert "effect" not in design.can


def test_several_tanks_per_arm_can_show_an_effect():
    arms = tuple(
        replace(arm, tanks=tuple(f"{arm.key}{number}" for number in range(count)))
        for arm, count in zip(TRIAL.arms, (3, 4), strict=True)
    )
    design = design_of(replace(TRIAL, arms=arms, views={}, baseline_days=0.0))
    assert design.name == "at least 3 tanks per arm, without a baseline"
    assert design.can == "It can show an effect of the feeding regime over tanks."


def test_arms_in_one_frame_are_counted():
    view = TRIAL.views["left"]
    both = replace(view, panes=(view.panes[0], replace(view.panes[0], tank="right")))
    assert design_of(replace(TRIAL, views={"both": both})).pairs_in_frame == 1


@given(st.integers(2, 5), st.integers(0, 12), st.integers(0, 2**32))
def test_a_draw_uses_every_tank_once_and_evenly_and_can_be_repeated(arms, more, seed):
    tanks = [f"t{number}" for number in range(arms + more)]
    names = [f"a{number}" for number in range(arms)]
    drawn = draw_arms(tanks, names, rng=np.random.default_rng(seed))
    assert sorted(tank for arm in drawn.values() for tank in arm) == sorted(tanks)
    sizes = [len(drawn[name]) for name in names]
    assert max(sizes) - min(sizes) <= 1
    assert drawn == draw_arms(tanks, names, rng=np.random.default_rng(seed))


def test_every_division_is_drawn_equally_often():
    rng = np.random.default_rng(5)
    counts = Counter(draw_arms(("a", "b", "c", "d"), ("x", "y"), rng=rng)["x"] for _ in range(6000))
    assert len(counts) == 6
    # chi-squared with 5 degrees of freedom exceeds 20.5 once in a thousand (any table of the distribution)
    assert sum((count - 1000) ** 2 / 1000 for count in counts.values()) < 20.5


@pytest.mark.parametrize(
    ("tanks", "arms", "said"),
    [
        (("a",), ("x", "y"), r"1 tanks cannot be drawn for 2 arms\. Every arm needs a tank"),
        (("a", "b"), ("x",), r"2 tanks cannot be drawn for 1 arms\."),
        (("a", "a"), ("x", "y"), r"A name is given twice\."),
    ],
)
def test_a_draw_that_cannot_be_is_refused(tanks, arms, said):
    with pytest.raises(DrawError, match=said):
        draw_arms(tanks, arms, rng=np.random.default_rng(0))


SWAPPED = replace(
    TRIAL,
    plan=Plan("crossover", 7.0, 3.0, alternating(6), "alternating", half_life_days=1.0, pairs=(("right", "left"),)),
)


@pytest.mark.parametrize(
    ("plan", "name", "can", "cannot"),
    [
        (
            SWAPPED.plan,
            "one pair of tanks with the arms swapped over 6 periods of 7 days, with a baseline of 14 days",
            "It can show whether a difference follows the feeding regime in this pair of tanks.",
            "only this pair of tanks was asked",
        ),
        (
            replace(SWAPPED.plan, swapped=alternating(3)),
            "one pair of tanks with the arms swapped over 3 periods",
            "With fewer than 4 periods",
            "cannot tell the feeding regime from drift",
        ),
        (replace(SWAPPED.plan, washout_days=2.0), "one pair", "went with", "The washout lasts 2 half-lives"),
        (Plan("pairs", pairs=(("right", "left"),)), "one pair of tanks, with", "whether these tanks differ", "cannot"),
    ],
)
def test_what_a_crossover_or_a_pair_can_show(plan, name, can, cannot):
    design = design_of(replace(TRIAL, plan=plan))
    assert name in design.name
    assert can in design.can
    assert cannot in design.cannot
    assert "effect" not in design.can


def test_three_pairs_can_show_an_effect():
    tanks = {f"{side}{n}": TRIAL.tanks[side] for side in ("left", "right") for n in range(3)}
    arms = tuple(
        replace(arm, tanks=tuple(f"{side}{n}" for n in range(3)))
        for arm, side in zip(TRIAL.arms, ("right", "left"), strict=True)
    )
    pairs = tuple((f"right{n}", f"left{n}") for n in range(3))
    trial = replace(TRIAL, tanks=tanks, arms=arms, views={}, plan=Plan("pairs", pairs=pairs))
    assert design_of(trial).name.startswith("3 pairs of tanks")
    assert design_of(trial).can == "It can show an effect of the feeding regime over pairs."
