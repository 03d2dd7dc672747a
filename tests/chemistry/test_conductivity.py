"""Conductivity against Standard Methods' potassium chloride and PHREEQC; changed water; salts that build up."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import phreeqpython
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.charges import CHARGES
from littoral.chemistry.conductivity import (
    at_25_c_us_per_cm,
    changed_share,
    conductivity_of,
    salts_after_changes,
)
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.package_data import table
from littoral.chemistry.water_errors import WaterError

NAMES = {
    "calcium": "Ca", "magnesium": "Mg", "sodium": "Na", "potassium": "K", "chloride": "Cl", "sulphate": "S(6)",
    "nitrate": "N(5)", "bicarbonate": "Alkalinity", "ammonium": "Amm",
}  # fmt: skip
SOFT = {"calcium": 5, "magnesium": 1, "sodium": 4, "potassium": 1, "chloride": 5, "sulphate": 4, "bicarbonate": 15}
FED = {
    "calcium": 20, "magnesium": 5, "sodium": 5, "potassium": 10, "chloride": 8, "sulphate": 20, "nitrate": 20,
    "bicarbonate": 60,
}  # fmt: skip
MIDDLING = {
    "calcium": 50, "magnesium": 8, "sodium": 12, "potassium": 2, "chloride": 20, "sulphate": 30, "nitrate": 10,
    "bicarbonate": 160,
}  # fmt: skip
HARD = {
    "calcium": 120, "magnesium": 25, "sodium": 30, "potassium": 5, "chloride": 60, "sulphate": 150, "nitrate": 25,
    "bicarbonate": 300,
}  # fmt: skip


@cache
def _engine() -> phreeqpython.PhreeqPython:
    return phreeqpython.PhreeqPython()


def _phreeqc(level_mg_per_l: dict[str, float], ph: float = 7.2) -> float:
    mmol = {NAMES[key]: level / NUTRIENTS[key].weight for key, level in level_mg_per_l.items()}
    return float(_engine().add_solution({"units": "mmol/kgw", "pH": ph, "temp": 25} | mmol).sc)


def test_shape_and_sum_of_the_table() -> None:
    carries = table("conductivity")["equivalent_s_cm2_per_mol"]
    assert set(carries) == {*CHARGES, "hydrogen", "hydroxide"}
    assert sum(carries.values()) == pytest.approx(1630.21)


@pytest.mark.parametrize(
    ("mol_per_l", "printed"),
    [(0.0001, 14.9), (0.0005, 73.9), (0.001, 146.9), (0.005, 717.5), (0.01, 1412), (0.02, 2765), (0.05, 6667)],
)
def test_potassium_chloride(mol_per_l: float, printed: float) -> None:
    """Standard Methods 2510:I, conductivity of potassium chloride at 25 °C, ±0.1 % (table read)."""
    mmol = 1000.0 * mol_per_l
    water = {key: mmol * NUTRIENTS[key].weight for key in ("potassium", "chloride")}
    assert conductivity_of(water).us_per_cm == pytest.approx(printed, rel=0.004)


@pytest.mark.parametrize(
    ("water", "low", "high"),
    [(SOFT, -0.005, 0.01), (FED, -0.005, 0.02), (MIDDLING, 0.0, 0.03), (HARD, 0.0, 0.08)],
    ids=["soft", "fed", "middling", "hard"],
)
def test_waters_against_phreeqc(water: dict[str, float], low: float, high: float) -> None:
    """PHREEQC lets calcium and magnesium bind sulphate and bicarbonate; the docstring says what that comes to."""
    ours, theirs = conductivity_of(water, ph=7.2).us_per_cm, _phreeqc(water)
    assert low <= ours / theirs - 1.0 <= high


@pytest.mark.parametrize("cation", ["sodium", "potassium", "calcium", "magnesium"])
@pytest.mark.parametrize("anion", ["chloride", "nitrate", "sulphate"])
def test_each_ion_against_phreeqcs_diffusion_coefficients(cation: str, anion: str) -> None:
    """At 0.02 meq/L slowing is under 1 %: what is compared is each ion's limiting conductivity."""
    water = {key: 0.02 / abs(CHARGES[key]) * NUTRIENTS[key].weight for key in (cation, anion)}
    assert conductivity_of(water, ph=7.0).us_per_cm == pytest.approx(_phreeqc(water, 7.0), rel=0.02)


def test_derivation_adds_up() -> None:
    found = conductivity_of(FED, ph=7.0)
    assert sum(found.of_ion_us_per_cm.values()) == pytest.approx(found.us_per_cm)
    assert found.steps[-1].result == f"{found.us_per_cm:.4g} µS/cm"
    assert len(found.steps) == len(FED) + 2 + 2
    assert conductivity_of({}).us_per_cm == 0.0
    assert conductivity_of({"urea": 10.0, "boron": 1.0}).us_per_cm == 0.0


def test_pure_water_conducts_a_little() -> None:
    """0.055 µS/cm at 25 °C, the textbook figure of pure water (from memory)."""
    assert conductivity_of({}, ph=7.0).us_per_cm == pytest.approx(0.055, abs=0.0005)


def test_back_to_25_degrees() -> None:
    assert at_25_c_us_per_cm(400.0, temperature_c=25.0) == 400.0
    assert at_25_c_us_per_cm(400.0, temperature_c=20.0) == pytest.approx(400.0 / 0.9045)


def test_share_changed_with_its_doubt() -> None:
    found = changed_share(before_us_per_cm=600.0, after_us_per_cm=400.0, source_us_per_cm=200.0, stated_share=0.5)
    assert found.share == pytest.approx(0.5)
    assert found.low < 0.5 < found.high
    assert [row.verdict for row in found.rows] == ["holds", "holds"]
    meant = changed_share(before_us_per_cm=600.0, after_us_per_cm=480.0, source_us_per_cm=200.0, stated_share=0.5)
    assert meant.rows[-1].verdict == "warns"
    assert "says 30 %, 50 % was meant" in meant.rows[-1].comment
    alike = changed_share(before_us_per_cm=300.0, after_us_per_cm=290.0, source_us_per_cm=280.0)
    assert alike.rows[0].verdict == "warns"
    assert alike.low < 0.2
    assert alike.high > 0.8
    never = changed_share(before_us_per_cm=600.0, after_us_per_cm=700.0, source_us_per_cm=200.0)
    assert never.rows[-1].verdict == "fails"
    assert never.share == 0.0


def test_the_error_by_drawing_it() -> None:
    """The slow twin of the first-order error: readings with their scatter, drawn."""
    found = changed_share(before_us_per_cm=600.0, after_us_per_cm=430.0, source_us_per_cm=150.0, repeats=3)
    rng = np.random.default_rng(8)
    b, a, s = (value * (1 + rng.normal(0, 0.01 / math.sqrt(3), 200_000)) for value in (600.0, 430.0, 150.0))
    drawn = (b - a) / (b - s)
    assert found.share == pytest.approx(drawn.mean(), abs=1e-3)
    assert found.high - found.low == pytest.approx(2 * 1.96 * drawn.std(), rel=0.01)


@given(share=st.floats(0.05, 0.95), off=st.floats(0.8, 1.2))
def test_a_change_of_known_share_is_found_and_the_meters_own_error_cancels(share: float, off: float) -> None:
    """Real mixing, ion by ion: conductivity is not quite additive; the docstring says how far off that is."""
    mixed = {key: (1 - share) * HARD[key] + share * SOFT.get(key, 0.0) for key in HARD}
    before, after, source = (off * conductivity_of(water).us_per_cm for water in (HARD, mixed, SOFT))
    found = changed_share(before_us_per_cm=before, after_us_per_cm=after, source_us_per_cm=source)
    assert found.share == pytest.approx(share, abs=0.02)


@given(
    source=st.floats(0, 500),
    start=st.floats(0, 500),
    lost=st.floats(0, 0.3),
    share=st.floats(0.01, 1.0),
    changes=st.integers(1, 30),
)
def test_salts_by_the_slow_twin(source: float, start: float, lost: float, share: float, changes: int) -> None:
    before, limit = salts_after_changes(
        source=source, evaporated_share=lost, share_changed=share, changes=changes, start=start
    )
    level = start
    for n in range(changes):
        level += lost * source
        assert before[n] == pytest.approx(level, abs=1e-9)
        level = (1 - share) * level + share * source
    assert limit == pytest.approx(source * (1 + lost / share))


def test_salts_by_the_worked_series() -> None:
    """Dose 5, change 25 %, source 8 settles at a peak of 28 (worked geometric series): evaporation as that dose."""
    _, limit = salts_after_changes(source=8.0, evaporated_share=5 / 8, share_changed=0.25, changes=3)
    assert limit == pytest.approx(28.0)
    before, limit = salts_after_changes(source=100.0, evaporated_share=0.1, share_changed=0.0, changes=3)
    assert list(before) == pytest.approx([110.0, 120.0, 130.0])
    assert limit == math.inf


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: conductivity_of({"lead": 1.0}), "nothing Littoral keeps account of"),
        (lambda: conductivity_of({"sodium": 1e5}), "the ionic strength"),
        (lambda: conductivity_of({"sodium": math.nan}), "is no number"),
        (lambda: conductivity_of({}, ph=20.0), "the pH is 20"),
        (lambda: at_25_c_us_per_cm(400.0, temperature_c=60.0), "the temperature is 60 °C"),
        (
            lambda: changed_share(before_us_per_cm=1.0, after_us_per_cm=1.0, source_us_per_cm=1.0),
            "both conduct 1 µS/cm",
        ),
        (lambda: changed_share(before_us_per_cm=-1.0, after_us_per_cm=1.0, source_us_per_cm=1.0), "before is -1"),
        (lambda: salts_after_changes(source=1.0, evaporated_share=2.0, share_changed=0.1, changes=1), "evaporates"),
    ],
)
def test_impossible_water(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(WaterError) as refused:
        call()
    assert message in str(refused.value)
