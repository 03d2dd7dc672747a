"""A course holds every photo: what it says, or why it says nothing; any field of the measures is a series."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from littoral.acts.photos.series_page import PhotoSeries, SeriesPage
from littoral.findings import photo_measures
from littoral.findings.measured import Measured
from littoral.findings.photo_course import courses, places_of
from littoral.findings.photo_measures import by_key, measures_of
from littoral.findings.repeats import REACH_95
from littoral.imaging.results import OTHER_LIGHT, RegionMeasure
from littoral.trial.entries import Trim


@pytest.fixture
def trial(make_trial):
    return make_trial()


@pytest.fixture
def measured(make_measured, trial, noise):
    def red(day, tank):
        return {
            "cover": 0.3 + 0.002 * day + noise(day, tank, 0.003),
            "height_cm": 8 + 0.1 * day + noise(day, tank, 0.05),
            "a": 30.0 + noise(day, tank, 0.5),
            "colour_error": 0.9,
        }

    stone = {"stone": lambda day, tank: {"algae": 0.001 * day}}
    return make_measured(trial, {"red-stem": red, **stone}, skip=(20, 21))


def changed(measured, entry_id, **changes):
    return replace(
        measured, photos=tuple(replace(one, **changes) if one.entry_id == entry_id else one for one in measured.photos)
    )


def course(trial, measured, key="height", place="red-stem", tank="left", entries=(), marks=None):
    found = courses(trial, measured, entries, by_key(measured)[key], place, marks=marks or {})
    return next(one for one in found if one.tank == tank)


def test_every_field_with_a_value_is_a_measure_with_its_places(measured) -> None:
    assert [one.key for one in measures_of(measured)] == ["height", "cover", "redness", "algae", "camera", "framing"]
    known = by_key(measured)
    assert places_of(measured, known["algae"]) == ("stone",)
    assert places_of(measured, known["camera"]) == ("",)


def test_a_field_that_comes_later_is_a_series_by_its_name_and_its_error_is_none(trial, measured, monkeypatch) -> None:
    @dataclass(frozen=True, slots=True)
    class Later(RegionMeasure):
        leaf_shine: float | None = None
        leaf_shine_error: float | None = None

    monkeypatch.setattr(photo_measures, "RegionMeasure", Later)
    photos = tuple(
        replace(one, regions=(Later(one.view, "red-stem", "stand", leaf_shine=0.5, leaf_shine_error=0.1),))
        for one in measured.photos
    )
    later = replace(measured, photos=photos)
    assert [one.key for one in measures_of(later)][-1] == "leaf-shine"
    found = course(trial, later, "leaf-shine")
    assert found.used[0].value == 0.5
    assert found.half_of(found.used[0]) == pytest.approx(REACH_95 * 0.1)


def test_photos_set_aside_unmeasured_or_contradicted_stay_in_the_course_with_the_reason(trial, measured) -> None:
    out = changed(measured, "photo-left-5", excluded="set aside by a person: a hand", regions=())
    out = changed(out, "photo-left-8", regions=())
    regions = next(one for one in out.photos if one.entry_id == "photo-left-30").regions
    tall = tuple(replace(one, height_cm=2 * one.height_cm) if one.height_cm else one for one in regions)
    out = changed(out, "photo-left-30", regions=tall, flags=(OTHER_LIGHT,))
    found = {one.photo: one for one in course(trial, out).points}
    assert len(found) == 54
    assert (found["photo-left-5"].value, found["photo-left-5"].why) == (None, "set aside by a person: a hand")
    assert found["photo-left-8"].why == "nothing was measured here on this photo"
    contradicted = found["photo-left-30"]
    assert contradicted.value is not None
    assert not contradicted.used
    assert "contradict" in contradicted.why
    assert sum(one.used for one in found.values()) == 51


def test_a_value_that_stands_out_counts_and_is_pointed_at_but_its_neighbours_are_not(trial, measured) -> None:
    regions = next(one for one in measured.photos if one.entry_id == "photo-left-40").regions
    low = tuple(replace(one, height_cm=one.height_cm - 3) if one.height_cm else one for one in regions)
    out = changed(measured, "photo-left-40", regions=low)
    marked = {one.photo: one.marks for one in course(trial, out).points if one.marks}
    assert list(marked) == ["photo-left-40"]
    assert "nothing wrong was noticed" in marked["photo-left-40"][0]
    known = course(trial, out, marks={"photo-left-40": ("blurred",)}).points
    assert next(one.marks for one in known if one.marks) == ("blurred", "stands out from the photos before and after")
    assert not any(one.marks for one in course(trial, measured).points)


def test_the_camera_s_part_is_what_photos_state_else_their_scatter(trial, measured) -> None:
    redness = course(trial, measured, "redness")
    assert redness.camera.doubt == "stated with each photo"
    assert redness.camera.half == pytest.approx(1.96 * 0.9)
    assert redness.camera.scatter == pytest.approx(0.5, rel=0.35)
    height = course(trial, measured)
    assert height.camera.doubt == "scatter between photos"
    assert height.camera.half == pytest.approx(1.96 * 0.05, rel=0.35)
    assert all(height.half_of(one) > 0 for one in height.used)
    assert course(trial, measured, "cover").start == pytest.approx(30.2, abs=0.5)


def sharing(measured: Measured, error_cm: float) -> Measured:
    """The same photos with an error of height that all of them have in common."""

    def told(one: RegionMeasure) -> RegionMeasure:
        return one if one.height_cm is None else replace(one, height_cm_common_error=error_cm)

    return replace(
        measured,
        photos=tuple(replace(photo, regions=tuple(told(one) for one in photo.regions)) for photo in measured.photos),
    )


def test_what_all_photos_share_is_in_what_one_leaves_open(trial, measured) -> None:
    plain, shared = course(trial, measured), course(trial, sharing(measured, 0.1))
    assert plain.camera.common == 0
    assert shared.camera.common == pytest.approx(0.1)
    assert shared.camera.scatter == plain.camera.scatter
    assert shared.camera.half == pytest.approx(np.hypot(plain.camera.half, 1.96 * 0.1))
    for one, other in zip(plain.used, shared.used, strict=True):
        assert other.error == one.error  # within the series nothing changes
        assert shared.half_of(other) == pytest.approx(np.hypot(plain.half_of(one), 1.96 * 0.1))


def test_the_page_says_whether_the_doubt_holds_what_all_photos_share(trial, measured) -> None:
    def page(of: Measured) -> SeriesPage:
        return PhotoSeries(trial, of, (), {}).chosen("height", "red-stem")

    assert page(measured).doubt_said.startswith("± is how far single photos scatter")
    assert "where a plant's foot and edges are taken to be" in page(sharing(measured, 0.1)).doubt_said
    assert all(one.single.endswith("that all share") for one in page(sharing(measured, 0.1)).summaries())


def test_trims_are_of_the_stand_or_the_whole_tank_and_no_outliers(trial, make_book, measured) -> None:
    book = make_book(trial)
    book.note(28.1, "left", Trim("red-stem", 4.0, 5.0))
    book.note(35.0, "left", Trim(None, 4.0, 5.0))
    book.note(36.0, "left", Trim("carpet", 4.0, 5.0))
    fell = replace(
        measured,
        photos=tuple(
            replace(
                one,
                regions=tuple(
                    replace(r, height_cm=r.height_cm - 5) if r.height_cm and one.day > 28.1 else r for r in one.regions
                ),
            )
            for one in measured.photos
        ),
    )
    found = course(trial, fell, entries=book.entries(trial.key))
    assert found.trims == pytest.approx((28.1, 35.0))
    assert not any(one.marks for one in found.points)
    assert np.isfinite([one.value for one in found.used]).all()
