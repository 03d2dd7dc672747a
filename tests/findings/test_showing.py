"""Numbers as people read them: digits by doubt, three of an account, and the true minus."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.findings.showing import account_doubt, ranged, shown


@given(st.floats(0.01, 9e5), st.sampled_from([1.0, -1.0]))
def test_an_account_shows_three_digits_of_its_largest_number(value: float, sign: float) -> None:
    text = shown("cost", sign * value, doubt=account_doubt(value / 3, sign * value), currency="EUR", unit=False)
    digits = text.lstrip("\u2212").replace(".", "").lstrip("0")
    rounded_up = digits == "1000"  # 99.96 is 100.0
    assert len(digits) == 3 or rounded_up or ("." not in text and value >= 999.5)
    assert float(text.replace("\u2212", "-")) == pytest.approx(sign * value, rel=5.0001e-3)


def test_costs_are_shown_as_people_write_them() -> None:
    doubt = account_doubt(0.12724, 0.15856, 0.03131)
    assert shown("cost", 0.15856, doubt=doubt, currency="EUR") == "0.159 EUR per week"
    assert shown("cost", 0.12724, doubt=doubt, currency="EUR", signed=True) == "+0.127 EUR per week"
    assert shown("care minutes", 0.0, doubt=account_doubt(0.0, 0.0)) == "0.0 min per week"


def test_less_than_zero_carries_the_minus_of_the_charts() -> None:
    assert ranged("redness", -1.23, -3.4, 0.9, level=0.95) == "\u22121.2 a* (95 % interval \u22123.4 to +0.9)"
    assert shown("redness", -3.0, doubt=1.0, unit=False) == "\u22123.0"
    assert shown("redness", -0.004, doubt=1.0, unit=False, signed=True) == "0.0"
