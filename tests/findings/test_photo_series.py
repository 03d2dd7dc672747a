"""From measured photos to series, and the designs beyond one pair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from littoral.findings.answers import answer
from littoral.findings.measured import Measured
from littoral.findings.photo_series import places, taken
from littoral.imaging.results import OTHER_LIGHT
from littoral.trial.model import Arm, Question

Make = Callable[..., Any]
GROWTH = Question("growth", "Faster?", "height growth", primary=True)


def steady(
    rates: dict[str, float], noise: Callable[[int, str, float], float]
) -> Callable[[int, str], dict[str, float]]:
    def take(day: int, tank: str) -> dict[str, float]:
        return {"height_cm": 10 * float(np.exp(rates.get(tank, 0.02) * day + noise(day, tank, 0.02))), "cover": 0.2}

    return take


def test_places_are_the_regions_of_the_measures_kinds_or_those_asked_for(make_trial: Make) -> None:
    trial = make_trial(GROWTH)
    assert [place.region for place in places(trial, GROWTH, "left")] == ["red-stem", "carpet"]
    asked = replace(GROWTH, of=("carpet",))
    assert [(place.region, place.name) for place in places(trial, asked, "left")] == [("carpet", "grass-like carpet")]
    algae = Question("algae", "Where?", "algae")
    assert [(place.region, place.kind) for place in places(trial, algae, "right")] == [
        ("stone", "stone"),
        ("root", "wood"),
    ]


def test_values_that_cannot_be_used_are_left_out_and_counted(make_trial: Make, make_measured: Make) -> None:
    trial = make_trial(GROWTH)

    def take(day: int, tank: str) -> dict[str, float | None]:
        return {"height_cm": None if day == 3 else 0.0 if day == 4 else float("nan") if day == 5 else 10.0}

    place = places(trial, GROWTH, "left")[0]
    found = taken(trial, make_measured(trial, {"red-stem": take}), "height growth", place)
    assert found.unusable == 3
    assert found.series.day.size == len(found.photos) == 53


def test_heights_without_a_scale_are_in_pixels(make_trial: Make, make_measured: Make) -> None:
    trial = make_trial(GROWTH)
    measured = make_measured(trial, {"red-stem": lambda day, tank: {"height_px": 100.0 + day}})
    series = taken(trial, measured, "height growth", places(trial, GROWTH, "left")[0]).series
    assert (series.unit, series.value[0]) == ("px", 100.0)


def test_of_two_views_of_one_stand_the_fuller_one_is_taken(make_trial: Make, make_measured: Make) -> None:
    trial = make_trial(GROWTH)
    many = make_measured(trial, {"red-stem": lambda day, tank: {"height_cm": 10.0}})
    few = make_measured(trial, {"red-stem": lambda day, tank: {"height_cm": 99.0}}, skip=range(10, 56))
    aside = tuple(replace(photo, view="side", entry_id=f"side-{photo.entry_id}") for photo in few.photos)
    both = Measured((*aside, *many.photos), "test")
    series = taken(trial, both, "height growth", places(trial, GROWTH, "left")[0]).series
    assert set(series.value.tolist()) == {10.0}
    assert series.day.size == 56


def test_compactness_without_a_scale_says_so(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    trial = make_trial(replace(GROWTH, measure="compactness", of=("red-stem",)))
    measured = make_measured(trial, {"red-stem": lambda day, tank: {"height_px": 100.0, "cover": 0.5}})
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert finding.missing == (
        "left tank and right tank: no width in cm was given with the view, so there is no height in cm"
    )


def test_days_that_do_not_pair_leave_each_tank_by_itself(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]
) -> None:
    """One tank photographed on even days and one on odd ones: no pairs, and still an answer."""
    trial = make_trial(replace(GROWTH, of=("red-stem",)), baseline_days=0.0)
    measured = make_measured(trial, {"red-stem": steady({"left": 0.02, "right": 0.04}, noise)})
    odd = tuple(photo for photo in measured.photos if int(photo.day) % 2 == (photo.view == "right"))
    finding = answer(make_book(trial), trial, measured=Measured(odd, "test"))[0]
    assert [value.days for value in finding.arms] == [28, 28]
    assert finding.low is not None
    assert finding.high is not None
    assert finding.low < 0.02 < finding.high


def test_a_stand_seldom_seen_is_left_out_of_its_tanks_mean(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]
) -> None:
    trial = make_trial(GROWTH, baseline_days=0.0)
    take = steady({"left": 0.02, "right": 0.02}, noise)
    seldom = {"carpet": lambda day, tank: take(day, tank) if day % 7 == 0 else {}}
    measured = make_measured(trial, {"red-stem": take, **seldom})
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert [value.days for value in finding.arms] == [56, 56]
    assert "grass-like carpet, left tank: measured on too few photos, left out of the tank's mean." in (
        finding.evidence.remarks
    )


def test_two_tanks_per_arm_are_described_and_no_more(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]
) -> None:
    trial = make_trial(replace(GROWTH, of=("red-stem",)), tanks_per_arm=2, baseline_days=0.0)
    rates = {"left": 0.02, "left2": 0.022, "right": 0.05, "right2": 0.052}
    finding = answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": steady(rates, noise)}))[0]
    assert finding.rule == "these two tanks differ"
    assert "a difference between these tanks; tank or regime, unknown." in finding.wording
    assert "on average of 2 tanks" in finding.wording
    assert finding.effect == pytest.approx(0.03, abs=0.003)


def test_of_three_arms_the_first_two_are_compared_and_that_is_said(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]
) -> None:
    trial = make_trial(replace(GROWTH, of=("red-stem",)), baseline_days=0.0)
    trial = replace(trial, arms=(*trial.arms, Arm("none", "nothing", ("third",))))
    measured = make_measured(trial, {"red-stem": steady({}, noise)})
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert "only the first two arms are compared" in finding.design
    assert {value.arm for value in finding.arms} == {"sparing", "full"}


def in_two_views(make_trial: Make, make_measured: Make, take: Any, *, apart_days: float) -> tuple[Any, Measured]:
    """Return a trial whose carpet is seen by a view of its own, photographed so much later than the stems."""
    trial = make_trial(GROWTH, baseline_days=0.0)
    whole = make_measured(trial, {"red-stem": take, "carpet": take})
    photos = []
    for photo in whole.photos:
        stem, carpet = photo.regions
        photos.append(replace(photo, regions=(stem,)))
        later = replace(photo, view=f"{photo.view}-low", day=photo.day + apart_days, entry_id=f"low-{photo.entry_id}")
        photos.append(replace(later, regions=(carpet,)))
    return trial, Measured(tuple(photos), "test")


def test_a_tank_seen_by_two_views_is_answered_from_the_days_of_both(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]
) -> None:
    take = steady({"left": 0.02, "right": 0.04}, noise)
    trial, measured = in_two_views(make_trial, make_measured, take, apart_days=0.01)
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert [value.days for value in finding.arms] == [56, 56]
    assert finding.low is not None
    assert finding.high is not None
    assert finding.low < 0.02 < finding.high


def test_two_views_that_share_too_few_days_say_so(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]
) -> None:
    take = steady({"left": 0.02, "right": 0.04}, noise)
    trial, measured = in_two_views(make_trial, make_measured, take, apart_days=54.0)
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert finding.rule == "not answered"
    assert finding.missing == (
        "left tank: red stem plant and grass-like carpet were photographed together on 2 days, at least 4 are needed"
    )


def test_a_size_under_another_light_that_its_neighbours_contradict_is_set_aside(
    make_trial: Make, make_measured: Make, make_book: Make
) -> None:
    """The same spike in both tanks; in the right one no photo is flagged, so there it stays."""
    trial = make_trial(GROWTH)
    measured = make_measured(
        trial, {"red-stem": lambda day, tank: {"height_cm": 10 * 1.02**day * (1.6 if day == 33 else 1 + day % 3 / 99)}}
    )
    flagged = Measured(
        tuple(
            replace(photo, flags=(OTHER_LIGHT,)) if photo.view == "left" and 30 < photo.day < 36 else photo
            for photo in measured.photos
        ),
        "test",
    )
    aside, kept = (taken(trial, flagged, "height growth", places(trial, GROWTH, tank)[0]) for tank in ("left", "right"))
    assert [photo.day for photo in aside.contradicted] == [33.5]
    assert (aside.unusable, aside.series.day.size, kept.series.day.size) == (0, 55, 56)
    assert 33.5 not in aside.series.day
    remarks = answer(make_book(trial), trial, measured=flagged)[0].evidence.remarks
    assert any("left tank: the size on day 33.5 was set aside" in remark for remark in remarks)
