"""A bench week by week: every entry lies in one week, gaps hold nothing; one chart draws it all."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.findings.bench_year import answers_json, answers_of, learnt, to_try, trial_year, year_json
from littoral.publish.bench_year_chart import bench_year_chart
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

START = date(2026, 3, 2)
TRIAL = read_trial(starting_text(title="Sparing or full", start="2026-03-02"), where="here")[0]
DAYS = st.lists(st.floats(-5, 70, allow_nan=False), max_size=30)


@given(DAYS, DAYS, DAYS, st.integers(-10, 100))
def test_weeks_are_counted_as_one_would_by_hand(entries, photos, trims, ahead):
    today = START + timedelta(days=ahead)
    strip = trial_year(TRIAL, entry_days=entries, photo_days=photos, trim_days=trims, today=today)
    assert len(strip.weeks) == 8
    assert strip.ended == (ahead > 55)
    for place, week in enumerate(strip.weeks):
        within = [sum(7 * place <= day < 7 * place + 7 for day in days) for days in (entries, photos, trims)]
        assert [week.entries, week.photos, week.trims] == within
        assert week.stage == ("baseline" if place < 2 else "arms")
        assert week.gap == (7 * place <= ahead and not within[0] and not within[1])


def test_one_chart_says_in_words_what_it_draws():
    strip = trial_year(TRIAL, entry_days=[1.0, 20.0], photo_days=[], trim_days=[20.0], today=date(2026, 6, 1))
    chart = bench_year_chart([strip], today=date(2026, 6, 1), width_px=720)
    assert "6 weeks without an entry, 1 trim" in chart.alt
    fills = [layer["mark"].get("fill") for layer in chart.spec["layer"] if layer["mark"]["type"] == "rect"]
    assert fills.count("#fbfcf9") == 6  # hollow
    assert fills.count("#1a72aa") == fills.count("#aa6000") == 1
    assert bench_year_chart([], today=START) is None
    assert year_json([strip])[0]["weeks"][0]["gap"] is False


def test_answers_carry_question_interval_and_strength(keepers_made: ModuleType):
    trial = keepers_made.keeper_trial()
    finding = replace(keepers_made.keeper_finding((0.025, 0.001), (0.035, 0.001)), next_step="Swap them.")
    answered = answers_of([(trial, (finding,))])
    (one,) = answers_json(answered)
    assert one["question"] == finding.ask
    assert one["strength"] == finding.rule
    assert one["interval"].startswith("+1.00 (")
    assert learnt(answered)[0].startswith(f"{trial.title}: ")
    assert to_try(answered) == (f"{trial.title}: {finding.next_step}",)


def test_a_chart_is_drawn_by_the_renderer():
    pytest.importorskip("vl_convert")
    from littoral.publish.draw import to_svg

    strip = trial_year(TRIAL, entry_days=[1.0], photo_days=[], trim_days=[1.0], today=date(2026, 4, 1))
    assert "Sparing or full" in to_svg(bench_year_chart([strip], today=date(2026, 4, 1), width_px=340).spec)
