"""Plant or camera: the rules of the findings decide, the picture beside them is drawn from the same numbers."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from littoral.findings.answers import answer
from littoral.findings.camera import (
    REDNESS_APART,
    REDNESS_KNOWN,
    REDNESS_ONE_FRAME,
    REDNESS_ONE_FRAME_KNOWN,
    redness_camera,
)
from littoral.findings.camera_advice import what_would_settle
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.one_frame import SHARED_IN_FRAME
from littoral.findings.plant_or_camera import colour_questions, plant_or_camera
from littoral.imaging.results import RegionMeasure
from littoral.trial.model import Question, Trial

RED = Question("red", "Did the red stem plant turn redder?", "redness", ("red-stem",))


DONE: dict[tuple[float, tuple[Question, ...]], tuple] = {}
"""What was asked already: all of it is frozen."""


def takes(noise, *, rise: float, error: float = 0.6):
    def red(day, tank):
        later = rise if tank.startswith("right") and day >= 14 else 0.0
        return {"a": 20 + later + noise(day, tank, 0.4), "colour_error": error}

    return {
        "red-stem": red,
        "carpet": lambda day, tank: {"a": -20 + noise(day, f"c{tank}", 0.4), "colour_error": error},
    }


@pytest.fixture
def asked(make_trial, make_measured, make_book, noise):
    """Return (trial, measured, book, stands by key) for a rise of the red plant in the second arm's tank."""

    def ask(rise: float, *questions: Question, trial=None):
        key = (rise, questions)
        if trial is None and key in DONE:
            return DONE[key]
        made = trial or make_trial(*questions)
        measured = make_measured(made, takes(noise, rise=rise))
        book = make_book(made)
        stands = {one.stand: one for one in plant_or_camera(book, made, measured, marks={})}
        if trial is None:
            DONE[key] = (made, measured, book, stands)
        return made, measured, book, stands

    return ask


def test_a_question_of_the_trial_keeps_its_finding_and_the_other_stands_share_holm(asked) -> None:
    trial, measured, book, stands = asked(9.0, RED)
    (finding,) = answer(book, trial, measured=measured)
    assert list(stands) == ["red-stem", "carpet"]
    assert stands["red-stem"].asked
    assert stands["red-stem"].finding.wording == finding.wording
    assert finding.rule == "difference changed after the regimes began"
    assert stands["red-stem"].short == "More than the camera makes"
    assert not stands["carpet"].asked
    assert [question.of for question in colour_questions(replace(trial, questions=()))] == [("red-stem",), ("carpet",)]


def test_the_words_are_of_the_camera_where_the_difference_is_under_its_own(asked) -> None:
    _, _, _, stands = asked(0.0)
    assert {one.finding.level for one in stands.values()} <= {0.95, 0.975}
    assert stands["carpet"].finding.rule in ("cannot tell", "not distinguishable from the camera")
    assert stands["carpet"].short in ("Cannot tell", "It may be the camera")
    assert stands["carpet"].left_open.startswith("Of the ± ")
    assert "camera alone makes" in stands["carpet"].left_open


def test_cards_whose_light_is_known_leave_less_to_the_camera(make_trial) -> None:
    trial = make_trial(RED)
    tanks = {tank for arm in trial.arms for tank in arm.tanks}
    views = list(trial.views)
    assert len(views) == 2

    def carded(**told) -> Trial:
        """Return the trial with a card in the water of every tank."""
        return replace(
            trial,
            views={
                key: replace(
                    view,
                    panes=tuple(
                        replace(pane, regions=(*pane.regions, replace(pane.regions[0], kind="card", **told)))
                        for pane in view.panes
                    ),
                )
                for key, view in trial.views.items()
            },
        )

    assert redness_camera(carded(reflects=0.18), views, tanks) == REDNESS_KNOWN
    assert redness_camera(carded(), views, tanks) == REDNESS_APART
    assert redness_camera(carded(reflects=0.18), views[:1], tanks) == REDNESS_ONE_FRAME_KNOWN
    assert redness_camera(carded(), views[:1], tanks) == REDNESS_ONE_FRAME
    assert f"instead of {REDNESS_KNOWN.least:g} a*" in " ".join(
        what_would_settle(carded(reflects=0.18), Measured((), method=""), (), gate=4.0)
    )


def test_the_camera_makes_no_more_than_what_stays_open(asked) -> None:
    *_, stands = asked(0.0)
    told = [re.match(r"Of the ± ([\d.]+) a\* .* makes ± ([\d.]+) a\*", one.left_open) for one in stands.values()]
    assert any(told)
    assert all(float(found[1]) >= float(found[2]) for found in told if found)


def test_the_picture_holds_each_day_against_what_camera_and_two_photos_make(asked) -> None:
    trial, _, _, stands = asked(9.0, RED)
    difference = stands["red-stem"].difference
    right, left = (
        next(one for one in stands["red-stem"].courses if one.tank == tank) for tank in ("right", "left")
    )  # arms: sparing is left, full is right
    slow = [one.value - other.value for one, other in zip(right.used, left.used, strict=True)]
    assert difference.value == pytest.approx(slow)
    assert difference.half == pytest.approx(1.96 * np.sqrt(2) * 0.6)
    assert difference.band == stands["red-stem"].least == 2.9
    outside = [day for day, gap in zip(difference.day, slow, strict=True) if abs(gap) > np.hypot(2.9, 1.663)]
    assert difference.outside(14) == (len([day for day in outside if day >= 14]), 42)
    assert difference.outside(14)[0] == 42
    assert difference.outside(0) == (42, 56)
    assert "42 of 42 measured days since the regimes began" in stands["red-stem"].outside
    assert trial.baseline_days == 14


def test_one_tank_s_own_change_is_decided_by_the_same_rules(asked) -> None:
    _, _, _, stands = asked(9.0, RED)
    said = {one.tank: one for one in stands["red-stem"].changes}
    assert said["right"].change.value == pytest.approx(9, abs=0.5)
    assert "more than the 2.9 a* that the camera may make by itself; why, unknown" in said["right"].said
    assert said["left"].rule in ("cannot tell", "not distinguishable from the camera")


def test_without_cards_only_a_change_is_held_against_the_baseline_s_difference(asked, make_trial) -> None:
    trial = make_trial(RED)
    views = {
        key: replace(
            view,
            panes=tuple(
                replace(pane, regions=tuple(r for r in pane.regions if r.kind != "card")) for pane in view.panes
            ),
        )
        for key, view in trial.views.items()
    }
    trial, measured, book, stands = asked(9.0, trial=replace(trial, views=views))
    one = stands["red-stem"]
    assert not one.finding.absolute
    assert one.difference.centre == pytest.approx(one.finding.before.value)
    advice = what_would_settle(trial, measured, book.entries(trial.key), gate=4.0)
    assert advice[0].startswith("Stand a sealed grey or white card in the water")


def test_without_a_baseline_nothing_is_said_of_one_tank(asked, make_trial) -> None:
    _, _, _, stands = asked(0.0, trial=make_trial(RED, baseline_days=0.0))
    assert all("no baseline was photographed" in one.said for one in stands["red-stem"].changes)


def test_advice_follows_the_views_the_bursts_and_the_gate(asked, one_frame) -> None:
    trial, measured, _, _ = asked(0.0)
    apart = " ".join(what_would_settle(trial, measured, (), gate=4.0))
    assert "1 a* can be claimed instead of 2.9 a*" in apart
    assert "none so far" in apart
    assert "over the gate" not in apart
    assert "over the gate (112)" in " ".join(what_would_settle(trial, measured, (), gate=0.5))
    together = one_frame(trial)
    locked = replace(together, views={key: replace(one, camera_locked=True) for key, one in together.views.items()})
    said = " ".join(what_would_settle(locked, measured, (), gate=4.0))
    assert "one frame" not in said
    assert "Lock exposure" not in said


def test_several_tanks_per_arm_are_compared_by_means_of_whole_days(make_trial, make_measured, make_book, noise) -> None:
    trial = make_trial(RED, tanks_per_arm=3)
    measured = make_measured(trial, takes(noise, rise=6.0))
    found = plant_or_camera(make_book(trial), trial, measured, marks={})[0]
    assert found.difference.value.shape == (56,)
    assert found.difference.half == pytest.approx(1.96 * np.sqrt(2 / 3) * 0.6)


def twin(trial: Trial, *, frames: int, wander: float) -> tuple[Trial, Measured]:
    """Both tanks in one view, or each in its own with a camera of its own; a* of 20 and 23, seen by a camera that
    wanders from photo to photo by `wander`, each tank by 0.2 besides."""
    rng = np.random.default_rng(11)
    panes = [view.panes[0] for view in trial.views.values()]
    left = next(iter(trial.views.values()))
    views = {"both": replace(left, key="both", panes=tuple(panes))} if frames == 1 else dict(trial.views)
    photos = []
    for day in range(56):
        shared = rng.normal(0, wander)
        seen = {
            pane.tank: RegionMeasure(
                pane.tank, "red-stem", "stand", a=20 + 3 * at + rng.normal(0, 0.2) +
                (shared if frames == 1 else rng.normal(0, wander)), colour_error=wander,
            )
            for at, pane in enumerate(panes)
        }  # fmt: skip
        for view in views.values():
            regions = tuple(seen[pane.tank] for pane in view.panes)
            name = f"{view.key}-{day}"
            photos.append(MeasuredPhoto(name, name, view.key, day + 0.5, None, 1.0, 0.1, "", (), regions))
    return replace(trial, views=views), Measured(tuple(photos), "test")


def test_two_tanks_in_one_frame_are_told_apart_more_surely_than_each_is_known(make_trial, make_book) -> None:
    found = {}
    for frames in (1, 2):
        trial, measured = twin(make_trial(RED), frames=frames, wander=1.0)
        one = plant_or_camera(make_book(trial), trial, measured, marks={})[0]
        assert one.difference is not None
        found[frames] = one
    trial, _ = twin(make_trial(RED), frames=1, wander=1.0)
    camera = redness_camera(trial, ["both"], set(trial.tanks))
    together, apart = found[1].difference, found[2].difference
    assert together.together.all()
    assert not apart.together.any()
    assert apart.half == pytest.approx(apart.apart)
    assert together.apart == pytest.approx(apart.apart)
    assert together.half == pytest.approx(np.sqrt(1 - SHARED_IN_FRAME) * together.apart)
    assert np.std(together.value) < 0.5 < np.std(apart.value)
    assert found[2].together == ""
    said = re.findall(r"± ([0-9.]+) a\*", found[1].together)
    assert [float(one) for one in said] == pytest.approx(
        [together.half[0], together.apart[0], 1.96 * camera.tank, 1.96 * camera.difference], abs=0.051
    )
    assert camera.difference < camera.tank
    assert found[1].least is not None
    assert found[1].least < found[2].least
