"""Charts of waiting times: valid, drawn, in steps, and only where there is more than a single drop to show."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import Any

import altair
import pytest

from littoral.findings.model import Curve, Finding
from littoral.publish.charts import charts_of
from littoral.publish.draw import to_svg
from littoral.publish.finding_charts import effect_chart, said
from littoral.publish.findings_json import findings_text
from littoral.publish.height import drawn_height_px
from littoral.publish.read_findings import read_findings
from littoral.publish.waiting_chart import waiting_charts
from littoral.trial.model import Trial

FULL = Curve("full", "tanks", 4, (0.0, 20.5, 24.5), (1.0, 0.75, 0.5), (27.0, 27.0), 24.5)
NONE = Curve("sparing", "tanks", 4, (0.0,), (1.0,), (27.0,) * 4, None)


@pytest.fixture
def onset(findings: Sequence[Finding]) -> Finding:
    arms = (replace(one, value=math.nan, low=None, high=None, text="not by day 27") for one in findings[0].arms)
    return replace(
        findings[0], question="onset", ask="When did algae come?", measure="algae onset", unit="days", effect=None,
        low=None, high=None, claim=None, before=None, change=None, camera_term=None, p_value=None, ways=(),
        rule="description of these tanks", effect_words="at least 3 days earlier", curves=(NONE, FULL),
        arms=tuple(arms),
    )  # fmt: skip


def test_the_curves_are_valid_steps_with_their_ticks(trial: Trial, onset: Finding) -> None:
    (chart,) = waiting_charts(trial, [onset], width_px=360)
    altair.Chart.from_dict(chart.spec, validate=True)
    assert chart.key == "waiting-onset"
    drawn = to_svg(chart.spec)
    assert "full" in drawn
    lines = [layer for layer in chart.spec["layer"] if layer["mark"]["type"] == "line"]
    assert [len(line["data"]["values"]) for line in lines] == [4, 2]  # to the last day watched
    assert all(line["mark"]["interpolate"] == "step-after" for line in lines)
    ticks = [layer for layer in chart.spec["layer"] if layer["mark"]["type"] == "tick"]
    assert [row["share"] for layer in ticks for row in layer["data"]["values"]] == [50, 50, 100, 100, 100, 100]
    assert "full: half of 4 tanks by day 24." in chart.alt
    assert "sparing: less than half of 4 tanks." in chart.alt


@pytest.mark.parametrize("width_px", [340, 720, 1180])
@pytest.mark.parametrize("of", ["tanks", "trims"])
def test_its_height_is_known_before_it_is_drawn(trial: Trial, onset: Finding, width_px: float, of: Any) -> None:
    """Checked against what the renderer makes of it without its title: the trial's page keeps that much room."""
    curves = tuple(replace(curve, of=of) for curve in onset.curves)
    (chart,) = waiting_charts(trial, [replace(onset, curves=curves)], width_px=width_px)
    drawn = re.search(r'height="(\d+)"', to_svg({key: value for key, value in chart.spec.items() if key != "title"}))
    assert drawn is not None
    assert 0 <= drawn_height_px(chart.spec) - int(drawn.group(1)) <= 8


def test_a_single_drop_is_left_to_the_words(trial: Trial, onset: Finding) -> None:
    few = replace(onset, curves=(replace(NONE, count=1, censored=(27.0,)),))
    assert waiting_charts(trial, [few]) == ()
    assert waiting_charts(trial, [replace(onset, curves=())]) == ()


def test_what_is_told_in_words_keeps_its_row_among_the_findings(
    trial: Trial, onset: Finding, findings: Sequence[Finding], measured: object
) -> None:
    assert said(trial, onset) == "at least 3 days earlier"
    chart = effect_chart(trial, [*findings, onset])
    assert chart is not None
    assert "at least 3 days earlier" in to_svg(chart.spec)
    dated = replace(onset, effect=-17.0, effect_words="17 days earlier")
    svg = to_svg(effect_chart(trial, [dated]).spec)  # type: ignore[union-attr]
    assert "17 days earlier" in svg
    assert "−17" not in svg  # no diamond: it is no account
    keys = charts_of(trial, measured=measured, findings=[onset])  # type: ignore[arg-type]
    assert "waiting-onset" in keys


def test_findings_json_keeps_words_and_curves(trial: Trial, onset: Finding) -> None:
    back = read_findings(findings_text(trial, [onset]).encode(), keeper="one", where="findings.json")
    assert not isinstance(back, tuple)
    (one,) = back.findings
    assert (one.rule, one.effect, one.effect_words) == (onset.rule, None, onset.effect_words)
    assert [asdict(curve) for curve in one.curves] == [asdict(curve) for curve in onset.curves]
    assert [value.text for value in one.arms] == ["not by day 27"] * 2
