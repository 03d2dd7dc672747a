"""A dose far above any planned one is remarked on where it is recorded; whatever is planned never is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.acts.large_doses import TIMES, large_dose_remark
from littoral.trial.entries import Dose, Entry, Note
from littoral.trial.written.reader import read_trial

TRIAL = read_trial(
    (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8"), where="trial.toml"
)[0]
assert TRIAL is not None
LARGEST = max(dose.ml or 0.0 for regime in TRIAL.regimes.values() for dose in regime.doses if dose.of == "macro")


def entry(payload: Dose | Note) -> Entry:
    assert TRIAL is not None
    at = datetime(2026, 3, 8, 17, 30, tzinfo=UTC)
    return Entry(str(uuid4()), at, "Europe/Berlin", "left", payload, trial=TRIAL.key)


@given(st.floats(0.01, 100.0))
def test_a_remark_is_made_from_a_multiple_of_the_largest_planned_dose_on(times):
    remark = large_dose_remark(entry(Dose("macro", ml=times * LARGEST)), TRIAL)
    assert bool(remark) == (times * LARGEST >= TIMES * LARGEST)


def test_the_remark_says_how_much_and_what_to_do():
    remark = large_dose_remark(entry(Dose("macro", ml=10 * LARGEST)), TRIAL)
    assert f"{10 * LARGEST:.3g} mL is 10 times the largest planned dose ({LARGEST:.3g} mL)" in remark
    assert "Undo or correct" in remark
    assert "animals" in remark


@pytest.mark.parametrize("payload", [Dose("macro", ml=1e3, given=False), Note("much"), Dose("never planned", ml=1e3)])
def test_what_did_not_go_in_or_has_no_plan_has_no_remark(payload):
    assert large_dose_remark(entry(payload), TRIAL) == ""
