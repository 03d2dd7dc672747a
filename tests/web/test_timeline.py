"""Where marks, gaps and weeks lie on the strip."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.acts.trial_page import Moment
from littoral.web.interval import interval_bar
from littoral.web.timeline import strip_of


def test_marks_lie_on_their_moments(bench):
    strip = strip_of(bench.pages["small"])
    left, right = strip.lanes
    assert [(mark.kind, mark.moment) for mark in left.marks] == [("dose", 1), ("water change", 5)]
    assert left.marks[0].at == pytest.approx(100 / 9, abs=0.001)
    assert [(mark.kind, mark.moment) for mark in right.marks] == [("missed dose", 6)]
    assert strip.kinds == ("dose", "missed dose", "water change")  # a note is told in words only


def test_missing_photos_are_gaps(bench):
    left, right = strip_of(bench.pages["small"]).lanes
    assert left.stretches == ((0.0, 100.0),)
    assert right.stretches == (
        (0.0, pytest.approx(100 * 3.5 / 9, abs=0.001)),
        (pytest.approx(100 * 5.5 / 9, abs=0.001), 100.0),
    )


def test_weeks_and_the_end_of_the_baseline(bench):
    page = bench.pages["small"]
    strip = strip_of(page)
    assert strip.weeks == (0.0, pytest.approx(100 * 7 / 9, abs=0.001))
    assert strip.baseline_to == pytest.approx(100 * 2.5 / 9, abs=0.001)
    assert strip_of(replace(page, trial=replace(page.trial, baseline_days=0))).baseline_to is None
    assert strip_of(replace(page, trial=replace(page.trial, baseline_days=14))).baseline_to == 100.0


def test_moments_may_be_hours(bench):
    page = bench.pages["small"]
    hourly = tuple(
        Moment(1 + hour / 24, f"Day 1, {hour:02d}:00", page.trial.start + timedelta(1)) for hour in range(10)
    )
    page = replace(page, moments=hourly)
    assert not page.whole_days
    assert page.moment_at(1.0) == 0
    assert page.moment_at(1 + 2.5 / 24) == 2
    assert page.moment_at(99) == 9
    assert strip_of(page).weeks == ()


def test_the_strip_of_one_moment(bench):
    page = bench.pages["small"]
    one = replace(page, moments=page.moments[:1], tanks=tuple(replace(t, shown=t.shown[:1]) for t in page.tanks))
    assert strip_of(one).lanes[0].stretches == ((0.0, 50.0),)


finite = st.floats(-1e6, 1e6)


@given(low=finite, middle=finite, high=finite, smallest=st.none() | st.floats(0, 1e6), wider=st.floats(0, 1e6))
def test_an_interval_bar_keeps_the_order_and_stays_inside(low, middle, high, smallest, wider):
    low, middle, high = sorted((low, middle, high))
    bar = interval_bar(effect=middle, low=low, high=high, smallest=smallest, claim=(low - wider, high + wider))
    assert 0 <= bar.claim[0] <= bar.low <= bar.effect <= bar.high <= bar.claim[1] <= 100
    assert 0 <= bar.zero <= 100
    # It lies on the side of zero that its number says, at the precision drawn.
    if low > 0:
        assert bar.low >= bar.zero
    if high < 0:
        assert bar.high <= bar.zero
    if smallest is not None:
        assert 0 <= bar.band[0] <= bar.zero <= bar.band[1] <= 100


def test_an_interval_that_does_not_hold_its_effect_is_refused():
    with pytest.raises(ValueError, match="does not hold the effect 3"):
        interval_bar(effect=3, low=0, high=2, smallest=None)
