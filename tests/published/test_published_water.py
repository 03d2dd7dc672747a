"""Water and limits against values printed elsewhere and reference programs; each row names its source and its limit."""

from __future__ import annotations

from typing import Any

import phreeqpython
import pytest
from rows import HERE, load

FOLDER = HERE / "published_rows"


WATER = load(FOLDER / "water.py")
WATER_ROWS, LIMIT_ROWS = WATER.rows(), load(FOLDER / "limits.py").rows()


@pytest.mark.parametrize("row", [*WATER_ROWS, *LIMIT_ROWS], ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"


def test_no_row_has_gone() -> None:
    names = [row["name"] for row in WATER_ROWS]
    for prefix, count in {"CO2 ": 9, "rule": 4, "oxygen": 14, "un-ionised": 4, "pH in balance": 7, "EPA": 3}.items():
        assert sum(name.startswith(prefix) for name in names) == count, prefix
    assert sum("+1 d" in name for name in names) == 6
    assert len(WATER_ROWS) == 88
    assert len(LIMIT_ROWS) == 21


def _phreeqc_balance(mmol: dict[str, float], ph: float) -> tuple[float, float]:
    """Cations less anions in meq/kg of water, and the error in %, as PHREEQC's speciation has them."""
    names = {"sulphate": "S(6)", "nitrate": "N(5)", "bicarbonate": "Alkalinity", "iron": "Fe(2)"}
    symbols = {"calcium": "Ca", "magnesium": "Mg", "sodium": "Na", "potassium": "K", "chloride": "Cl"}
    symbols["manganese"] = "Mn"
    engine = phreeqpython.PhreeqPython()
    water = engine.add_solution(
        {"units": "mmol/kgw", "pH": ph, "temp": 25} | {(names | symbols)[key]: amount for key, amount in mmol.items()}
    )
    cations = anions = 0.0
    for name, molality in water.species_molalities.items():
        for sign in "+-":
            _, found, charge = name.partition(sign)
            if found and sign == "+":
                cations += 1000.0 * molality * int(charge or 1)
            elif found:
                anions += 1000.0 * molality * int(charge or 1)
    return cations - anions, 100.0 * (cations - anions) / (cations + anions)


@pytest.mark.parametrize(
    ("name", "ph", "apart_percent"),
    # PHREEQC lets calcium bind sulphate and bicarbonate; the less there is of both, the less the percentages differ
    [
        ("example analysis of DIN 38402-62", 7.0, 0.2),
        ("ephemeral spring, Sierra Nevada", 6.2, 0.05),
        ("perennial spring, Sierra Nevada", 6.8, 0.05),
    ],
)
def test_balance_against_phreeqc(name: str, ph: float, apart_percent: float) -> None:
    """The difference of the sums is the same with and without ion pairs; the percentage nearly so."""
    water = next(one for one in WATER.waters() if one["name"] == name)
    balance = WATER.ion_balance(water["mg_per_l"], ph=ph)
    difference, error = _phreeqc_balance(water["mmol_per_l"], ph)
    assert balance.cation_sum_meq_per_l - balance.anion_sum_meq_per_l == pytest.approx(difference, abs=1e-3)
    assert balance.error_percent == pytest.approx(error, abs=apart_percent)


def test_din_example_as_printed_with_ion_pairs() -> None:
    """The page that prints the DIN example gives -1.89 % with PHREEQC's ion pairs; so does PHREEQC here."""
    water = next(one for one in WATER.waters() if one["name"].startswith("example analysis"))
    assert _phreeqc_balance(water["mmol_per_l"], 7.0)[1] == pytest.approx(-1.89, abs=0.01)


def test_a_wrong_row_fails() -> None:
    assert not WATER._row("pK1", 6.3448, "", "6.35", "test")["holds"]
    assert WATER._row("pK1", 6.3519, "", "6.35", "test")["holds"]
