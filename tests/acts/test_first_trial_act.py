"""Starting from three answers in a logbook that is not there yet: all of it, or nothing."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from littoral.acts.first_trial import start_first
from littoral.acts.own_logbook import named_or_own, own_logbook
from littoral.acts.record_planned import record_planned
from littoral.acts.see_today import see_today
from littoral.errors import FaultsError

NOW = datetime(2026, 3, 2, 20, 0, tzinfo=UTC)
ANSWERS = {"know": "feed", "tanks": "left; right", "glass": "60 x 30 x 30 cm", "feed": "Green bottle",
           "holds": "NO3 6 %, K2O 3 %", "dose": "2 mL", "often": "three times a week"}  # fmt: skip


def test_from_nothing_to_the_first_dose(tmp_path):
    folder = tmp_path / "data" / "logbook"
    begun = start_first(folder, ANSWERS, now=NOW, zone="Europe/Berlin", seed=1)
    assert set(begun.arms) == {"left", "right"}
    (trial,) = see_today(folder, now=NOW).trials
    assert (trial.trial, trial.day, trial.running) == (begun.key, 0, "running")
    dose = next(task for task in trial.tanks[0].tasks if task.kind == "dose")
    record_planned(folder, dose.item, now=NOW)
    (trial,) = see_today(folder, now=NOW).trials
    assert next(task for task in trial.tanks[0].tasks if task.kind == "dose").state == "done"
    again = start_first(folder, ANSWERS, now=NOW, zone="Europe/Berlin")
    assert again.key == f"{begun.key}-2"


@pytest.mark.parametrize(
    ("change", "where", "said"),
    [
        ({"holds": "N 6 %"}, "holds", "leave that one out"),
        ({"holds": "Qq 6 %"}, "holds", "leave that one out"),
        ({"know": "other", "words": " ? "}, "words", "one line"),
        ({"tanks": "a" * 201}, "tanks", "201"),
        ({"glass": "6 x 3 x 3 km"}, "glass", ""),
    ],
)
def test_a_refusal_names_the_answer_and_makes_no_logbook(tmp_path, change, where, said):
    with pytest.raises(FaultsError) as refused:
        start_first(tmp_path / "logbook", {**ANSWERS, **change}, now=NOW, zone="Europe/Berlin")
    assert {fault.where for fault in refused.value.faults} == {where}
    assert said in str(refused.value)
    assert not any("line" in fault.what or fault.line for fault in refused.value.faults)
    assert list(tmp_path.iterdir()) == []


def test_the_own_logbook_is_made_where_none_is_named_and_only_then(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert named_or_own(tmp_path / "elsewhere") == tmp_path / "elsewhere"
    assert list(tmp_path.iterdir()) == []
    assert named_or_own(None) == own_logbook() == tmp_path / "littoral" / "logbook"
    assert named_or_own(None).is_dir()
