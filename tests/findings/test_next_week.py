"""The week ahead: no step passes a limit, none touches a running trial, and reasons that disagree stay apart."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from tests.findings import steps_asked
from tests.findings.steps_asked import (
    decided,
    low_nitrate,
    note,
    tank,
    three_tanks,
)

from littoral.feeding.bottles import Bottle
from littoral.findings.decide import ANIMALS, decide_next
from littoral.findings.next_week.leaf_notes import signs_noted
from littoral.findings.next_week.model import (
    STEP,
    WEEKS_AHEAD,
    DoseAhead,
    LevelAhead,
    Reason,
    TankAhead,
)
from littoral.findings.next_week.steps import week_ahead
from littoral.trial.model import Trial

seen = steps_asked.seen


@given(one=tank("left"))
def test_no_step_ever_pushes_a_level_over_a_published_limit_or_a_ceiling(one: TankAhead) -> None:
    found = week_ahead([one], running=False, animals=ANIMALS)
    extra: dict[str, float] = {}
    for step in found.steps:
        assert step.watch[0] == ANIMALS
        for change in step.changes:
            dose = one.doses[change.at]
            share = change.after / change.before - 1
            assert abs(share) <= STEP + 1e-12
            assert (share > 0) == (step.way == "up")
            for nutrient, mg_per_l in dose.adds_per_week.items():
                extra[nutrient] = extra.get(nutrient, 0.0) + max(share, 0.0) * mg_per_l * WEEKS_AHEAD
    for nutrient, more in extra.items():
        if more <= 0:
            continue
        assert nutrient != "ammonium"
        assert not one.urgent
        known = one.levels.get(nutrient)
        if known is None:
            continue
        assert not known.limit_open
        for end in (known.ceiling, known.limit):
            if end is not None:
                assert known.high + more <= end * (1 + 1e-9) + 1e-9


@settings(max_examples=40)
@given(one=tank("left"), other=tank("right"))
def test_no_step_touches_a_running_trial_and_the_animals_come_first(one: TankAhead, other: TankAhead) -> None:
    found = week_ahead([one, other], running=True, animals=ANIMALS)
    assert found.steps == ()
    assert found.held_back == ()
    urgent = (*one.urgent, *other.urgent)
    assert found.animals[:-1] == urgent
    assert all(part in "".join(found.animals[-1:]) for part in ("the animals first", "goes before the trial") if urgent)


@given(one=tank("left"))
def test_reasons_that_disagree_about_a_bottle_never_give_a_step(one: TankAhead) -> None:
    found = week_ahead([one], running=False, animals=ANIMALS)
    for step in found.steps:
        bottle = {change.bottle for change in step.changes}
        whole: dict[str, float] = {}
        own: dict[str, float] = {}
        for dose in one.doses:
            for nutrient, mg_per_l in dose.adds_per_week.items():
                whole[nutrient] = whole.get(nutrient, 0.0) + mg_per_l
                own[nutrient] = own.get(nutrient, 0.0) + mg_per_l * (dose.bottle in bottle)
        brought = {nutrient for nutrient, mg_per_l in own.items() if mg_per_l >= 0.2 * whole[nutrient]}
        assert {reason.way for reason in one.reasons if reason.nutrient in brought} == {step.way}


def test_a_step_says_what_why_and_what_to_watch() -> None:
    (step,) = week_ahead([low_nitrate()], running=False, animals=ANIMALS).steps
    assert step.do == (
        "Right tank: macro stock, 5 mL instead of 4 mL each time (Wed, Sun), for one week. In that week: nitrate "
        "+1.5 mg/L."
    )
    assert step.because == ("Nitrate is low.",)
    assert "test it before the next water change" in step.watch[1]


def test_a_step_is_made_smaller_by_a_limit_and_refused_where_too_little_is_left() -> None:
    near = low_nitrate(levels={"nitrate": LevelAhead("nitrate", 1.0, 18.2, ceiling=20.0)})
    (step,) = week_ahead([near], running=False, animals=ANIMALS).steps
    assert step.changes[0].after == pytest.approx(4.6)  # 1.8 mg/L over two weeks of 6 mg/L is 15 %
    at_it = low_nitrate(levels={"nitrate": LevelAhead("nitrate", 1.0, 12.9, limit=13.0, limit_name="CCME, long")})
    found = week_ahead([at_it], running=False, animals=ANIMALS)
    assert found.steps == ()
    assert "published limit (CCME, long, 13 mg/L)" in found.held_back[0]
    urgent = week_ahead([low_nitrate(urgent=("Too much.",))], running=False, animals=ANIMALS)
    assert urgent.steps == ()
    assert "the animals come first" in urgent.held_back[0]
    undosed = week_ahead([low_nitrate(doses=())], running=False, animals=ANIMALS)
    assert "Nothing that is dosed brings it" in undosed.held_back[0]


def test_two_bottles_share_the_room_and_none_that_may_harm_at_once_goes_up() -> None:
    first = DoseAhead(0, "macro", "macro stock", "Wed", 4.0, "mL", {"nitrate": 6.0})
    second = replace(first, at=1, bottle="salt", name="saltpetre")
    near = {
        "nitrate": LevelAhead("nitrate", 1.0, 16.5, ceiling=20.0)
    }  # room for 3.5; a quarter of 6 for two weeks is 3
    found = week_ahead([low_nitrate(doses=(first, second), levels=near)], running=False, animals=ANIMALS)
    assert [step.changes[0].bottle for step in found.steps] == ["macro"]
    assert "Saltpetre" in found.held_back[0] or "saltpetre" in found.held_back[0]
    mixed = replace(first, adds_per_week={"nitrate": 6.0, "ammonium": 0.5})
    refused = week_ahead([low_nitrate(doses=(mixed,))], running=False, animals=ANIMALS)
    assert refused.steps == ()
    assert "ammonium, which can harm animals within hours" in refused.held_back[0]


def test_a_finding_against_the_levels_is_a_conflict_and_not_averaged() -> None:
    less = ("right", Reason("nitrate", "down", "finding", "Sparing was better in algae."))
    found = week_ahead([low_nitrate()], running=False, animals=ANIMALS, of_findings=[less])
    assert found.steps == ()
    (conflict,) = found.conflicts
    assert (conflict.more, conflict.less) == (("Nitrate is low.",), ("Sparing was better in algae.",))
    elsewhere = ("left", less[1])
    assert week_ahead([low_nitrate()], running=False, animals=ANIMALS, of_findings=[elsewhere]).conflicts == ()


def test_a_findings_step_is_held_back_where_the_levels_leave_no_room(keepers_made: ModuleType) -> None:
    free, unknown = decided(keepers_made, tanks=[low_nitrate(reasons=())]), decided(keepers_made)
    assert [step.aims for step in free.steps] == [step.aims for step in unknown.steps] == [("height growth",)]
    assert "No step was held against levels" in unknown.limits[0]
    assert "before you give more" in unknown.steps[0].do
    assert "before you give more" not in free.steps[0].do
    full = low_nitrate(levels={"nitrate": LevelAhead("nitrate", 1.0, 19.9, ceiling=20.0)}, reasons=())
    held = decided(keepers_made, tanks=[full])
    assert held.steps == ()
    assert "mg/L more nitrate a week below its ceiling" in held.held_back[0]
    against = low_nitrate(reasons=(Reason("nitrate", "down", "level", "Nitrate is high."),))
    opposed = decided(keepers_made, tanks=[against])
    assert opposed.steps == ()
    assert opposed.ahead.conflicts[0].more == ("Full was better in height growth.",)


def test_no_step_follows_what_differed_before_the_regimes_began(keepers_made: ModuleType) -> None:
    growth = keepers_made.keeper_finding((0.025, 0.001), (0.035, 0.001), error=0.001)
    for tanks, steps in ((1, 1), (3, 0)):  # of three tanks per arm that rule says that they differed beforehand
        finding = replace(growth, rule="these two tanks differ", tanks_per_arm=tanks)
        found = decide_next(keepers_made.keeper_trial(), [finding], rng=np.random.default_rng(1))
        assert len(found.steps) == steps
        assert len(found.open_questions) == 1 - steps


def test_a_tank_gets_one_step_a_week_for_two_together_would_go_past_the_room(keepers_made: ModuleType) -> None:
    room = {"nitrate": LevelAhead("nitrate", 1.0, 5.0, floor=5.0, ceiling=14.0)}
    both = decided(keepers_made, tanks=[low_nitrate(levels=room)])
    alone = decided(keepers_made, tanks=[low_nitrate(levels=room, reasons=())])
    (by_levels,) = both.ahead.steps
    assert (by_levels.tank, by_levels.way, both.steps) == ("right", "up", ())
    assert "the right tank has a step by its levels in that week; one step at a time" in both.held_back[0]
    assert [step.tanks for step in alone.steps] == [("right",)]  # either of them by itself has its room


def test_a_findings_step_down_says_which_floor_may_be_passed(keepers_made: ModuleType) -> None:
    slower = keepers_made.keeper_finding((0.035, 0.001), (0.025, 0.001), error=0.001)
    low = {"nitrate": LevelAhead("nitrate", 6.0, 12.0, floor=5.0)}
    left = low_nitrate(tank="left", name="left tank", arm="full", levels=low, reasons=())
    found = decide_next(keepers_made.keeper_trial(), [slower], rng=np.random.default_rng(1), tanks=[left])
    (step,) = found.steps
    assert step.watch[-1] == "Nitrate in the left tank: test it, it may come below its floor of 5 mg/L."


def test_a_small_tank_gets_the_larger_rise_and_is_held_against_that(keepers_made: ModuleType) -> None:
    trial = three_tanks(keepers_made)
    growth = keepers_made.keeper_finding((0.025, 0.001), (0.035, 0.001), error=0.001)

    def told(of: Trial, **levels: LevelAhead) -> Any:
        tanks = [
            low_nitrate(tank=key, name=f"{key} tank", reasons=(), levels={"nitrate": levels.get(key, plenty)})
            for key in ("right", "small")
        ]
        return decide_next(of, [growth], rng=np.random.default_rng(1), tanks=tanks)

    plenty = LevelAhead("nitrate", 1.0, 5.0, ceiling=200.0)
    (step,) = told(trial).steps
    big, little = step.moves
    assert little.more["nitrate"] == pytest.approx(3 * big.more["nitrate"])
    assert "mg/L in the right tank; nitrate" in step.do
    assert step.do.endswith("mg/L in the small tank.")
    # room for the rise of the first tank, and not for that of the second
    near = LevelAhead("nitrate", 1.0, 5.0, ceiling=5.0 + 1.5 * WEEKS_AHEAD * big.more["nitrate"])
    assert told(trial, right=near).steps == (step,)
    held = told(trial, small=near)
    assert held.steps == ()
    assert "in the small tank there is no room for 6.8 mg/L more nitrate a week" in held.held_back[0]
    unmeasured = told(three_tanks(keepers_made, vessel=None))
    assert unmeasured.steps == ()
    assert "how much it would bring to the small tank is not known" in unmeasured.held_back[0]


def test_a_finding_brings_nothing_new_whose_level_is_not_known(keepers_made: ModuleType) -> None:
    """The full bottle holds potassium too: more of it for a tank that has it, none for one that never had."""
    growth = keepers_made.keeper_finding((0.025, 0.001), (0.035, 0.001), error=0.001)

    def told(with_it: str, of: dict[str, float], tanks: list[TankAhead] | None) -> Any:
        trial = keepers_made.keeper_trial()
        rich = Bottle("rich", "rich stock", content_mg_per_ml={"nitrate": 40.0, **of})
        regimes = {
            key: replace(one, doses=tuple(replace(dose, of="rich") for dose in one.doses)) if key in with_it else one
            for key, one in trial.regimes.items()
        }
        trial = replace(trial, bottles={**trial.bottles, "rich": rich}, regimes=regimes)
        return decide_next(trial, [growth], rng=np.random.default_rng(1), tanks=tanks)

    right = low_nitrate(reasons=())
    potassium = {"potassium": 10.0}
    new = told("full", potassium, [right])
    assert new.steps == ()
    assert "bring potassium to the right tank for the first time" in new.held_back[0]
    assert told("full", potassium, None).steps == ()
    for tanks in ([right], None):
        assert len(told("full sparing", potassium, tanks).steps) == 1
    nitrate = right.levels["nitrate"]
    for level, steps in (
        (LevelAhead("potassium", 1.0, 2.0), 1),  # followed, and no limit known
        (LevelAhead("potassium", 0.0, 0.0, floor=5.0, unfollowed=True), 0),
        (LevelAhead("potassium", 0.0, 2.0, limit=50.0, unfollowed=True), 1),
    ):
        known = replace(right, levels={"nitrate": nitrate, "potassium": level})
        assert len(told("full", potassium, [known]).steps) == steps
    # what may harm at once is brought by no step, whether levels are worked out or not
    for tanks in ([right], None):
        harmful = told("full sparing", {"ammonium": 1.0}, tanks)
        assert harmful.steps == ()
        assert "the animals come first" in harmful.held_back[0]


def test_a_running_trial_is_left_alone(keepers_made: ModuleType) -> None:
    found = decided(keepers_made, tanks=[low_nitrate(urgent=("Too much copper.",))], running=True)
    assert found.steps == ()
    assert found.ahead.steps == ()
    assert found.hold.startswith("The trial runs until 26 April 2026: change nothing in its arms before the end")
    assert found.ahead.animals[0] == "Too much copper."
    assert "change a quarter of the water today" in found.ahead.animals[1]


def test_signs_are_read_from_notes_by_key_or_words_and_old_ones_are_left(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    entries = [
        note(trial, 10, "Leaf signs: old-yellow; Growth is slow all over, wobbly."),
        note(trial, 11, "leaf sign: Old leaves turn yellow between the veins, which stay green"),
        note(trial, 11.5, "leaf signs are fine"),
        note(trial, 12, "leaf signs: stunted", "right"),
        note(trial, 0, "leaf signs: glassy"),
        note(trial, 40, "leaf signs: bitten"),
    ]
    found, strange = signs_noted(trial, entries, "left", now_day=25.0)
    assert found == {"old-yellow", "stunted", "old-yellow-between"}
    assert strange == ("wobbly",)
