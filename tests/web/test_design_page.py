"""The page of a trial's design, by its address."""

from __future__ import annotations

from dataclasses import replace

from littoral.trial.model import Question
from littoral.trial.plan import Plan, alternating


def test_the_page_shows_questions_plan_and_what_it_can_show(asking):
    text = asking.get("/trial/small/design").text
    assert "Design: Sparing &lt;or&gt; full feeding" in text
    assert "Did they grow faster?" in text
    assert "A difference under 0.50 percentage points per day does not matter." in text
    assert "With one pair of tanks side by side this cannot be settled" in text
    assert 'aria-label="left tank: day 0 to 3 baseline, day 3 to 10 full. right tank: day 0 to 3 baseline' in text
    assert 'data-chart="power"' in text
    assert "Nothing was written down." in text  # held equal


def test_a_crossover_is_drawn_by_its_periods(asking, bench):
    page = bench.pages["small"]
    plan = Plan("crossover", 1.0, 0.25, alternating(7), "alternating")
    bench.pages["small"] = replace(page, trial=replace(page.trial, plan=plan))
    text = asking.get("/trial/small/design").text
    assert text.count('fill="url(#washing)"') == 14
    assert "day 3 to 4 full, day 4 to 5 sparing" in text
    assert "Hatched: the washout" in text


def test_a_measure_without_ratios_has_no_chart(asking, bench):
    page = bench.pages["small"]
    asked = (Question("red", "Which was redder?", "redness"),)
    bench.pages["small"] = replace(page, trial=replace(page.trial, questions=asked))
    text = asking.get("/trial/small/design").text
    assert "data-chart" not in text
    assert "none of the questions has one" in text
    assert "can never be said" in text


def test_its_data_and_charts_are_json(asking):
    data = asking.get("/trial/small/design.json").json()
    assert data["kind"] == "parallel"
    assert [row["tank"] for row in data["tanks"]] == ["left", "right"]
    charts = asking.get("/trial/small/design/charts.json").json()
    assert [chart["key"] for chart in charts["charts"]] == ["power"]
    assert set(charts["charts"][0]["widths"]) == {"340", "720", "1180"}


def test_the_trial_leads_to_its_design_and_back(asking):
    assert 'href="/trial/small/design"' in asking.get("/trial/small").text
    assert 'href="/trial/small"' in asking.get("/trial/small/design").text
    assert asking.get("/trial/none/design").status_code == 404
