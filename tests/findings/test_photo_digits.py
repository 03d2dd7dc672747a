"""Numbers of photos end at the digit that their doubt supports, with a true minus and a unit."""

from __future__ import annotations

import pytest

from littoral.findings.photo_digits import digits_of, half_number, plain_number, value_said, written
from littoral.findings.photo_measures import KNOWN, PhotoMeasure

BY_KEY = {one.key: one for one in KNOWN}


@pytest.mark.parametrize(
    ("key", "value", "half", "said"),
    [
        ("height", 9.791, 0.076, "9.8 ± 0.1 cm"),
        ("height", 12.87, 0.18, "12.9 ± 0.2 cm"),
        ("height", 12.87, 1.4, "13 ± 1 cm"),
        ("height-px", 183.4, 2.2, "183 ± 2 px"),
        ("cover", 35.64, 0.43, "35.6 ± 0.4 %"),
        ("cover", 35.64, 3.3, "36 ± 3 %"),
        ("cover", 35.64, None, "35.6 %"),
        ("redness", -20.66, 0.71, "−20.7 ± 0.7 a*"),
        ("redness", -0.04, 0.71, "0.0 ± 0.7 a*"),
        ("algae", 0.0, 0.004, "0.0 ± 0.1 %"),
    ],
)
def test_a_value_is_said_to_the_digit_of_its_doubt(key: str, value: float, half: float | None, said: str) -> None:
    assert value_said(BY_KEY[key], value, half) == said
    assert value_said(BY_KEY[key], value, half, unit=False) == said.rsplit(" ", 1)[0]


def test_no_measure_of_a_photo_is_said_finer_than_a_tenth() -> None:
    assert {digits_of(one, doubt) for one in KNOWN for doubt in (0.0, 1e-6, 0.02, 0.5, float("nan"))} == {0, 1}
    other = PhotoMeasure("new", "new", "new", "")
    assert digits_of(other, 0.02) == 3


def test_small_halves_signs_and_files() -> None:
    assert half_number(0.03, 1) == "below 0.1"
    assert half_number(0.06, 1) == "0.1"
    assert half_number(3.0, 0) == "3"
    assert plain_number(-0.02, 1, signed=True) == "0.0"
    assert plain_number(2.5, 1, signed=True) == "+2.5"
    assert (written(1.56812), written(-0.001), written(123456.789), written(None)) == (1.57, 0.0, 123457.0, None)
