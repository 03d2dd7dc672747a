"""Both tanks of the demo in one frame, on a draw that nothing was set by: the camera cancels in their difference."""

from __future__ import annotations

import numpy as np
import pytest
from twin_frame import rms, twin_errors

from littoral.findings.one_frame import SHARED_IN_FRAME


@pytest.mark.slow
@pytest.mark.parametrize("number", [23, 304])
def test_the_difference_within_one_frame_is_surer_than_of_two_photos(number: int) -> None:
    found = twin_errors(number)
    one, two = found["common"], found["apart"]
    errors = {key: way.change(way.difference) for key, way in found.items()}
    held = np.abs(errors["common"]) < 1.96 * np.sqrt(2 * (1 - SHARED_IN_FRAME)) * one.stated
    shared = np.corrcoef(one.change(one.left).ravel(), one.change(one.right).ravel())[0, 1]
    print(
        f"draw {number}: a photo's difference {rms(errors['common']):.2f} in one frame, {rms(errors['apart']):.2f} in "
        f"two photos; level {rms(one.difference.mean(axis=0)):.2f} and {rms(two.difference.mean(axis=0)):.2f}; errors "
        f"shared {shared:.2f}; stated 95 % hold {held.mean():.2f}"
    )
    assert shared > 0.2
    assert rms(errors["common"]) < rms(errors["apart"])
    assert held.mean() > 0.85
