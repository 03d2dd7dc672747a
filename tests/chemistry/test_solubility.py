"""Solubilities: the table's shape, the bases, and what happens between and beyond its points."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.salts import salts
from littoral.chemistry.solubility import (
    BASES,
    Basis,
    SolubilityError,
    SolubilityRow,
    _interpolate,
    anhydrous_of,
    convert_solubility,
    solubility,
    solubility_rows,
)

ROWS = solubility_rows()
HYDRATES = ("Ca(NO3)2·4H2O", "CuSO4·5H2O", "FeSO4·7H2O", "ZnSO4·7H2O", "MgSO4·7H2O", "MnSO4·H2O")


def test_shape_and_sums() -> None:
    assert len(ROWS) == 38
    assert sum(len(row.celsius) for row in ROWS) == 169
    assert round(sum(sum(row.celsius) for row in ROWS), 1) == 3415
    assert round(sum(sum(row.amount) for row in ROWS), 3) == 6971.9
    for row in ROWS:
        assert len(row.celsius) == len(row.amount)
        assert list(row.celsius) == sorted(set(row.celsius))
        assert row.basis in BASES
        assert row.source
        assert any(anhydrous_of(formula) == anhydrous_of(row.counted_as) for formula in salts()), row.counted_as


def test_copper_sulphate_on_every_basis() -> None:
    """20.1 g anhydrous per 100 g of water = 31.4 g pentahydrate per 100 g of all water = 35.5 g per 100 g added."""

    def on(basis: Basis, counted_as: str) -> float:
        return convert_solubility(
            20.1, counted_as="CuSO4", basis="total water", to_counted_as=counted_as, to_basis=basis
        )

    assert round(on("total water", "CuSO4·5H2O"), 1) == 31.4
    assert round(on("added water", "CuSO4·5H2O"), 1) == 35.5
    assert on("added water", "CuSO4") == pytest.approx(20.1)
    assert on("solution", "CuSO4") == pytest.approx(100 * 20.1 / 120.1)
    assert round(on("mol/kg water", "CuSO4·5H2O"), 3) == 1.259


@given(st.floats(0.01, 60.0), st.sampled_from(HYDRATES), st.sampled_from(BASES), st.sampled_from(BASES), st.booleans())
def test_there_and_back(x: float, hydrate: str, one: Basis, other: Basis, bare: bool) -> None:
    counted = anhydrous_of(hydrate) if bare else hydrate
    there = convert_solubility(
        x, counted_as=anhydrous_of(hydrate), basis="total water", to_counted_as=hydrate, to_basis=one
    )
    if not math.isfinite(there):
        return
    second = convert_solubility(there, counted_as=hydrate, basis=one, to_counted_as=counted, to_basis=other)
    if math.isfinite(second):
        back = convert_solubility(
            second, counted_as=counted, basis=other, to_counted_as=anhydrous_of(hydrate), to_basis="total water"
        )
        assert back == pytest.approx(x, rel=1e-9)


def test_a_hydrate_that_melts_in_its_own_water() -> None:
    assert solubility("CaCl2·6H2O", celsius=40).on("added water") == math.inf
    with pytest.raises(ValueError, match="not hydrates of one salt"):
        solubility("KNO3", celsius=20).on("total water", counted_as="KCl")
    with pytest.raises(ValueError, match="leave no water"):
        convert_solubility(101.0, counted_as="KCl", basis="solution", to_counted_as="KCl", to_basis="total water")
    with pytest.raises(ValueError, match="no solubility"):
        convert_solubility(-1.0, counted_as="KCl", basis="solution", to_counted_as="KCl", to_basis="total water")


def test_the_lower_of_two_sources() -> None:
    found = solubility("Ca(NO3)2·4H2O", celsius=20)
    assert found.anhydrous_g == 129  # compiled; CRC has 131.0
    assert "compiled" in found.source
    assert "CRC" in solubility("Ca(NO3)2·4H2O", celsius=10).source  # 113.2 against 115


def test_between_points_is_drawn_close_to_a_source_that_knows() -> None:
    """CRC at 15 and 25 °C from CRC at 10, 20 and 30: within 0.6 %, so within 0.2 % between points 5 °C apart."""
    worst = 0.0
    for row in ROWS:
        if row.celsius == (10, 15, 20, 25, 30):
            coarse = SolubilityRow(row.counted_as, row.basis, (10, 20, 30), row.amount[::2], row.source)
            known = row.anhydrous_per_total_water()
            for celsius, right in ((15, known[1]), (25, known[3])):
                worst = max(worst, abs(_interpolate(coarse, celsius) / right - 1))
    assert 0 < worst < 0.006


def test_beyond_the_table_is_refused_or_said() -> None:
    with pytest.raises(SolubilityError, match="at 45 °C: the table knows 0 to 40 °C"):
        solubility("K2SO4", celsius=45)
    drawn = solubility("K2SO4", celsius=45, beyond=True)
    assert drawn.beyond
    assert drawn.anhydrous_g > 14.8
    assert not solubility("K2SO4", celsius=40).beyond
    with pytest.raises(SolubilityError, match="20 °C only"):
        solubility("C18H16FeN2NaO6", celsius=10, beyond=True)
    with pytest.raises(SolubilityError, match="the table has none"):
        solubility("C10H15FeN2O7", celsius=20)
    for celsius in (math.nan, math.inf):
        with pytest.raises(SolubilityError):
            solubility("KNO3", celsius=celsius, beyond=True)


def test_manganese_sulphate_falls_when_warm() -> None:
    assert solubility("MnSO4·H2O", celsius=40).anhydrous_g < solubility("MnSO4·H2O", celsius=30).anhydrous_g


def test_the_derivation_names_source_and_basis() -> None:
    steps = solubility("CuSO4·5H2O", celsius=20).steps
    assert [step.result.split()[0] for step in steps] == ["20.11", "35.49"]
    assert "CRC" in steps[0].source
    assert "mol/kg water" in steps[0].formula
