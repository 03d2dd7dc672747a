"""A crossover from the demo's own truth: its growth, quickly without photos, and slowly through every photo."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from littoral.acts.answer_questions import answer_questions
from littoral.acts.import_trial import import_trial
from littoral.demo.growth import height_log, swapped_full_days
from littoral.demo.layout import Frame, lay_out
from littoral.demo.outcome import STEMS
from littoral.demo.scenario import TANKS
from littoral.demo.story import BASELINE_DAYS, Story
from littoral.demo.swapping import swapped_text, tell_swapped, true_rates, write_swapped
from littoral.demo.trial_text import trial_text
from littoral.findings.crossed import Crossed, crossed
from littoral.findings.tank_values import TankSeries
from littoral.stats.crossover import one_pair
from littoral.stats.series import Series
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial

SWAPPED = (False, True, True, False, True, False)


def true_effect(story: Story, trial: Trial) -> float:
    """Second arm minus first of the true growth rates, by the same least squares."""
    rates = true_rates(story)
    first, second = (arm.tanks[0] for arm in trial.arms)
    return one_pair(rates[first] - rates[second], np.array(story.swapped)).effect.value


def read(story: Story) -> Trial:
    frame = Frame((400, 300))
    text = trial_text(story, {tank: lay_out(story, tank) for tank in TANKS}, frame)
    trial, faults = read_trial(swapped_text(text, story), where="trial.toml")
    assert faults == ()
    assert trial is not None
    return trial


def test_the_response_comes_and_goes_as_a_fine_sum_says() -> None:
    story = tell_swapped(1, swapped=SWAPPED)
    step = 0.001
    for tank in TANKS:
        shows, total = 0.0, 0.0
        for at in np.arange(BASELINE_DAYS, story.days, step):
            swapped = story.swapped[min(int((at - BASELINE_DAYS) // story.period_days), 5)]
            aim = float((story.arm_of[tank] == "full") != swapped)
            shows = min(aim, shows + step / story.ramp_days) if aim else max(aim, shows - step / story.ramp_days)
            total += shows * step
        assert swapped_full_days(story, tank, story.days) == pytest.approx(total, abs=0.05)
    assert swapped_full_days(story, "left", BASELINE_DAYS) == 0


def test_true_heights_give_the_true_effect() -> None:
    story = tell_swapped(1, swapped=SWAPPED)
    trial = read(story)
    day = np.arange(story.days) + 0.5
    stems = [stand for stand in story.stands if stand.key in STEMS]

    def tank(key: str) -> TankSeries:
        logs = np.mean([[height_log(story, stand, key, at) for at in day] for stand in stems], axis=0)
        return TankSeries(key, Series(key, "cm", "level", day, np.exp(logs)), (), {}, (), (), (), ())

    first, second = (arm.tanks[0] for arm in trial.arms)
    found = crossed(trial, "height growth", [(tank(first), tank(second))])
    assert isinstance(found, Crossed)
    assert found.swaps.why_too_short == ""
    assert found.effect.value == pytest.approx(true_effect(story, trial), rel=1e-6)
    assert found.effect.value > 0.005


@pytest.mark.slow
@pytest.mark.parametrize("nothing", [False, True])
def test_a_rendered_crossover_is_answered_by_its_truth(tmp_path: Path, nothing: bool) -> None:
    story = tell_swapped(1, swapped=SWAPPED, nothing=nothing)
    import_trial(tmp_path / "logbook", write_swapped(tmp_path / "files", story))
    answered = answer_questions(tmp_path / "logbook")
    finding = answered.findings[0]
    assert finding.low is not None
    assert finding.high is not None
    truth = true_effect(story, answered.trial)
    assert finding.low <= truth <= finding.high
    assert "regimes swapped over 6 periods" in finding.design
    if nothing:
        assert truth == pytest.approx(0.0, abs=1e-12)
        assert finding.rule == "cannot tell"
    else:
        assert finding.rule == "followed the regime in this pair"
        assert finding.wording.startswith("Full grew faster: followed the regime in this pair of tanks (6 periods).")
