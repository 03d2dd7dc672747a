"""Finding the salt that a person means, and asking where it is not clear."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.salts import UnknownSaltError, content_of_salt, salt


@pytest.mark.parametrize(
    ("written", "formula"),
    [
        ("KNO3", "KNO3"),
        ("kno3", "KNO3"),
        ("potassium nitrate", "KNO3"),
        ("MgSO4.7H2O", "MgSO4·7H2O"),
        ("epsom salt", "MgSO4·7H2O"),
        ("MgSO4 anhydrous", "MgSO4"),
        ("anhydrous MgSO4", "MgSO4"),
        ("Ca(NO3)2 4H2O", "Ca(NO3)2·4H2O"),
        ("urea", "CH4N2O"),
        ("NaFe-EDTA trihydrate", "C10H12FeN2NaO8·3H2O"),
    ],
)
def test_found(written: str, formula: str) -> None:
    assert salt(written).formula == formula


@pytest.mark.parametrize(
    ("written", "choices"),
    [
        ("MgSO4", ["MgSO4·7H2O", "MgSO4 anhydrous"]),
        ("CuSO4", ["CuSO4·5H2O", "CuSO4 anhydrous"]),
        ("MnSO4", ["MnSO4·H2O", "MnSO4·4H2O"]),
        ("CaSO4", ["CaSO4·2H2O"]),
        ("Fe-EDTA", ["NaFe-EDTA anhydrous", "NaFe-EDTA trihydrate"]),
        ("fe dtpa", ["Na2Fe-DTPA", "NaHFe-DTPA"]),
        ("ZnSO4", ["ZnSO4·7H2O", "ZnSO4·H2O"]),
        ("citric acid", ["C6H8O7 anhydrous", "C6H8O7·H2O"]),
    ],
)
def test_asked_which_form(written: str, choices: list[str]) -> None:
    with pytest.raises(UnknownSaltError, match="leaves open which form") as refusal:
        salt(written)
    assert [choice.split(" (")[0] for choice in refusal.value.choices] == choices
    assert all(salt(choice) for choice in choices)
    assert all(choice in str(refusal.value) for choice in choices)


@pytest.mark.parametrize("written", ["sugar", "", "K2NO3", "MgSO4·9H2O", "anhydrous sugar", "x" * 5000])
def test_unknown(written: str) -> None:
    with pytest.raises(UnknownSaltError, match="is no salt in the table") as refusal:
        salt(written)
    assert len(str(refusal.value)) < 300
    assert refusal.value.choices


def test_content() -> None:
    content = content_of_salt("KNO3")
    assert set(content) == {"potassium", "nitrate"}
    assert content["potassium"] == pytest.approx(386.72, abs=0.01)  # 38.672 % K
    half = content_of_salt("KNO3", purity=0.5)
    assert half == {key: pytest.approx(value / 2) for key, value in content.items()}
    for purity in (0.0, 1.1, float("nan")):
        with pytest.raises(ValueError, match="purity"):
            content_of_salt("KNO3", purity=purity)


def test_content_asks_too() -> None:
    with pytest.raises(UnknownSaltError):
        content_of_salt("ZnSO4")


def test_carbonate_is_two_of_alkalinity() -> None:
    # CHECKS 4.1: +1 dKH (0.35665 meq/L) in 100 L takes 2.465 g K2CO3 or 2.996 g NaHCO3
    for formula, grams in (("K2CO3", 2.465), ("NaHCO3", 2.996), ("KHCO3", 3.571)):
        meq_per_l = content_of_salt(formula)["bicarbonate"] * grams / 100.0 / 61.017
        assert meq_per_l == pytest.approx(0.35665, abs=2e-4)


@given(st.text(max_size=40))
def test_any_text_is_a_salt_or_refused(written: str) -> None:
    try:
        found = salt(written)
    except UnknownSaltError:
        return
    assert found.weight > 0


def test_what_is_proposed_for_an_unknown_hydrate_is_the_same_salt_first_and_is_taken() -> None:
    with pytest.raises(UnknownSaltError) as error:
        salt("MgSO4·3H2O")
    assert set(error.value.choices[:2]) == {"MgSO4·7H2O", "MgSO4 anhydrous"}
    for choice in error.value.choices:
        assert salt(choice).key == choice
