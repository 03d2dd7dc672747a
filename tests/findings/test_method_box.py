"""Every finding says plainly how it was found, what it cannot show, and what would change it."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from tests.findings.conftest import build_trial

from littoral.findings.compared import Compared
from littoral.findings.method_box import cannot_show, plain_method
from littoral.findings.model import Rule
from littoral.findings.swaps import Swaps
from littoral.findings.tank_values import TankSeries
from littoral.findings.what_next import next_step
from littoral.findings.wording import CLAIMS
from littoral.stats.estimate import Estimate
from littoral.stats.series import Series
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question

RULES: tuple[Rule, ...] = get_args(Rule)


def compared(measure: str, **more) -> Compared:
    day = np.arange(20.0)
    tanks = tuple(
        (TankSeries(tank, Series(tank, "", "level", day, np.exp(0.02 * day)), (), {}, (), (), (), ()),)
        for tank in ("left", "right")
    )
    account = MEASURES[measure].taken_from != "photos"
    question = Question("q", "Did it?", measure, primary=True)
    base = Compared(
        question,
        MEASURES[measure].unit,
        effect=Estimate.exact(0.1),
        account=account,
        tanks=() if account else tanks,
        missing="no photo was measured",
    )
    return replace(base, **more)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("measure", list(MEASURES))
def test_box_and_next_step_are_never_empty(measure: str, rule: Rule) -> None:
    trial = build_trial(Question("q", "Did it?", measure, primary=True))
    one = compared(measure)
    said = plain_method(one, rule, change_day=0.0)
    assert 1 <= len(said) <= 5
    for sentence in (*said, cannot_show(trial, one, rule), next_step(trial, one, rule)):
        assert re.match(r"[A-Z].*\.$", sentence), sentence
        assert "{" not in sentence
    assert re.match(r"(Cheapest next step: |Next: |At this margin )", next_step(trial, one, rule))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "cannot show whether the regime did it: two tanks differ even when kept alike"),
        ({"tanks_per_arm": 2}, "with 2 tanks of each, how much equal tanks differ is not known well enough"),
        ({"tanks_per_arm": 3}, "what happens in other homes"),
        ({"swaps": Swaps(6, 3.0, "alternating")}, "whether other tanks would follow the regime as these did"),
        ({"swaps": Swaps(3, 3.0, "alternating")}, "followed the regime: 3 periods are fewer than 4"),
    ],
)
def test_what_it_cannot_show_follows_the_design(more, said) -> None:
    trial = build_trial(Question("q", "Did it?", "height growth"))
    rule = "effect of the regime" if more.get("tanks_per_arm") == 3 else CLAIMS[0]
    text = cannot_show(trial, compared("height growth", **more), rule)
    assert said in text
    assert text.endswith("leaves hide leaves.")
    assert ("not drawn by lot" in text) is (rule == "effect of the regime")
    assert "not drawn" not in cannot_show(replace(trial, drawn="by lot"), compared("height growth", **more), rule)


def test_tanks_are_said_to_be_compared_day_by_day_only_where_their_days_pair() -> None:
    one = compared("height growth")
    assert any("photo of both tanks" in sentence for sentence in plain_method(one, CLAIMS[0], change_day=0.0))
    right = one.tanks[1][0]
    apart = replace(right, series=replace(right.series, day=right.series.day + 30))
    one = replace(one, tanks=(one.tanks[0], (apart,)))
    assert not any("photo of both tanks" in sentence for sentence in plain_method(one, CLAIMS[0], change_day=0.0))
