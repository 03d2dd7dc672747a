"""Strokes, whole steps and level spoons: by hand, and what cannot be."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.salts import salt
from littoral.feeding.spoons import BulkDensity, bulk_densities, spoon_holds
from littoral.feeding.tools import Tool, ToolError, calibrate_strokes, measurable


def test_ten_strokes_by_hand() -> None:
    size = calibrate_strokes([11.0, 11.5, 10.5], 10)
    assert size.stroke_ml == pytest.approx(1.1)
    assert size.sd_ml == pytest.approx(0.5 / math.sqrt(10))  # SD of the three readings is 0.5 mL
    assert size.mean_se_ml == pytest.approx(0.05 / math.sqrt(3))
    assert size.checks[0].verdict == "warns"  # 0.158 of 1.1 is 14 %
    assert size.steps[0].result == "1.1 mL"
    assert size.steps[0].formula == "(11 + 11.5 + 10.5) mL / (3 × 10 strokes)"


def test_one_reading_has_no_spread() -> None:
    size = calibrate_strokes([11.0])
    assert (size.stroke_ml, size.sd_ml, size.mean_se_ml) == (pytest.approx(1.1), None, None)
    assert size.checks[0].verdict == "cannot tell"
    assert size.tool().spread is None


def test_the_spread_is_that_of_simulated_strokes() -> None:
    rng = np.random.default_rng(5)
    readings = rng.normal(1.1, 0.08, (4000, 10)).sum(axis=1)
    size = calibrate_strokes(readings.tolist(), 10)
    assert size.sd_ml == pytest.approx(0.08, rel=4 / math.sqrt(2 * 4000))
    assert size.stroke_ml == pytest.approx(1.1, abs=4 * 0.08 / math.sqrt(40_000))


@given(st.floats(0.05, 50.0), st.floats(0.05, 5.0))
def test_whole_steps_are_the_nearest(wanted: float, step: float) -> None:
    tool = Tool("stroke", step, most_steps=2000)
    found = measurable(wanted, tool)
    assert found.amount == pytest.approx(found.steps * step)
    assert found.steps >= 1
    assert found.steps == 1 or abs(found.amount - wanted) <= step / 2 * (1 + 1e-9)
    assert found.off == pytest.approx(found.amount / wanted - 1)
    assert found.check.verdict == ("holds" if abs(found.off) <= 0.1 else "warns")


def test_what_the_spread_does_to_a_dose() -> None:
    found = measurable(4.5, Tool("stroke", 1.1, spread=0.1))
    assert found.written == "4 strokes"
    half = 1.96 * 0.11 * 2  # four strokes, each SD 0.11 mL
    assert (found.low, found.high) == (pytest.approx(4.4 - half), pytest.approx(4.4 + half))


def test_words_of_steps() -> None:
    assert [Tool(kind, step).written(count) for kind, step, count in (
        ("stroke", 1.1, 1), ("drop", 0.05, 8), ("mL", 0.5, 9), ("g", 0.1, 3), ("spoon", 1.2, 2),
    )] == ["1 stroke", "8 drops", "4.5 mL", "0.3 g", "2 level spoons"]  # fmt: skip


def test_spoons() -> None:
    held = spoon_holds("KNO3", spoon_ml=1.25)
    assert (held.low_g, held.middle_g, held.high_g) == (
        pytest.approx(1.25),
        pytest.approx(1.4375),
        pytest.approx(1.625),
    )
    assert held.check.verdict == "warns"
    assert "weigh" in held.check.comment
    assert "from memory" in held.steps[0].source
    weighed = spoon_holds("KNO3", spoon_ml=1.0, density=BulkDensity("KNO3", 1.1, 1.2, "weighed by the spoon"))
    assert weighed.check.verdict == "holds"
    assert weighed.tool().step == pytest.approx(1.15)


def test_the_table_of_bulk_densities() -> None:
    table = bulk_densities()
    assert len(table) == 12
    assert sum(row.low_g_per_ml for row in table.values()) == pytest.approx(10.09)
    assert sum(row.high_g_per_ml for row in table.values()) == pytest.approx(13.98)
    for formula, row in table.items():
        assert salt(formula).formula == formula  # each can be found by the salts' own names
        assert 0 < row.low_g_per_ml < row.high_g_per_ml < 2
        assert row.source


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: Tool("stroke", 0.0), "a stroke of 0 mL"),
        (lambda: Tool("g", float("nan")), "a g of nan g"),
        (lambda: Tool("drop", 0.05, most_steps=0), "at most 0 steps"),
        (lambda: Tool("drop", 0.05, spread=1.5), "a spread of 1.5"),
        (lambda: calibrate_strokes([11.0], 0), "0 strokes"),
        (lambda: calibrate_strokes([]), "no reading"),
        (lambda: calibrate_strokes([11.0, -1.0]), "a reading of -1 mL"),
        (lambda: measurable(-1.0, Tool("mL", 0.5)), "a dose of -1 mL"),
        (lambda: measurable(100.0, Tool("mL", 0.5)), "100 mL is 200 mL steps, more than 20"),
        (lambda: spoon_holds("KNO3", spoon_ml=0.0), "a spoon of 0 mL"),
        (lambda: spoon_holds("CuSO4·5H2O", spoon_ml=1.0), "no bulk density is known of CuSO4·5H2O"),
        (lambda: spoon_holds("x", spoon_ml=1.0, density=BulkDensity("x", 2, 1, "")), "a bulk density of 2 to 1 g/mL"),
    ],
)  # fmt: skip
def test_tools_that_cannot_be(make, what: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ToolError) as refusal:
        make()
    assert refusal.value.what == what
    assert str(refusal.value) == f"measuring tool: {what}. {refusal.value.right}"
