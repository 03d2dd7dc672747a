"""Published limits: the table's shape, its units, and whether a dose passes one."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.limit_rows import dose_passes_limits, limit_rows, limit_steps, limit_steps_of
from littoral.chemistry.limits import WaterConditions, limit_here, limits
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import WaterError
from littoral.quantities.check_row import CheckRow
from littoral.quantities.hardness import hardness_mmol_per_l

H100 = hardness_mmol_per_l(100.0, unit="ppm CaCO3")
EVERYTHING = {limit.analyte: 1e-6 for limit in limits() if limit.analyte in NUTRIENTS} | {"ammonium": 1e-6}


def _row(rows: tuple[CheckRow, ...], what: str) -> CheckRow:
    return next(row for row in rows if row.what == what)


def test_shape_and_sums_of_the_table() -> None:
    """Pinned, so that a changed cell cannot hide."""
    table = limits()
    assert len(table) == 39
    assert len({limit.key for limit in table}) == 39
    constants = [limit.numbers["value"] for limit in table if limit.rule == "constant"]
    assert (len(constants), round(sum(constants), 4)) == (23, 1603.802)
    steps = [value for limit in table if limit.rule == "steps" for _, value in limit.numbers["steps"]]
    assert round(sum(steps), 2) == 1086.0
    curves = [limit.numbers for limit in table if limit.rule == "curve"]
    assert len(curves) == 7
    assert round(sum(n["h"] + n["constant"] + n["factor"] for n in curves), 4) == 14.3645
    assert sum(limit.status == "read" for limit in table) == 21
    assert {limit.status for limit in table} == {"read", "from memory", "common practice"}


def test_every_limit_says_what_it_is() -> None:
    for limit in limits():
        assert limit.analyte in {*NUTRIENTS, "ammonia", "un-ionised ammonia", "co2", "oxygen"}
        assert limit.operator in ("<=", ">=")
        assert limit.term in ("long", "short")
        assert limit.protects
        assert limit.source
        # the unit names the form wherever a form could be mistaken
        if limit.analyte in ("nitrate", "nitrite", "ammonia", "un-ionised ammonia"):
            assert limit.unit == f"mg {limit.stated_as}/L"


def test_wording_never_says_safe_and_always_what_it_is_not() -> None:
    for level in (1e-6, 1e4):
        rows = limit_rows(
            dict.fromkeys(EVERYTHING, level),
            hardness_mmol_per_l=H100,
            ph=7.5,
            temperature_c=25,
            doc_mg_per_l=0.5,
            co2_mg_per_l=level,
            oxygen_mg_per_l=level,
        )
        assert len(rows) == len(limits())
        for row in rows:
            words = f"{row.what} {row.comment} {row.source}".casefold()
            assert "safe" not in words
            assert "harmless" not in words
            assert "not an aquarium limit" in words
            assert ("above" if level > 1 else "below") in words


def test_nitrate_as_no3_and_as_n() -> None:
    """The same 14 mg NO3/L passes the figure stated as NO3 and that stated as N; 13 mg N/L would be four times that."""
    rows = limit_rows({"nitrate": 14.0})
    as_no3, as_n = _row(rows, "nitrate, CCME, long"), _row(rows, "nitrate, BC, long")
    assert (as_no3.value, as_no3.unit, as_no3.verdict) == (14.0, "mg NO3/L", "warns")
    assert as_n.value == pytest.approx(14.0 / 4.4268, rel=1e-4)
    assert (as_n.unit, as_n.verdict) == ("mg N/L", "warns")
    below = limit_rows({"nitrate": 12.9})
    assert _row(below, "nitrate, CCME, long").verdict == "holds"
    assert _row(limit_rows({"nitrate": 551.0}), "nitrate, CCME, short").verdict == "fails"
    assert _row(limit_rows({"nitrate": 549.0}), "nitrate, CCME, short").verdict == "holds"


def test_metals_in_micrograms() -> None:
    rows = limit_rows({"copper": 0.003}, hardness_mmol_per_l=H100)
    row = _row(rows, "copper, CCME, long")
    assert (row.value, row.unit) == (pytest.approx(3.0), "µg/L")
    assert row.limit == pytest.approx(2.36, abs=0.005)
    assert row.verdict == "warns"
    assert _row(limit_rows({"copper": 0.014}, hardness_mmol_per_l=H100), "copper, EPA, acute").verdict == "fails"


def test_hardness_comes_from_calcium_and_magnesium() -> None:
    given_hardness = limit_rows({"copper": 0.001, "calcium": 30.0, "magnesium": 5.0})
    assert _row(given_hardness, "copper, EPA, acute").limit is not None
    without = _row(limit_rows({"copper": 0.001}), "copper, EPA, acute")
    assert (without.verdict, without.limit) == ("cannot tell", None)
    assert "Needs hardness" in without.comment


def test_chloride_moves_nitrite_and_unknown_is_strict() -> None:
    long = {cl: _row(limit_rows({"nitrite": 0.1, "chloride": cl}), "nitrite, BC, long").limit for cl in (1.9, 2, 7, 10)}
    assert long == {1.9: 0.02, 2: 0.04, 7: 0.08, 10: 0.20}
    assert _row(limit_rows({"nitrite": 0.1}), "nitrite, BC, long").limit == 0.02


def test_steps_of_hardness_and_the_flat_foot_of_nickel() -> None:
    found = {}
    for hardness in (10.0, 50.0, 100.0, 300.0):
        mmol = hardness_mmol_per_l(hardness, unit="ppm CaCO3")
        rows = limit_rows({"sulphate": 1.0, "nickel": 1e-3}, hardness_mmol_per_l=mmol)
        found[hardness] = (_row(rows, "sulphate, BC, long").limit, _row(rows, "nickel, CCME, long").limit)
    assert found[10.0] == (128.0, 25.0)
    assert found[50.0] == (218.0, 25.0)
    assert found[100.0] == (309.0, pytest.approx(95.58, abs=0.01))
    assert found[300.0] == (429.0, 150.0)


def test_ammonia_needs_ph_and_temperature() -> None:
    without = limit_rows({"ammonium": 0.5})
    assert {row.verdict for row in without} == {"cannot tell"}
    rows = limit_rows({"ammonium": 0.5}, ph=8.0, temperature_c=25.0)
    # 0.5 mg/L NH4 is 0.388 mg N/L, of which 5.38 % is un-ionised: 0.0254 mg/L NH3, above 0.019
    row = _row(rows, "ammonia, CCME, un-ionised")
    assert row.value == pytest.approx(0.0254, abs=5e-5)
    assert row.verdict == "warns"
    assert _row(rows, "ammonia, EPA, chronic").limit == pytest.approx(0.56, abs=0.005)
    outside = _row(limit_rows({"ammonium": 0.5}, ph=6.0, temperature_c=25.0), "ammonia, EPA, acute")
    assert outside.verdict == "cannot tell"
    assert "6.5 to 9" in outside.comment


def test_oxygen_has_a_lower_limit() -> None:
    enough = limit_rows({}, oxygen_mg_per_l=7.0)
    assert {row.verdict for row in enough} == {"holds"}
    little = limit_rows({}, oxygen_mg_per_l=4.0)
    assert [row.verdict for row in little] == ["warns", "fails"]
    assert "4 is below this published figure of 6.5" in little[0].comment
    co2 = limit_rows({}, co2_mg_per_l=35.0)
    assert [row.verdict for row in co2] == ["warns", "fails"]
    assert co2[1].source == "common practice, no source"


def test_formula_ends_are_said() -> None:
    zinc = next(limit for limit in limits() if limit.key == "zinc, CCME, long")
    soft = WaterConditions(hardness_mmol_per_l=0.05, ph=6.0, doc_mg_per_l=0.5)
    at_the_end = replace(soft, hardness_mmol_per_l=hardness_mmol_per_l(23.4, unit="ppm CaCO3"), ph=6.5)
    assert limit_here(zinc, soft).value == pytest.approx(limit_here(zinc, at_the_end).value)
    assert "where the formula ends" in limit_here(zinc, soft).formula
    assert limit_here(zinc, WaterConditions(hardness_mmol_per_l=1.0, ph=7.0)).missing == "dissolved organic carbon"


def test_a_derivation_for_each() -> None:
    steps = limit_steps(hardness_mmol_per_l=H100, ph=7.5, temperature_c=25.0, doc_mg_per_l=0.5)
    assert [step.what for step in steps] == [limit.key for limit in limits()]
    by_what = {step.what: step for step in steps}
    assert by_what["copper, CCME, long"].formula.startswith("0.2 x exp(0.8545 ln 100")
    assert all("cannot tell" not in step.result for step in steps)
    assert "cannot tell without hardness" in {step.result for step in limit_steps()}


def test_a_dose_that_passes_is_stopped_with_a_plain_explanation() -> None:
    passing = dose_passes_limits({"nitrate": 20.0, "iron": 0.4}, before_mg_per_l={"nitrate": 16.0, "iron": 0.1})
    assert passing.stops
    assert passing.stops_at_once
    assert [row.what for row in passing.passed] == ["iron, BC, dissolved", "iron, CCME, long"]  # short exposure first
    assert {row.what for row in passing.already} == {"nitrate, BC, long", "nitrate, CCME, long"}
    assert "The dose brings iron to 0.4 mg/L, above the published 0.35 mg/L for short exposure" in passing.explanation
    assert "say so deliberately" in passing.explanation
    assert [step.what for step in passing.steps] == ["iron, BC, dissolved", "iron, CCME, long"]


def test_a_dose_that_passes_nothing() -> None:
    passing = dose_passes_limits({"nitrate": 12.0}, before_mg_per_l={"nitrate": 2.0})
    assert not passing.stops
    assert passing.explanation == "The dose passes none of the published figures in the table."
    unknown = dose_passes_limits({"copper": 0.001}, before_mg_per_l={})
    assert not unknown.stops
    assert len(unknown.open) == 3
    assert "Cannot be told" in unknown.explanation
    # the dose's own calcium must not loosen the limit for its copper: conditions are those of the peak for both
    known = dose_passes_limits(
        {"copper": 0.01, "calcium": 80.0, "magnesium": 20.0}, before_mg_per_l={"copper": 0.01, "calcium": 8.0}
    )
    assert not known.stops


@given(
    before=st.dictionaries(st.sampled_from(sorted(EVERYTHING)), st.floats(0, 50)),
    dose=st.dictionaries(st.sampled_from(sorted(EVERYTHING)), st.floats(0, 50)),
)
def test_no_dose_passes_nothing_and_more_never_passes_less(before: dict[str, float], dose: dict[str, float]) -> None:
    conditions = {"hardness_mmol_per_l": H100, "ph": 7.2, "temperature_c": 24.0, "doc_mg_per_l": 1.0}
    assert not dose_passes_limits(before, before_mg_per_l=before, **conditions).stops
    fixed = {"chloride": before.get("chloride", 0.0)}  # chloride moves the nitrite limit
    peak = {key: before.get(key, 0.0) + dose.get(key, 0.0) for key in (*before, *dose)} | fixed
    twice = {key: before.get(key, 0.0) + 2 * dose.get(key, 0.0) for key in (*before, *dose)} | fixed
    once_rows = dose_passes_limits(peak, before_mg_per_l=before, **conditions)
    twice_rows = dose_passes_limits(twice, before_mg_per_l=before, **conditions)
    assert {row.what for row in once_rows.passed} <= {row.what for row in twice_rows.passed}


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: limit_rows({"copper": -1.0}), "the level of copper is -1 mg/L"),
        (lambda: limit_rows({"copper": math.nan}), "the level of copper is no number"),
        (lambda: limit_rows({"lead": 1.0}), '"lead" is nothing Littoral keeps account of'),
        (lambda: limit_rows({}, hardness_mmol_per_l=-1.0), "the hardness is -1 mmol/L"),
        (lambda: limit_rows({}, ph=20.0), "the pH is 20"),
        (lambda: limit_rows({}, temperature_c=80.0), "the temperature is 80 °C"),
        (lambda: limit_rows({}, doc_mg_per_l=-2.0), "the dissolved organic carbon is -2"),
        (lambda: limit_rows({}, co2_mg_per_l=-2.0), "the CO2 is -2 mg/L"),
        (lambda: limit_rows({}, oxygen_mg_per_l=math.inf), "the oxygen is no number"),
        (lambda: dose_passes_limits({}, before_mg_per_l={"iron": -1.0}), "the level of iron is -1"),
    ],
)
def test_impossible_water(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(WaterError) as refused:
        call()
    assert message in str(refused.value)


def test_the_derivation_of_shown_limits_is_in_the_conditions_of_their_rows() -> None:
    levels = {"nitrate": 30.0, "copper": 0.004, "calcium": 40.0, "magnesium": 6.0, "chloride": 12.0}
    rows = limit_rows(levels, ph=7.2, temperature_c=24.0)
    steps = {step.what: step for step in limit_steps_of(levels, rows=rows, ph=7.2, temperature_c=24.0)}
    assert steps.keys() == {row.what for row in rows}
    for row in rows:
        if row.limit is not None:
            assert steps[row.what].result == f"{row.limit:.4g} {row.unit}"
        else:
            assert steps[row.what].result.startswith("cannot tell")
