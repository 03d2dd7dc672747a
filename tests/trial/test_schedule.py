"""The plan of care and the margins of same care, as they are written in a trial file."""

from __future__ import annotations

from datetime import time
from pathlib import Path

import pytest

from littoral.feeding.regimes import EveryDays
from littoral.trial.schedule import PlannedTask, Schedule
from littoral.trial.written.reader import read_trial
from littoral.trial.written.schedule import MARGINS

WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")


def read(more: str):
    return read_trial(WHOLE + "\n" + more, where="trial.toml")


def test_without_a_schedule_nothing_but_the_regimes_is_planned():
    trial, faults = read("")
    assert faults == ()
    assert trial.schedule == Schedule()
    assert trial.same_care.margins == MARGINS


def test_every_key_is_read():
    trial, faults = read(
        """
[schedule]
bench = ["right", "left"]
doses_at = "18:00"
changes_at = 10:30:00
tests = [{ of = ["nitrate", "ph"], on = ["Fri"], at = "6:00 pm" }]
trims = [{ of = ["red-stem"], every = "2 weeks" }]
photos = [{ on = "every day", at = "19:00" }]

[same_care]
volume = "3 %"
temperature = "0.9 °F"
light = "0.5 h"
par = 0.2
co2 = "3 mg/L"
bubbles = "5 %"
changes = "2 %"
trims = 0.5
"""
    )
    assert faults == ()
    assert trial.schedule == Schedule(
        bench=("right", "left"),
        doses_at=time(18),
        changes_at=time(10, 30),
        tasks=(
            PlannedTask("test", ("nitrate", "ph"), (4,), None, time(18)),
            PlannedTask("trim", ("red-stem",), (), EveryDays(14), None),
            PlannedTask("photo", (), tuple(range(7)), None, time(19)),
        ),
    )
    expected = {
        "volume": 0.03, "temperature": 0.5, "light": 0.5, "par": 0.2, "co2": 3.0, "bubbles": 0.05, "changes": 0.02,
        "trims": 0.5,
    }  # fmt: skip
    assert trial.same_care.margins == pytest.approx(expected)


@pytest.mark.parametrize(
    ("more", "fault"),
    [
        ('[schedule]\nbench = ["left"]', "`schedule.bench` leaves out right."),
        ('[schedule]\nbench = ["left", "lower"]', '`schedule.bench` names "lower".'),
        ('[schedule]\ndoses_at = "25:00"', '`schedule.doses_at` is "25:00", not a time of day.'),
        ('[schedule]\ndoses_at = "18:00+02:00"', '`schedule.doses_at` is "18:00+02:00", with an offset.'),
        ('[schedule]\ntests = [{ of = ["nitrat"], on = ["Fri"] }]', '`schedule.tests[1].of` names "nitrat".'),
        ('[schedule]\ntests = [{ of = ["nitrate"] }]', "A planned test says neither `on` which weekdays"),
        ('[schedule]\nphotos = [{ on = ["Fri"], every = "2 days" }]', "A planned photo has both `on` and `every`."),
        ('[schedule]\ntrims = [{ every = "36 hours" }]', '`schedule.trims[1].every` is "36 hours",'),
        ('[same_care]\ntemperature = "half"', '`same_care.temperature` is "half", not a difference of temperature.'),
        ('[same_care]\ntrims = "one"', '`same_care.trims` is "one", not a number above zero.'),
        ('[same_care]\nwarmth = "1 °C"', "`same_care.warmth` is not a key of same care."),
    ],
)
def test_each_mistake_is_named(more, fault):
    trial, faults = read(more)
    assert trial is None
    assert [one.what[: len(fault)] for one in faults] == [fault]
