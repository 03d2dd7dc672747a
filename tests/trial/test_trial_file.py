from __future__ import annotations

from pathlib import Path

from littoral.trial.written.reader import read_trial

CONTRACT = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")


def test_a_whole_trial_reads_without_a_fault():
    trial, faults = read_trial(CONTRACT, where="trial.toml")
    assert faults == ()
    assert trial is not None
    assert [arm.key for arm in trial.arms] == ["sparing", "full"]
