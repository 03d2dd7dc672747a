"""The pictures of the scales: well-formed, each step another one, more of what the step is about at each."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import pytest

from littoral.publish.scale_pictures import ALGAE, HEIGHT, WIDTH, scale_picture
from littoral.trial.scales import TOP_STEP, scales

STEPS = range(TOP_STEP + 1)


@pytest.mark.parametrize("scale", scales())
def test_each_step_has_a_picture_of_its_own_that_says_which_it_is(scale):
    pictures = [scale_picture(scale, step) for step in STEPS]
    assert len(set(pictures)) == len(pictures)
    assert pictures == [scale_picture(scale, step) for step in STEPS]  # the same at every call
    for step, picture in enumerate(pictures):
        root = ElementTree.fromstring(picture)
        assert root.find("{*}title").text == f"{scale}, step {step}: {scales()[scale].words(step)}"
        assert "<script" not in picture
        numbers = [float(one) for one in re.findall(r"[MV]\s?(-?[0-9.]+) (-?[0-9.]+)", picture) for one in one]
        assert all(0 <= one <= max(WIDTH, HEIGHT) for one in numbers)


def test_more_is_covered_at_each_step_of_algae_and_nothing_that_was_is_bare_again():
    tuft = re.compile(rf'd="M([0-9.]+ [0-9.]+) q-2[^"]*" fill="none" stroke="{ALGAE}"')
    places = [set(tuft.findall(scale_picture("algae", step))) for step in STEPS]
    assert [bool(of_step) for of_step in places] == [False, True, True, True, True]
    assert all(less < more for less, more in pairwise(places))


def test_plants_stand_taller_and_keep_more_leaves_at_each_step():
    def upright_leaves(step: int) -> int:
        return scale_picture("plants", step).count("<path") - 4 * (step == 0)

    counts = [upright_leaves(step) for step in STEPS]
    assert counts == sorted(counts)
    assert len(set(counts)) == len(counts)


def test_what_is_no_step_is_refused():
    with pytest.raises(ValueError, match="step 5 of algae: the steps are 0 to 4"):
        scale_picture("algae", 5)
    with pytest.raises(KeyError):
        scale_picture("mood", 1)
