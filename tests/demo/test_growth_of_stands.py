from __future__ import annotations

from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.demo.growth import algae_share, height_rate, log_growth, ramped_days, stand_state, trims
from littoral.demo.story import BASELINE_DAYS, SATURDAY, STANDS, Story, tell

STORIES = [tell(seed, days=56) for seed in (1, 2, 3)]
stories = st.sampled_from(STORIES)
tanks = st.sampled_from(["left", "right"])
stands = st.sampled_from([stand.key for stand in STANDS])
days = st.floats(0.0, 56.0)


def stand_of(story: Story, key: str):
    return next(stand for stand in story.stands if stand.key == key)


@given(stories, tanks, stands, days, days)
def test_height_rises_between_trims_and_falls_to_the_cut_at_each(story, tank, key, one, other) -> None:
    stand = stand_of(story, key)
    early, late = sorted((one, other))
    cuts = trims(story, stand, tank)
    if not any(early < trim.day <= late for trim in cuts):
        assert stand_state(story, stand, tank, early).height_cm <= stand_state(story, stand, tank, late).height_cm
    for trim in cuts:
        assert stand_state(story, stand, tank, trim.day).height_cm == pytest.approx(trim.after_cm)
        assert trim.before_cm > stand.limit_cm > trim.after_cm
        assert int(trim.day) % 7 == SATURDAY


@given(stories, tanks, stands)
def test_the_stated_rate_is_the_slope_of_log_height_once_the_regime_shows(story, tank, key) -> None:
    stand = stand_of(story, key)
    start, end = 21.0, 25.9  # after the ramp, no Saturday between
    rise = log(stand_state(story, stand, tank, end).height_cm / stand_state(story, stand, tank, start).height_cm) / (
        end - start
    )
    assert rise == pytest.approx(height_rate(story, stand, tank), rel=1e-9)


def test_only_the_tank_differs_before_the_regimes_do() -> None:
    story = STORIES[0]
    for stand in story.stands:
        rises = {
            tank: log(stand_state(story, stand, tank, BASELINE_DAYS).height_cm / stand.start_cm)
            for tank in story.arm_of
        }
        assert rises["left"] / rises["right"] == pytest.approx(story.tank_rate["left"] / story.tank_rate["right"])


@given(st.floats(0.0, 60.0), st.floats(0.001, 0.1), st.floats(0.5, 2.0))
def test_log_growth_is_the_integral_of_the_rate(day, rate, ratio) -> None:
    step = 1e-3
    slope = (log_growth(rate, ratio, day + step) - log_growth(rate, ratio, day)) / step
    share = min(1.0, max(0.0, (day - BASELINE_DAYS) / 5.0))
    assert slope == pytest.approx(rate * (1 + (ratio - 1) * share), abs=rate * 1e-3)
    assert ramped_days(day) <= max(0.0, day - BASELINE_DAYS)


@given(stories, tanks, st.sampled_from(["stone", "wood", "glass"]), days, days)
def test_algae_never_go_back_and_start_at_none(story, tank, kind, one, other) -> None:
    early, late = sorted((one, other))
    assert algae_share(story, tank, kind, 0.0) == 0.0
    assert algae_share(story, tank, kind, early) <= algae_share(story, tank, kind, late)
    assert algae_share(story, tank, kind, late) <= story.algae_end[story.arm_of[tank]][kind]


def test_the_red_plant_reddens_only_with_the_full_regime_and_only_after_the_baseline() -> None:
    story = STORIES[0]
    red = stand_of(story, "red-stem")
    assert stand_state(story, red, "left", 14.0).redder_a == 0.0
    assert 0.0 < stand_state(story, red, "left", 25.0).redder_a < stand_state(story, red, "left", 50.0).redder_a
    assert stand_state(story, red, "right", 50.0).redder_a == 0.0


def test_spread_is_the_same_function_of_time_whatever_is_cut() -> None:
    story = STORIES[0]
    red = stand_of(story, "red-stem")
    assert stand_state(story, red, "right", 40.0).spread == pytest.approx(exp(red.spread_rate * 40.0 * 0.98))


def test_other_seeds_tell_other_facts() -> None:
    one, two, three = STORIES
    assert one.stands != two.stands != three.stands
    assert tell(2, days=56) == two
    phones = {tell(seed, days=56).phone.name for seed in range(2, 30)}
    assert phones == {"plain", "contrasty", "soft"}
    assert {tell(seed, days=56).arm_of["left"] for seed in range(2, 30)} == {"full", "sparing"}
