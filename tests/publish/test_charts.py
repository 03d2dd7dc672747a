"""Every chart is valid Vega-Lite, is drawn as SVG and PNG, names its unit, and shows gaps as gaps."""

from __future__ import annotations

import io
import json
import re
import sys
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import replace

import altair
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from littoral.errors import MissingExtraError
from littoral.findings.measured import Measured
from littoral.findings.model import Finding, Interval
from littoral.publish.arm_line import ArmLine, alone, with_gaps
from littoral.publish.chart import Chart
from littoral.publish.charts import SERIES_CHART, charts_of
from littoral.publish.draw import DrawError, to_png, to_svg
from littoral.publish.end_labels import apart
from littoral.publish.finding_charts import effect_chart, half_range
from littoral.publish.height import drawn_height_px
from littoral.publish.panel import Panel, day_ticks, panels_spec
from littoral.publish.photo_charts import (
    algae_chart,
    compactness_chart,
    cover_chart,
    height_chart,
    redness_chart,
)
from littoral.trial.entries import Entry
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

UNITS = {"canopy-height": "cm", "cover": "%", "redness": "a*", "algae": "%", "findings": "per day"}


@pytest.fixture(scope="module")
def charts(trial: Trial, measured: Measured, entries: Sequence[Entry], findings: Sequence[Finding]) -> dict[str, Chart]:
    made = [
        height_chart(trial, measured, entries),
        cover_chart(trial, measured, entries),
        redness_chart(trial, measured, entries),
        algae_chart(trial, measured),
        effect_chart(trial, findings),
    ]
    return {chart.key: chart for chart in made}


@pytest.mark.parametrize("key", UNITS)
def test_a_chart_is_valid_vega_lite(charts: dict[str, Chart], key: str) -> None:
    """Checked against the schema of Vega-Lite 6 that Altair carries."""
    altair.Chart.from_dict(charts[key].spec, validate=True)
    json.dumps(charts[key].spec, allow_nan=False)


@pytest.mark.parametrize("key", UNITS)
def test_a_chart_says_its_unit_and_its_n(charts: dict[str, Chart], key: str) -> None:
    chart = charts[key]
    words = " ".join(ET.fromstring(to_svg(chart.spec)).itertext())
    assert UNITS[key] in words
    assert UNITS[key] in chart.alt
    assert "one per arm" in words.lower() or "one tank per arm" in words.lower()
    assert "per arm" in chart.caption
    assert "Rendered demo" in words


def test_png_and_svg_have_the_same_shape(charts: dict[str, Chart]) -> None:
    spec = charts["redness"].spec
    root = ET.fromstring(to_svg(spec))
    size = Image.open(io.BytesIO(to_png(spec, scale=2.0))).size
    assert size == tuple(round(2 * float(root.attrib[side])) for side in ("width", "height"))


@pytest.mark.parametrize("width_px", [360, 760])
def test_charts_keep_their_width(
    trial: Trial, measured: Measured, findings: Sequence[Finding], width_px: float
) -> None:
    for chart in (
        height_chart(trial, measured, width_px=width_px),
        effect_chart(trial, findings, width_px=width_px),
    ):
        assert float(ET.fromstring(to_svg(chart.spec)).attrib["width"]) <= width_px + 4


def test_the_day_cursor_is_drawn_only_when_set(charts: dict[str, Chart]) -> None:
    spec = json.loads(json.dumps(charts["canopy-height"].spec))
    without = to_svg(spec)
    spec["params"][0]["value"] = 12.0
    assert to_svg(spec).count("<line") == without.count("<line") + len(spec["concat"])


def test_a_specification_that_is_none_is_refused() -> None:
    with pytest.raises(DrawError, match="valid Vega-Lite"):
        to_svg({"mark": "no such mark"})


def test_no_chart_asks_the_network(charts: dict[str, Chart]) -> None:
    for chart in charts.values():
        assert '"url"' not in json.dumps(chart.spec)
    remote = {"data": {"url": "https://data.example/rows.csv"}, "mark": "point", "encoding": {"x": {"field": "a"}}}
    with pytest.raises(DrawError):
        to_svg(remote)


def _line(days: Sequence[float], breaks: Sequence[float] = ()) -> ArmLine:
    day = np.asarray(days, dtype=float)
    return ArmLine("full", "left", day, np.ones_like(day), breaks=breaks)


def test_a_missing_day_is_a_gap_and_a_trim_breaks_the_line() -> None:
    assert [row["value"] for row in with_gaps(_line([0, 1, 2, 4, 5]))] == [1, 1, 1, None, 1, 1]
    assert [row["value"] for row in with_gaps(_line([0, 1, 2, 3], [1.7]))] == [1, 1, None, 1, 1]


def test_a_value_alone_between_gaps_gets_a_point() -> None:
    rows = with_gaps(_line([0, 1, 2, 5, 8, 9, 10, 11]))
    assert [row["day"] for row in alone(rows)] == [5]


@given(st.lists(st.floats(0, 100), min_size=1, max_size=4))
def test_labels_keep_their_order_their_distance_and_the_panel(values: list[float]) -> None:
    placed = apart(values, least=10, low=0, high=100)
    assert np.argsort(placed, kind="stable").tolist() == np.argsort(values, kind="stable").tolist()
    assert min(placed) >= -1e-9
    assert max(placed) <= 100 + 1e-9
    assert all(gap >= 10 - 0.01 for gap in np.diff(sorted(placed)))


@pytest.mark.parametrize(("length", "step"), [(5.0, 1.0), (56.0, 7.0), (390.0, 56.0)])
def test_ticks_fall_on_whole_days_and_weeks(length: float, step: float) -> None:
    assert set(np.diff(day_ticks(length, 250))) == {step}


def test_zero_stands_in_the_middle_of_every_row(trial: Trial, findings: Sequence[Finding]) -> None:
    spec = effect_chart(trial, findings).spec
    domains = [
        layer["encoding"]["x"]["scale"]["domain"]
        for row in spec["vconcat"]
        for layer in row["layer"]
        if "scale" in layer["encoding"]["x"]
    ]
    assert domains
    assert all(low == -high for low, high in domains)
    assert half_range(findings[0], trial.questions[0]) == pytest.approx(1.15 * (0.0121 + 0.0055))


@pytest.mark.parametrize(("panels", "columns"), [(1, 1), (2, 2), (3, 3), (4, 2), (5, 3), (6, 3), (7, 3)])
def test_no_panel_is_left_alone_in_a_row_of_three(trial: Trial, panels: int, columns: int) -> None:
    panel = Panel("one", "cm", (0.0, 2.0), [_line([0, 1])])
    assert panels_spec(trial, [panel] * panels, width_px=1180)["columns"] == columns


def test_where_cameras_are_not_calibrated_the_change_is_drawn(trial: Trial, findings: Sequence[Finding]) -> None:
    red = replace(findings[1], absolute=False, change=Interval(0.7, -0.2, 1.6), level=0.975)
    chart = effect_chart(trial, [red])
    assert chart is not None
    drawn = [layer["data"]["values"][0] for layer in chart.spec["vconcat"][0]["layer"][-2:]]
    assert drawn == [{"effect": 0.7, "low": -0.2, "high": 1.6}] * 2
    assert "change +0.7" in json.dumps(chart.spec)
    assert "the difference itself means nothing there" in chart.caption
    told_nothing = effect_chart(trial, [replace(red, change=None)])
    assert told_nothing is not None
    assert "only a change from a baseline could be told" in told_nothing.alt


def test_redness_is_drawn_where_it_was_asked_about(trial: Trial, measured: Measured) -> None:
    one = redness_chart(trial, measured)
    assert one is not None
    assert [panel["title"]["text"] for panel in one.spec["concat"]] == ["red stem plant"]
    everything = replace(trial, questions=(replace(trial.questions[1], of=()),))
    all_stands = redness_chart(everything, measured)
    assert all_stands is not None
    assert len(all_stands.spec["concat"]) == 2
    assert redness_chart(replace(trial, questions=()), measured) is None


def test_compactness_is_drawn_where_it_was_asked_about_with_its_gaps(trial: Trial, measured: Measured) -> None:
    assert compactness_chart(replace(trial, questions=()), measured) is None
    asking = replace(trial, questions=(replace(trial.questions[0], measure="compactness", of=("red-stem",)),))
    one = compactness_chart(asking, measured)
    assert one is not None
    assert (one.key, [panel["title"]["text"] for panel in one.spec["concat"]]) == ("compactness", ["red stem plant"])
    assert "points of cover per cm" in one.caption
    photo = measured.photos[0]
    region = next(region for region in photo.regions if region.region == "red-stem")
    assert region.cover is not None
    assert region.height_cm is not None
    assert f"{100 * region.cover / region.height_cm:.3g}" in one.alt


def test_every_measure_of_photos_has_the_chart_of_its_series(trial: Trial, measured: Measured) -> None:
    for key, measure in MEASURES.items():
        if measure.taken_from == "photos":
            of = next(iter(trial.questions))
            asking = replace(trial, questions=(replace(of, measure=key, of=()),))
            assert SERIES_CHART[key] in charts_of(asking, measured=measured, findings=())


def test_a_height_without_scale_is_drawn_only_if_asked_about(trial: Trial, measured: Measured) -> None:
    photos = tuple(
        replace(photo, regions=tuple(replace(region, height_cm=None) for region in photo.regions))
        for photo in measured.photos
    )
    unscaled = replace(measured, photos=photos)
    asked = height_chart(trial, unscaled)
    assert asked is not None
    assert asked.caption.startswith("Canopy height in px")
    assert height_chart(replace(trial, questions=trial.questions[1:]), unscaled) is None


@pytest.mark.parametrize("width_px", [340, 720, 1180])
def test_the_height_is_known_before_it_is_drawn(
    trial: Trial, measured: Measured, findings: Sequence[Finding], width_px: float
) -> None:
    """Checked against what the renderer makes of each chart without its title."""
    charts = charts_of(trial, measured=measured, findings=findings, width_px=width_px)
    assert len(charts) == 5
    for chart in charts.values():
        drawn = re.search(
            r'height="(\d+)"', to_svg({key: value for key, value in chart.spec.items() if key != "title"})
        )
        assert drawn is not None
        assert 0 <= drawn_height_px(chart.spec) - int(drawn.group(1)) <= 8, chart.key


def test_without_the_renderer_there_is_one_clear_message(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "vl_convert", None)
    for draw in (to_svg, to_png):
        with pytest.raises(MissingExtraError, match=r"littoral\[charts\]"):
            draw({})
