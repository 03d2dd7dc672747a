"""Correction against cameras that were put in: colours come back, algae do not pull, a steady camera is left alone."""

from __future__ import annotations

import numpy as np
import pytest

from littoral.imaging.colour import ciede2000, image_to_lab
from littoral.imaging.correct import anchors_of, apply_table, correct, corrected, reference_table
from littoral.imaging.frames import lay_out


def setting(tank):
    layout = lay_out(tank.view(), (640, 480))
    reference = tank.shoot(tank.draw(), seed=2)
    return layout, reference, anchors_of(reference, layout)


def plants_lab(image: np.ndarray) -> np.ndarray:
    return np.stack([image_to_lab(image[310:400, left : left + 70]).mean(axis=(0, 1)) for left in (125, 305)])


@pytest.mark.parametrize(
    ("gains", "gamma"), [((1.5, 1.3, 1.1), 1.0), ((0.65, 0.7, 0.8), 1.0), ((1.1, 1.0, 0.85), 1.2), ((1, 1, 1), 0.85)]
)
def test_plants_get_their_colour_back(tank, gains, gamma) -> None:
    """METHODS: change over days 0.7 (linear) and 1.1 (tone curve) on rendered tanks; plants take no part in the fit."""
    layout, reference, anchors = setting(tank)
    photo = tank.shoot(tank.draw(algae=0.9), gains=gains, gamma=gamma)
    found = correct(anchors_of(photo, layout), anchors)
    fixed = apply_table(photo, found.table)
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
    layout, _, anchors = setting(tank)
    photo = tank.shoot(tank.draw(red_px=220, algae=0.8), seed=8)
    for locked in (False, True):
        found = correct(anchors_of(photo, layout), anchors, camera_locked=locked)
        assert found.description.startswith("none needed")
        np.testing.assert_array_equal(found.table[:, 1], np.arange(256))
        assert found.residual is not None
        assert found.residual < 1.0


def test_nothing_stable_means_no_correction_and_a_flag(tank) -> None:
    layout, reference, anchors = setting(tank)
    black = anchors_of(np.zeros_like(reference), layout)
    found = correct(black, anchors)
    assert found.residual is None
    assert "nothing stable" in found.flags[0]


def test_table_never_falls_and_keeps_black(tank) -> None:
    layout, _, anchors = setting(tank)
    photo = tank.shoot(tank.draw(), gains=(0.5, 0.6, 0.7), gamma=1.3)
    table = correct(anchors_of(photo, layout), anchors).table.astype(int)
    assert (np.diff(table, axis=0) >= 0).all()
    assert (table[0] == 0).all()


def test_card_makes_the_reference_neutral(tank) -> None:
    layout = lay_out(tank.view(), (640, 480))
    photo = tank.shoot(tank.draw(), gains=(1.3, 1.0, 0.75))
    anchors = anchors_of(photo, layout)
    fixed = corrected(anchors, reference_table(anchors).table)
    card = fixed.value[fixed.card]
    assert len(card) == 4
    assert np.ptp(card.mean(axis=0)) < 2.0
