"""Correction against cameras that were put in: colours come back, algae do not pull, a steady camera is left alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from littoral.imaging.anchors import CARD_HIDDEN, CARD_OUTSIDE, Anchors, anchors_of
from littoral.imaging.camera_model import shared_curve
from littoral.imaging.camera_out import apply
from littoral.imaging.colour import ciede2000, image_to_lab, linear_to_srgb, srgb_to_linear
from littoral.imaging.correct import correct
from littoral.imaging.frames import lay_out
from littoral.imaging.regions import PaneShape, RegionShape, ViewShape
from littoral.imaging.target import pool_target

TALL = 480 / 640


def setting(tank):
    layout = lay_out(tank.view(), (640, 480))
    reference = tank.shoot(tank.draw(), seed=2)
    target = pool_target([anchors_of(reference, layout)], tall=TALL)
    return layout, apply(reference, correct(anchors_of(reference, layout), target).model), target


def plants_lab(image: np.ndarray) -> np.ndarray:
    return np.stack([image_to_lab(image[310:400, left : left + 70]).mean(axis=(0, 1)) for left in (125, 305)])


@pytest.mark.parametrize(
    ("gains", "gamma"), [((1.5, 1.3, 1.1), 1.0), ((0.65, 0.7, 0.8), 1.0), ((1.1, 1.0, 0.85), 1.2), ((1, 1, 1), 0.85)]
)
def test_plants_get_their_colour_back(tank, gains, gamma) -> None:
    """METHODS: change over days 0.7 (linear) and 1.1 (tone curve) on rendered tanks; plants take no part in the fit."""
    layout, reference, target = setting(tank)
    photo = tank.shoot(tank.draw(algae=0.9), gains=gains, gamma=gamma)
    found = correct(anchors_of(photo, layout), target)
    fixed = apply(photo, found.model)
    before = ciede2000(plants_lab(photo), plants_lab(reference))
    after = ciede2000(plants_lab(fixed), plants_lab(reference))
    assert before.max() > 4
    assert after.max() < 1.1
    assert found.before is not None
    assert found.residual is not None
    assert found.residual < 0.5 * found.before
    assert "the card" in found.description
    assert "stable places" in found.description


def test_a_steady_camera_is_left_alone(tank) -> None:
    layout = lay_out(tank.view(), (640, 480))
    first = anchors_of(tank.shoot(tank.draw(), seed=2), layout)
    blind = replace(first, card=np.zeros_like(first.card))  # no card that would bring the target to its own scale
    target = pool_target([blind], tall=TALL)
    photo = tank.shoot(tank.draw(red_px=220, algae=0.8), seed=8)
    for locked in (False, True):
        found = correct(anchors_of(photo, layout), target, camera_locked=locked)
        assert found.description.startswith("none needed")
        np.testing.assert_array_equal(apply(photo, found.model), photo)
        assert found.residual is not None
        assert found.residual < 1.0


def test_nothing_stable_means_no_correction_and_a_flag(tank) -> None:
    layout, reference, target = setting(tank)
    black = anchors_of(np.zeros_like(reference), layout)
    found = correct(black, target)
    assert found.residual is None
    assert "nothing stable" in found.flags[0]


def test_a_corrected_photo_never_turns_light_to_dark(tank) -> None:
    layout, _, target = setting(tank)
    photo = tank.shoot(tank.draw(), gains=(0.5, 0.6, 0.7), gamma=1.3)
    model = correct(anchors_of(photo, layout), target).model
    ramp = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 3, axis=2)
    seen = apply(ramp, replace(model, veil=np.zeros_like(model.veil), fading=0.0)).astype(int)
    assert (np.diff(seen, axis=1) >= 0).all()
    assert (seen[0, 0] == 0).all()


def test_card_makes_the_target_neutral(tank) -> None:
    layout = lay_out(tank.view(), (640, 480))
    photo = tank.shoot(tank.draw(), gains=(1.3, 1.0, 0.75))
    anchors = anchors_of(photo, layout)
    target = pool_target([anchors], tall=TALL)
    card = target.light[anchors.card]
    assert len(card) == 4
    np.testing.assert_allclose(card.mean(axis=0), 0.18, rtol=0.03)
    assert not target.absolute  # what the card reflects was not said


def carded(tank, *, left: int = 40, hidden: bool = False) -> tuple[ViewShape, np.ndarray]:
    """A card of three known fields in the tank (or, from x = 640, beside it), and a picture of it."""
    picture = tank.draw()
    fields = {"white": 0.62, "grey": 0.18, "black": 0.04}
    shapes = []
    for row, (key, light) in enumerate(fields.items()):
        top = 200 + 45 * row
        picture[top : top + 40, left : left + 50] = 255 * linear_to_srgb(light)
        corners = np.array([[left, top], [left + 50, top], [left + 50, top + 40], [left, top + 40]], dtype=float)
        shapes.append(RegionShape(key, "card", corners, reflects=light))
    if hidden:
        picture[200:325, left : left + 26] = (60, 110, 40)
    pane = tank.view().panes[0]
    regions = (*[one for one in pane.regions if one.kind != "card"], *shapes)
    return ViewShape((640, 480), (PaneShape("tank", regions, pane.corners_px, 60.0),)), picture


def test_known_fields_set_the_scale_of_light(tank) -> None:
    """A photo a stop too dark and too red comes back to what the fields reflect, and the plants with it."""
    view, picture = carded(tank)
    layout = lay_out(view, (640, 480))
    photos = [tank.shoot(picture, gains=(gain * 1.1, gain, gain * 0.9), seed=3) for gain in (0.5, 0.8, 1.1)]
    target = pool_target([anchors_of(photo, layout) for photo in photos], tall=TALL)
    assert target.absolute
    for photo in photos:
        fixed = apply(photo, correct(anchors_of(photo, layout), target).model)
        assert ciede2000(plants_lab(fixed), plants_lab(picture.astype(np.uint8))).max() < 1.2


@pytest.mark.parametrize(("hidden", "left", "flag"), [(True, 40, CARD_HIDDEN), (False, 0, CARD_OUTSIDE)])
def test_a_card_that_would_make_it_worse_is_refused(tank, hidden, left, flag) -> None:
    """METHODS: a card outside the tank, in the room's light, is worse than nothing."""
    view, picture = carded(tank, hidden=hidden)
    if not hidden:
        pane = view.panes[0]
        away = tuple(
            replace(one, polygon_px=one.polygon_px - np.array([40.0, 0.0])) if one.kind == "card" else one
            for one in pane.regions
        )
        narrow = np.array([[60, 40], [620, 40], [620, 460], [60, 460]], dtype=float)
        view = ViewShape((640, 480), (replace(pane, regions=away, corners_px=narrow),))
    layout = lay_out(view, (640, 480))
    anchors = anchors_of(tank.shoot(picture), layout)
    assert flag in anchors.flags
    assert not anchors.usable[anchors.card].any()
    target = pool_target([anchors], tall=TALL)
    found = correct(anchors, target)
    assert flag in found.flags
    assert "card" not in found.description


def test_one_curve_is_told_from_fields_at_differing_exposure() -> None:
    """The curve that was put in comes back: s + 0.35·s(1 - s)(1 - 2s) undoes what made the values."""
    steps = np.linspace(0, 1, 4001)
    undone = steps + 0.35 * steps * (1 - steps) * (1 - 2 * steps)
    light = np.repeat([0.04, 0.18, 0.6], 4)
    values, goals = [], []
    for stops in (-0.6, -0.3, 0.0, 0.2, 0.5):
        exposed = linear_to_srgb(light[:, None] * 2**stops * np.array([1.1, 1.0, 0.9]))
        values.append(255 * np.interp(exposed, undone, steps))
        goals.append(light)
    found = shared_curve(values, goals)
    s = np.linspace(0.15, 0.9, 20)
    ours = s + s * (1 - s) * (found[0] + (1 - 2 * s) * (found[1] + (1 - 2 * s) * found[2]))
    right = s + 0.35 * s * (1 - s) * (1 - 2 * s)
    np.testing.assert_allclose(srgb_to_linear(ours), srgb_to_linear(right), rtol=0.06)


def test_a_lens_that_fades_is_found_by_the_hand_that_moves() -> None:
    """Light falls off by 16 % at half the width: twenty photos framed a little differently tell it within 0.06."""
    rng = np.random.default_rng(4)
    rows, columns = np.divmod(np.arange(300), 20)
    place = np.stack([columns + 0.5, rows + 0.5], axis=1) / 20
    scene = rng.uniform(0.05, 0.5, (300, 1)) * np.array([1.0, 0.95, 0.9])
    card = np.arange(300) < 12
    scene[card] = np.repeat([0.04, 0.18, 0.6], 4)[:, None]
    known = np.where(card[:, None], scene, np.nan)
    photos = []
    for _ in range(20):
        shift = rng.uniform(-0.03, 0.03, 2)
        edge = ((2 * (place + shift) - np.array([1.0, 0.75])) ** 2).sum(axis=1)
        light = scene * rng.uniform(0.7, 1.3) * (1 - 0.16 * edge)[:, None]
        value = 255 * linear_to_srgb(light) + rng.normal(0, 0.3, (300, 3))
        photos.append(Anchors(value, place, edge, np.ones(300, bool), card, known, rows % 2 == 0, np.zeros(300)))
    assert pool_target(photos, tall=0.75).fading == pytest.approx(0.16, abs=0.06)
