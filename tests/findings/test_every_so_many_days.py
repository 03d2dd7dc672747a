"""Doses and changes every so many days, from the trial file to what was given: against a walk over the calendar."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.findings.doses import changes_done, doses_given
from littoral.publish.words import regime_words
from littoral.trial.entries import Dose
from littoral.trial.model import Trial
from littoral.trial.written.entries_csv import read_entries
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
FULL = """doses = [
  { of = "macro", amount = "4 strokes", on = ["Sun", "Tue", "Thu"] },
  { of = "micro", amount = "1.2 mL", on = ["Mon", "Wed", "Fri"] },
]
changes = [{ share = "40 %", on = ["Sat"] }]"""


def trial_with(full: str, *, start: date = date(2026, 3, 2)) -> Trial:
    assert FULL in WHOLE
    text = WHOLE.replace(FULL, full).replace("2026-03-02", start.isoformat())
    trial, faults = read_trial(text, where="trial.toml")
    assert faults == ()
    assert trial is not None
    return trial


def walked(start: date, first: int, step: int, *, from_day: int, to_day: int) -> list[int]:
    """The slow twin: walk the calendar from the first date on, a step at a time."""
    found, at = [], start + timedelta(days=first)
    while (at - start).days < to_day:
        if (at - start).days >= from_day:
            found.append((at - start).days)
        at += timedelta(days=step)
    return found


@settings(max_examples=40, deadline=None)
@given(
    st.dates(date(1990, 1, 1), date(2090, 1, 1)),
    st.integers(1, 60),
    st.sampled_from(("day", "days", "week", "weeks", "Days")),
    st.data(),
)
def test_what_is_planned_is_what_a_walk_over_the_calendar_meets(
    start: date, count: int, unit: str, data: st.DataObject
) -> None:
    step = count * (7 if unit.startswith("week") else 1)
    if step > 366:
        count, step = 52, 364
    first = data.draw(st.integers(0, step - 1))
    every = f"{count} {unit}" + (f" from day {first}" if first else "")
    trial = trial_with(
        f'doses = [{{ of = "macro", amount = "2 strokes", every = "{every}" }}]\n'
        f'changes = [{{ share = "30 %", every = "{every}" }}]',
        start=start,
    )
    # the baseline of two weeks has the other regime; the beat goes on from day 0 all the same
    expected = walked(start, first, step, from_day=14, to_day=56)
    doses = doses_given(trial, (), "left", to_day=56)
    assert [int(dose.day) for dose in doses if dose.day >= 14] == expected
    assert all(dose.ml == pytest.approx(2.2) for dose in doses if dose.day >= 14)
    assert [int(change.day) for change in changes_done(trial, (), "left", to_day=56) if change.day >= 14] == expected


def test_a_missed_dose_without_an_amount_is_the_one_of_that_day() -> None:
    trial = trial_with(
        'doses = [{ of = "macro", amount = "1 stroke", every = "2 days" },'
        ' { of = "macro", amount = "3 strokes", every = "2 days from day 1" }]'
    )
    day_15 = b"date,tank,kind,what\n2026-03-17,left,missed dose,macro\n2026-03-18,left,missed dose,macro\n"
    entries, faults = read_entries(day_15, where="e.csv", trial=trial, now=datetime(2026, 11, 1, tzinfo=UTC))
    assert faults == ()
    assert [entry.payload for entry in entries] == [
        Dose("macro", ml=3 * 1.1, given=False),
        Dose("macro", ml=1.1, given=False),
    ]


def test_words_of_a_regime_that_runs_by_days() -> None:
    trial = trial_with(
        'doses = [{ of = "macro", amount = "2 strokes", every = "2 days" },'
        ' { of = "micro", amount = "1 mL", on = "every day" }]\n'
        'changes = [{ share = "30 %", every = "10 days from day 5" }]'
    )
    assert regime_words(trial, "full") == (
        "macro stock 2 strokes (2.2 mL) every other day; micro bottle 1 mL daily; "
        "30\u00a0% water change every 10 days from day 5"
    )
