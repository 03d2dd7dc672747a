"""What makes a person look twice at a photo, and what does not."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from tests.photos_made import blurred, dark, shot, with_hand

from littoral.imaging.align import align, align_reference
from littoral.imaging.decode import decode_photo
from littoral.imaging.doubts import doubts, looks_mirrored, propose, resemblance, with_mirror
from littoral.imaging.likeness import Look, blur_effect, likeness, look_at, look_from
from littoral.imaging.mirrored import MirrorFit, mirror_fit

NAMES = {"left": "left tank", "right": "right tank"}
DATA = Path(__file__).parents[3] / "shared" / "data"


@pytest.fixture(scope="module")
def earlier() -> dict[str, list[Look]]:
    return {tank: [look_at(shot(tank, day)) for day in range(3)] for tank in NAMES}


def said(image: np.ndarray, view: str, earlier: dict[str, list[Look]]) -> tuple[str, ...]:
    look = look_at(image)
    alike = {name: resemblance(look, looks) for name, looks in earlier.items()}
    return doubts(look, view, earlier[view], alike, NAMES)


@pytest.mark.parametrize("tank", NAMES)
@pytest.mark.parametrize("day", [3, 6, 14])
def test_a_good_photo_has_no_doubts_and_finds_its_view(tank: str, day: int, earlier: dict[str, list[Look]]) -> None:
    look = look_at(shot(tank, day))
    assert said(shot(tank, day), tank, earlier) == ()
    assert propose({name: resemblance(look, looks) for name, looks in earlier.items()}).view == tank


@pytest.mark.parametrize(
    ("spoil", "word"),
    [
        (with_hand, "in front of the tank"),
        (dark, "light off"),
        (blurred, "blurred"),
        (lambda image: np.ascontiguousarray(image[:, ::-1]), "mirrored"),
        (lambda image: np.ascontiguousarray(np.rot90(image)), "another shape"),
        (lambda image: np.clip(image.astype(int) * 5 + 90, 0, 255).astype(np.uint8), "overexposed"),
        (lambda image: shot("right", 3), "looks like right tank rather than left tank"),
        (lambda image: shot("a third tank", 3), "does not look like the photos of this view"),
    ],
    ids=["hand", "dark", "blurred", "mirrored", "portrait", "white", "other tank", "unknown tank"],
)
def test_each_fault_is_named(spoil, word: str, earlier: dict[str, list[Look]]) -> None:
    found = said(spoil(shot("left", 3)), "left", earlier)
    assert any(word in doubt for doubt in found), found


def test_a_mirrored_photo_is_tried_both_ways_and_says_what_is_left(earlier: dict[str, list[Look]]) -> None:
    plain, turned = shot("left", 4), np.ascontiguousarray(shot("left", 4)[:, ::-1])
    fit = mirror_fit(turned, shot("left", 3))
    assert fit.mirrored
    assert fit.as_it_is_px is None
    assert re.search(r"mirrored: .* to [0-2]\.[0-9] px \(of 640 across\); as it is, not at all", fit.said())
    assert not mirror_fit(plain, shot("left", 3)).mirrored
    assert not mirror_fit(shot("right", 4), shot("left", 3)).mirrored
    look = look_at(turned)
    mine = resemblance(look, earlier["left"])
    assert looks_mirrored(mine, ())
    assert not looks_mirrored(mine, ("looks like right tank rather than left tank",))
    assert not looks_mirrored(resemblance(look_at(plain), earlier["left"]), ())
    assert with_mirror(("mirrored: left and right look swapped", "blurred"), fit) == ("blurred", fit.said())
    assert with_mirror(("blurred",), MirrorFit(0.8, 0.5, 640)) == ("blurred",)
    assert "only to 3.0 px" in MirrorFit(3.0, 0.5, 640).said()


def test_a_mirrored_photo_that_is_measured_all_the_same_says_so() -> None:
    first = shot("left", 3)
    reference = align_reference(first, trusted=np.ones(first.shape[:2], dtype=bool))
    (flag,) = align(np.ascontiguousarray(shot("left", 4)[:, ::-1]), reference).flags
    assert flag.startswith("not aligned: turned over it would fit to ")
    assert align(shot("right", 4), reference).flags == ("not aligned: the reference's points were not found again",)


def test_a_photo_of_neither_view_is_proposed_for_none(earlier: dict[str, list[Look]]) -> None:
    look = look_at(shot("a third tank", 3))
    assert propose({name: resemblance(look, looks) for name, looks in earlier.items()}).view is None


def test_a_view_without_photos_is_not_taken_for_another(earlier: dict[str, list[Look]]) -> None:
    look = look_at(shot("right", 3))
    found = propose({"left": resemblance(look, earlier["left"]), "right": resemblance(look, [])})
    assert found.view is None
    assert set(found.order) == {"left", "right"}


def test_a_look_survives_the_cache_and_what_is_none_is_none(earlier: dict[str, list[Look]]) -> None:
    look = earlier["left"][0]
    again = look_from(look.to_bytes())
    assert again is not None
    np.testing.assert_array_equal(again.texture, look.texture)
    assert (again.level, again.blur) == (pytest.approx(look.level), pytest.approx(look.blur))
    for data in (b"", b"x" * 5, look.to_bytes()[:-1], b"\xff" * 400):
        assert look_from(data) is None


def test_likeness_does_not_depend_on_size_or_exposure() -> None:
    one = look_at(shot("left", 1))
    brighter = np.clip(shot("left", 1).astype(float) * 1.3, 0, 255).astype(np.uint8)
    assert likeness(look_at(brighter), one).score > 0.9
    assert likeness(look_at(shot("left", 1)[::2, ::2]), one).score > 0.85


@pytest.mark.parametrize("sigma", [0.0, 1.0, 2.5])
def test_blur_is_what_scikit_image_says(sigma: float) -> None:
    """Outside reference: skimage.measure.blur_effect, h_size 11, the larger of both axes."""
    measure = pytest.importorskip("skimage.measure")
    filters = pytest.importorskip("skimage.filters")
    noise = np.random.default_rng(2).uniform(0, 255, (120, 160))
    picture = np.round(filters.gaussian(noise, sigma, preserve_range=True)).astype(np.uint8)
    assert blur_effect(picture) == pytest.approx(measure.blur_effect(picture.astype(float)), abs=1e-4)


@pytest.mark.real
def test_a_real_series_of_a_growing_plant_has_no_doubts() -> None:
    """Rice from the side: every twentieth photo of the series, each compared with the three before it."""
    folder = DATA / "rice-side-view" / "photos"
    if not folder.is_dir():
        pytest.skip("the open data sets are not beside the repository")
    looks = [look_at(decode_photo(path.read_bytes(), width_px=640).image) for path in sorted(folder.iterdir())[::8]]
    found = [
        doubts(look, "pot", looks[at - 3 : at], {"pot": resemblance(look, looks[at - 3 : at])}, {})
        for at, look in enumerate(looks)
        if at >= 3
    ]
    assert found
    assert not any(found)
