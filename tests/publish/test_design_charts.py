"""The charts of designs: pooled keepers, power, several aims. Valid, drawn, readable in words, within their width."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import altair
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.findings.model import Interval
from littoral.findings.pooled import KeeperResult, PooledFinding, pool_keepers
from littoral.publish.chart import Chart
from littoral.publish.draw import to_svg
from littoral.publish.forest_chart import forest_chart
from littoral.publish.frontier_chart import Aim, frontier_chart
from littoral.publish.point_labels import Box, place_labels
from littoral.publish.power_chart import power_chart
from littoral.stats.power import power_curve
from littoral.stats.simulated_designs import Spreads

ARMS = ("sparing", "full")
LONG = "A keeper with a really very long name, who lives by the old canal in the long house"
AIMS = (
    Aim("cost", "EUR per week", "lower"),
    Aim("growth", "% per day", "higher"),
    Aim("care", "minutes per week", "lower"),
)


def found(count: int) -> PooledFinding:
    values = [0.010, 0.016, 0.004, 0.011, -0.002, 0.010, 0.013][:count]
    names = ["kitchen club", LONG, "north bench", "school lab", "pond house", "cellar", "balcony"]
    results = [
        KeeperResult(name, Interval(value, value - 0.005, value + 0.005))
        for name, value in zip(names, values, strict=False)
    ]
    return pool_keepers("height growth", results, arms=ARMS, smallest=0.002, rendered=True)


def power_of(width_px: float) -> Chart | None:
    rng = np.random.default_rng(2)
    spreads = Spreads()
    curves = [
        power_curve(kind, sizes, effect=effect, spreads=spreads, rng=rng, runs=300)
        for kind, sizes in (("periods", (4, 6, 8, 10)), ("pairs", (3, 6, 9, 12)), ("keepers", (5, 8, 12)))
        for effect in (0.1, 0.2, 0.3)
    ]
    return power_chart(curves, spreads=spreads, width_px=width_px)


def aims_of(width_px: float) -> Chart | None:
    rng = np.random.default_rng(3)
    middle = [[1.2, 3.0, 20], [2.5, 4.2, 32], [2.6, 3.1, 33], [0.7, 2.2, 12]]
    values = rng.normal(middle, [0.1, 0.3, 2.0], (500, 4, 3))
    return frontier_chart(
        ["sparing", "full", "full, twice a week", "nothing but fish food"],
        AIMS,
        values,
        rendered=True,
        width_px=width_px,
    )


CHARTS = {
    "keepers": lambda width_px: forest_chart(found(7), arms=ARMS, width_px=width_px),
    "few keepers": lambda width_px: forest_chart(found(3), arms=ARMS, width_px=width_px),
    "power": power_of,
    "aims": aims_of,
}


@pytest.mark.parametrize("width_px", [360, 760])
@pytest.mark.parametrize("key", CHARTS)
def test_a_chart_is_valid_and_keeps_its_width(key: str, width_px: float) -> None:
    chart = CHARTS[key](width_px)
    assert chart is not None
    altair.Chart.from_dict(chart.spec, validate=True)
    json.dumps(chart.spec, allow_nan=False)
    assert float(ET.fromstring(to_svg(chart.spec)).attrib["width"]) <= width_px + 12


def words(chart: Chart | None) -> str:
    assert chart is not None
    return " ".join(" ".join(ET.fromstring(to_svg(chart.spec)).itertext()).split()).replace("\u00a0", " ")


def test_the_forest_names_keepers_units_and_what_the_next_one_may_find() -> None:
    chart = CHARTS["keepers"](760)
    said = words(chart)
    assert chart is not None
    for part in (
        "kitchen club",
        "percentage points per day",
        "Average (95 % interval)",
        "One further keeper",
        "Rendered",
    ):
        assert part in said
    assert "higher with full" in said
    assert LONG in chart.alt  # shortened in the picture, whole in its description
    assert "…" in said
    assert chart.alt.endswith(found(7).wording)


def test_below_five_keepers_no_average_is_drawn() -> None:
    said = words(CHARTS["few keepers"](760))
    assert "Average" not in said
    assert "further keeper" not in said
    assert "Too few keepers to pool" in said


def test_where_nothing_is_there_no_chart_is_drawn() -> None:
    assert forest_chart(pool_keepers("algae", [], arms=ARMS), arms=ARMS) is None
    assert power_chart([], spreads=Spreads()) is None
    rng = np.random.default_rng(1)
    alone = power_curve("one pair", (1,), effect=0.2, spreads=Spreads(), rng=rng, runs=10)
    assert power_chart([alone], spreads=Spreads()) is None
    assert frontier_chart(["a"], AIMS, np.ones((1, 1, 3)), rendered=False) is None
    assert frontier_chart(["a", "b"], AIMS[:1], np.ones((1, 2, 1)), rendered=False) is None


def test_the_power_chart_says_from_where_on_it_is_enough_and_that_one_pair_is_not() -> None:
    chart = power_of(760)
    assert chart is not None
    assert "One pair as it stands cannot settle it" in words(chart)
    assert "One pair, regimes swapped: a difference of 20 % shows in 80 % from 6 periods on." in chart.alt
    assert "Pairs: a difference of 10 % shows in" in chart.alt
    assert "not yet 80 %" in chart.alt


def test_the_picture_of_aims_says_what_is_wanted_and_what_is_beaten() -> None:
    chart = aims_of(760)
    assert chart is not None
    said = words(chart)
    assert "Wanted: lower cost, higher growth, lower care." in said
    assert "full, twice a week: cost 2.6" in chart.alt
    assert "; beaten (by none in" in chart.alt
    assert chart.alt.count("beaten by none") == 3
    assert "for you to say" in chart.caption
    exact = frontier_chart(["a", "b"], AIMS[:2], np.array([[[1.0, 3.0], [2.0, 2.0]]]), rendered=False)
    assert exact is not None
    assert "draws" not in exact.alt
    assert "b: cost 2 EUR per week, growth 2 % per day; beaten." in exact.alt


@given(st.floats(0, 300), st.floats(0, 250))
@settings(max_examples=60)
def test_a_name_alone_lies_inside_the_plot_and_off_its_point(x: float, y: float) -> None:
    (box,) = place_labels([(x, y)], [["some name", "99 %"]], width_px=300, height_px=250)
    assert box.shared_px2(Box(0, 0, 300, 250)) == pytest.approx(box.area_px2)
    assert box.shared_px2(Box(x - 6, y - 6, x + 6, y + 6)) == pytest.approx(0)


def test_names_of_points_that_touch_do_not_cover_one_another() -> None:
    boxes = place_labels(
        [(200, 100), (206, 104)], [["full", "99 %"], ["full, twice a week", "32 %"]], width_px=300, height_px=250
    )
    assert boxes[0].shared_px2(boxes[1]) == 0
    for x, y in ((200, 100), (206, 104)):
        dot = Box(x - 6, y - 6, x + 6, y + 6)
        assert all(box.shared_px2(dot) == 0 for box in boxes)
