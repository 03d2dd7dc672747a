"""Next week of a fitted trial: limits in the fit itself, and what leaves say beside the levels."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings import steps_asked
from tests.findings.steps_asked import (
    left_with,
)

from littoral.acts.see_levels import SeenLevels
from littoral.feeding.adds import dose_adds_mg
from littoral.findings.decide import ANIMALS
from littoral.findings.estimates.other_regime import changed_regime, other_bands, regime_now
from littoral.findings.next_week.model import (
    Reason,
)
from littoral.findings.next_week.outlook import tanks_ahead
from littoral.findings.next_week.steps import week_ahead

seen = steps_asked.seen


def test_of_a_fitted_trial_a_step_keeps_to_the_limits_in_the_fit_itself(seen: SeenLevels) -> None:
    """The room is counted without uptake; here the same draws that made the forecast are given the step."""
    trial, estimates = seen.trial, seen.estimates
    for one in tanks_ahead(trial, estimates):
        known = one.levels["nitrate"]
        bands = estimates.of(one.tank, "nitrate").bands
        ahead = bands.day >= estimates.now_day
        assert known.high >= float(bands.high_90[ahead].max()) - 1e-9
        assert known.limit == pytest.approx(13.0)
        assert known.limit_name == "nitrate, CCME, long"
        regime = regime_now(trial, one.tank, now_day=estimates.now_day)
        litres = next(kept.net_volume_l for kept in estimates.kept.tanks if kept.key == one.tank)
        planned = regime.doses[0]
        week = dose_adds_mg(trial.bottles["macro"], ml=planned.ml)["nitrate"] * len(planned.weekdays) / litres
        assert one.doses[0].adds_per_week["nitrate"] == pytest.approx(week)
        # a made-up limit a little above, and a reason to go up
        raised = replace(known, limit=known.high + 0.3 * week, ceiling=None, floor=None)
        wish = replace(one, levels={"nitrate": raised}, reasons=(Reason("nitrate", "up", "level", "W."),), urgent=())
        (step,) = week_ahead([wish], running=False, animals=ANIMALS).steps
        change = step.changes[0]
        assert 1.1 < change.after / change.before <= 1.15 + 1e-9
        other = changed_regime(regime, doses={change.at: change.after})
        (moved,) = other_bands(trial, estimates, tank=one.tank, regime=other, nutrients=["nitrate"])
        (same,) = other_bands(trial, estimates, tank=one.tank, regime=regime, nutrients=["nitrate"])
        rise = float(np.max(moved.high_90 - np.interp(moved.day, same.day, same.high_90)))
        assert 0 < rise <= 0.3 * week + 1e-9


def test_leaves_that_agree_with_the_levels_are_a_reason(seen: SeenLevels) -> None:
    left = left_with(seen, "leaf signs: old-pinholes, funny", shares={"N": 0.2, "K": 0.8})
    (reason,) = [one for one in left.reasons if one.kind == "leaves"]
    assert (reason.nutrient, reason.way) == ("potassium", "up")
    assert "same way: potassium" in reason.words
    assert any("“funny” is no sign" in words for words in left.watch)
    assert left.disagreements == ()


def test_leaves_against_the_levels_are_a_conflict_and_open_ones_are_watched(seen: SeenLevels) -> None:
    left = left_with(seen, "leaf signs: old-yellow", shares={"N": 0.01, "K": 0.99})
    assert not [one for one in left.reasons if one.kind == "leaves"]
    shown = week_ahead([left], running=False, animals=ANIMALS).conflicts
    assert any("Leaves and levels disagree" in words for one in shown for words in one.more)
    vague = left_with(seen, "leaf signs: old-yellow", shares={"N": 0.15, "K": 0.6})
    assert vague.disagreements == ()
    assert any("neither bear it out nor rule it out" in words for words in vague.watch)
