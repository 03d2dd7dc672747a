"""A look taught by strokes: what it tells apart, what it refuses, and that the same strokes give the same."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.imaging.series import measure_series
from littoral.imaging.taught import Brush, Sample, settled, teach, too_few
from littoral.imaging.taught_series import CONTRADICT, NOT_ENOUGH


def around(middle: tuple[float, ...], count: int, seed: int, spread: float = 2.0) -> np.ndarray:
    return np.random.default_rng(seed).normal(middle, spread, (count, 5))


STAND, GROUND = (40.0, 10.0, 20.0, 22.0, 5.0), (45.0, -20.0, 25.0, 30.0, 0.0)


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1), st.integers(30, 300), st.integers(30, 300))
def test_sides_that_differ_are_told_apart_and_in_any_order(seed: int, many: int, more: int) -> None:
    samples = [Sample(True, around(STAND, many, seed)), Sample(False, around(GROUND, more, seed + 1))]
    look, turned = teach(samples), teach(samples[::-1])
    assert look.agree > 0.95
    assert not look.contradicted
    assert look.against == ()
    fresh = around(STAND, 50, seed + 2).astype(np.float32)
    assert look.log_odds(fresh) == pytest.approx(turned.log_odds(fresh), abs=1e-4)
    assert (look.log_odds(fresh) > 0).mean() > 0.9


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1))
def test_a_stroke_called_the_wrong_side_is_named_and_does_not_carry_the_others(seed: int) -> None:
    right = [Sample(True, around(STAND, 90, seed + i)) for i in range(3)]
    right += [Sample(False, around(GROUND, 90, seed + 10 + i)) for i in range(3)]
    look = teach([*right, Sample(True, around(GROUND, 60, seed + 20))])
    assert look.against == (6,)
    assert (look.log_odds(around(STAND, 80, seed + 30).astype(np.float32)) > 0).mean() > 0.9


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1))
def test_the_same_place_called_both_is_a_contradiction(seed: int) -> None:
    assert teach([Sample(True, around(STAND, 300, seed)), Sample(False, around(STAND, 300, seed + 1))]).contradicted


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1), st.floats(0.001, 0.999))
def test_however_rare_the_stand_the_series_takes_at_most_a_fifth_of_what_was_marked(seed: int, share: float) -> None:
    marked = around(STAND, 200, seed, 9.0)
    look = teach([Sample(True, marked), Sample(False, around(GROUND, 200, seed + 1, 9.0))])
    rng = np.random.default_rng(seed)
    there = round(4000 * share)
    pixels = np.concatenate([around(STAND, there, seed + 2, 9.0), around(GROUND, 4000 - there, seed + 3, 9.0)])
    done = settled(look, look.log_odds(rng.permutation(pixels).astype(np.float32)).astype(float))
    odds = look.log_odds(marked.astype(np.float32))
    assert (odds < min(done.border, 0)).mean() <= 0.2 + (odds < 0).mean()
    assert (odds <= done.border).mean() <= max(0.2, float((odds <= 0).mean())) + 0.01
    assert look.least <= done.border <= look.most


def test_what_is_missing_is_said() -> None:
    some, few = Sample(True, around(STAND, 40, 1)), Sample(False, around(GROUND, 5, 2))
    assert too_few([some, few]) == "strokes beside the stand are missing"
    with pytest.raises(ValueError, match="beside the stand"):
        teach([some, few])


def line(x0: float, y0: float, x1: float, y1: float, *, stand: bool, photo: int = 0) -> Brush:
    return Brush(photo, stand, np.array([[x0, y0], [x1, y1]]), 6.0)


@pytest.fixture(scope="module")
def shots(tank) -> list[bytes]:
    return [tank.jpeg(tank.shoot(tank.draw(red_px=60 + 25 * i, green_px=120, seed=i), seed=i)) for i in range(4)]


def covers(tank, shots: list[bytes], strokes: dict[int, list[Brush]] | None) -> tuple[list, list]:
    kept: dict[int, np.ndarray] = {}
    frames = measure_series(
        shots.__getitem__, len(shots), tank.view(), store=kept.__setitem__, load=kept.__getitem__, strokes=strokes
    )
    return [one.regions[0].cover for one in frames], [one.regions[0].flags for one in frames]


def test_strokes_on_one_photo_tell_the_stand_on_all_of_them(tank, shots) -> None:
    """The plant is a rectangle 80 px wide in a polygon of 120 x 250 px, so that its cover is known."""
    on = [line(130, 370, 190, 390, stand=True), line(140, 345, 190, 365, stand=True)]
    beside = [line(105, 200, 210, 260, stand=False), line(206, 300, 212, 395, stand=False)]
    found, flags = covers(tank, shots, {0: [*on, *beside]})
    assert found == pytest.approx([80 * (60 + 25 * i) / (120 * 250) for i in range(4)], abs=0.02)
    assert flags == [()] * 4
    plain = covers(tank, shots, None)[0]
    for strokes, flag in (
        (on, NOT_ENOUGH.format(why="strokes beside the stand are missing")),
        ([*on, *(Brush(0, False, one.path_px, 6.0) for one in on)], CONTRADICT),
    ):
        kept, flags = covers(tank, shots, {0: strokes})
        assert kept == plain
        assert all(flag in one for one in flags)
