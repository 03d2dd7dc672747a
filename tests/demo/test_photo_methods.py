"""The table of photo methods sees what it should: on rendered photos ours is nearer in colour than what it beats."""

from __future__ import annotations

import numpy as np
import pytest
from photo_methods import METHODS, OURS
from photo_proof import HELD, errors_of, table

pytestmark = pytest.mark.slow


def test_ours_is_nearer_in_colour_than_what_it_beats(tiny_demo) -> None:
    name, found = errors_of(tiny_demo.folder, days=17)
    assert name == tiny_demo.truth["phone"]["name"]
    change = {method: float(np.mean(found[method].change)) for method in METHODS}
    absolute = {method: float(np.mean(found[method].absolute)) for method in METHODS}
    assert min(change, key=lambda method: change[method]) == OURS
    assert min(absolute, key=lambda method: absolute[method]) == OURS
    assert np.mean(found[OURS].iou) > 0.8
    assert set(found[OURS].held) == set(HELD)
    assert not any(found[method].held for method in METHODS if method != OURS)
    assert len(table({name: found}).splitlines()) == 2 + len(METHODS)
