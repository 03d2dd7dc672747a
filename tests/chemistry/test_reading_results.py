"""Results of tests: the table, the interval of each form, and every refusal."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.reading_methods import ReadingMethod, methods_of, reading_methods
from littoral.chemistry.reading_results import MethodReading, read_result, read_results, step_borders, step_shown
from littoral.chemistry.reading_text import ReadingTextError, plain_form, take_apart
from littoral.demo.nitrate import STEPS_MG_PER_L, card_reading

CARD = reading_methods()["nitrate colour card"]
AS_N = reading_methods()["nitrate-nitrogen colour card"]
GH = reading_methods()["general hardness drops"]
KH = reading_methods()["carbonate hardness drops, half degrees"]
PHOTOMETER = reading_methods()["nitrate photometer"]
PH_DROPS = reading_methods()["pH drops"]
METER = reading_methods()["conductivity meter"]
STEPPED = [method for method in reading_methods().values() if method.kind == "steps"]


def _ends(text: str, method: ReadingMethod) -> tuple[float, float]:
    found = read_result(text, method)
    return found.low, found.high


def test_shape_and_sums_of_the_table() -> None:
    """Pinned, so that a changed cell cannot hide."""
    table = reading_methods()
    assert len(table) == 20
    assert sum(sum(method.steps) for method in table.values()) == pytest.approx(1095.75)
    assert sum(method.reader_blur for method in table.values()) == pytest.approx(3.89)
    assert sum(method.detection_limit for method in table.values()) == pytest.approx(13.735)
    assert sum(len(method.interference) for method in table.values()) == 23
    assert {method.kind for method in table.values()} == {"steps", "drops", "instrument"}


@pytest.mark.parametrize("method", reading_methods().values(), ids=lambda method: method.key)
def test_every_method_is_whole(method: ReadingMethod) -> None:
    assert method.of in {*NUTRIENTS, "hardness", "alkalinity", "conductivity", "ph"}
    assert list(method.steps) == sorted(set(method.steps))
    assert (method.kind == "steps") == bool(method.steps)
    assert (method.kind == "drops") == (method.per_drop > 0)
    assert method.low < method.high
    assert 0 < method.reader_blur < 1
    assert method.source
    for one in method.interference:
        assert one.by
        assert one.does
        assert "from memory" in one.source or "no source" in one.source or "read in" in one.source
    assert method in methods_of(method.of)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("10", 7.5, 15.0),
        ("0", 0.0, 2.5),
        ("80", 60.0, math.inf),
        ("10 mg/L", 7.5, 15.0),
        ("10 ppm", 7.5, 15.0),
        ("10 mg/L as NO3", 7.5, 15.0),
        ("between 10 and 20", 10.0, 20.0),
        ("10 to 20", 10.0, 20.0),
        ("10-20 mg/L", 10.0, 20.0),
        ("10–20", 10.0, 20.0),
        ("over 80", 80.0, math.inf),
        ("> 80", 80.0, math.inf),
        ("More than 80", 80.0, math.inf),
        ("< 5", 0.0, 5.0),
        ("under 5", 0.0, 5.0),
        ("10 (8-12)", 8.0, 12.0),
        ("10, in daylight", 7.5, 15.0),
    ],
)
def test_colour_card(text: str, low: float, high: float) -> None:
    assert _ends(text, CARD) == (low, high)


def test_the_same_figure_as_nitrogen_is_four_times_as_much() -> None:
    """Trap: NO3-N against NO3, a factor of 4.4268 (formula weights, recomputed independently)."""
    as_no3, as_n = read_result("10", CARD), read_result("10", AS_N)
    assert as_no3.value == 10.0
    assert as_n.value == pytest.approx(44.268, abs=0.001)
    assert (as_n.low, as_n.high) == (pytest.approx(7.5 * 4.4268, abs=1e-3), pytest.approx(15 * 4.4268, abs=1e-3))
    assert as_n.unit == "mg/L"
    assert "4.4268" in as_n.steps[-1].formula
    assert len(as_no3.steps) == 1


def test_drops_count_up() -> None:
    """14 degrees are 14 x 0.178325 mmol/L (definition of °dH); the fourteenth drop says more than thirteen."""
    found = read_result("14 drops", GH)
    assert found.value == pytest.approx(14 * 0.178325, rel=1e-5)
    assert (found.low, found.high) == (
        pytest.approx(13 * 0.95 * 0.178325, rel=1e-5),
        pytest.approx(14 * 1.05 * 0.178325, rel=1e-5),
    )
    assert found.unit == "mmol/L"
    assert _ends("14", GH) == (found.low, found.high) == _ends("14 dGH", GH) == _ends("14 °d", GH)
    half = read_result("9 drops", KH)  # 4.5 degrees; 1 dKH is 0.35665 meq/L
    assert half.value == pytest.approx(4.5 * 0.35665, rel=1e-4)
    assert read_result("4.5 dKH", KH).value == half.value
    assert _ends("0", GH) == (0.0, pytest.approx(0.178325, rel=1e-5))


def test_photometer_with_its_error_and_its_floor() -> None:
    assert _ends("12.3", PHOTOMETER) == (pytest.approx(12.3 - 3.968), pytest.approx(12.3 + 3.968))
    assert _ends("12,3", PHOTOMETER) == _ends("12.3", PHOTOMETER)
    assert _ends("12.3 ± 0.8", PHOTOMETER) == (pytest.approx(11.5), pytest.approx(13.1))
    assert _ends("0.4", PHOTOMETER)[0] == 0.0
    assert _ends("0", PHOTOMETER) == (0.0, 2.0)
    assert _ends("over 100", PHOTOMETER) == (100.0, math.inf)


def test_ph_and_conductivity_have_their_own_units() -> None:
    assert _ends("6.6", PH_DROPS) == (pytest.approx(6.5), pytest.approx(6.7))
    assert _ends("7.6", PH_DROPS) == (pytest.approx(7.4), 14.0)
    assert _ends("over 7.6", PH_DROPS) == (7.6, 14.0)
    assert _ends("6.0", PH_DROPS)[0] == 0.0
    found = read_result("450 µS/cm", METER)
    assert (found.low, found.high, found.unit) == (pytest.approx(439.0), pytest.approx(461.0), "µS/cm")
    assert _ends("6.82", reading_methods()["pH electrode"]) == (pytest.approx(6.72), pytest.approx(6.92))


@pytest.mark.parametrize(
    ("text", "method", "message"),
    [
        ("12", CARD, "the card has no step 12. Write 10 or 20, or between 10 and 20."),
        ("120", CARD, "off the scale of this test, which goes from 0 to 80 mg/L. Write over 80"),
        ("between 10 and 30", CARD, "the card has no step 30. Write 20 or 40"),
        ("20-10", CARD, "a range that does not hold its value"),
        ("10-10", CARD, "a range that does not hold its value"),
        ("-5", CARD, "below zero. Write a step of the card"),
        ("−5", CARD, "below zero"),
        ("nan", CARD, "not a reading"),
        ("inf", PHOTOMETER, "not a reading"),
        ("", CARD, "not a reading"),
        ("quite a lot", CARD, "not a reading"),
        ("10 dGH", CARD, "this test reads in mg/L as NO3"),
        ("10 mg/L as N", CARD, "this test reads in mg/L as NO3"),
        ("< 5 (2-8)", CARD, 'is "< 5 (2-8)"'),
        ("1,500", METER, '"1,500" may be 1.5 or 1500'),
        ("7.5-12,5", PHOTOMETER, "one number has a decimal comma, the other a point"),
        ("1.2.3", PHOTOMETER, '"1.2.3" is no number'),
        ("101", PHOTOMETER, "off the scale of this test, which goes from 0 to 100 mg/L"),
        ("14.5 drops", GH, "no whole number of drops"),
        ("41 drops", GH, "off the scale"),
        ("15", PH_DROPS, "off the scale"),
    ],
)
def test_refusals(text: str, method: ReadingMethod, message: str) -> None:
    with pytest.raises(ReadingTextError) as refused:
        read_result(text, method)
    assert message in str(refused.value)


def test_faults_are_collected_together() -> None:
    readings, faults = read_results(["10", "12", "lots", "20"], CARD, where="nitrate")
    assert [one.value for one in readings] == [10.0, 20.0]
    assert [fault.line for fault in faults] == [2, 3]
    assert str(faults[0]).startswith('nitrate, line 2: the reading is "12": the card has no step 12.')
    # a decimal comma in one reading makes a point in another unclear
    readings, faults = read_results(["450,5", "1.500"], METER, where="meter")
    assert len(readings) == 1
    assert '"1.500" may be 1.5 or 1500' in faults[0].what
    assert read_results(["450", "1.500"], METER, where="meter")[1] == ()


def test_the_demos_card_reads_alike() -> None:
    """The demo's card was written on its own; its last step alone ends at 160, where a real card has no end."""
    assert CARD.steps == STEPS_MG_PER_L
    for true in (0.0, 2.4, 2.5, 7.4, 7.5, 12.0, 15.0, 29.9, 30.1, 59.9):
        shown, low, high = card_reading(true)
        assert step_shown(true, CARD) == shown
        assert _ends(f"{shown:g}", CARD) == (low, high)
        assert low <= true <= high


@given(method=st.sampled_from(STEPPED), true=st.floats(0, 300))
def test_a_steps_interval_holds_what_was_in_the_water(method: ReadingMethod, true: float) -> None:
    assume(method.of != "ph" or true <= 14)
    shown = step_shown(true, method)
    found = read_result(f"{shown:.10g}", method)
    assert found.low <= true * method.factor <= found.high * (1 + 1e-12)


@pytest.mark.parametrize("method", STEPPED, ids=lambda method: method.key)
def test_intervals_of_a_card_cover_its_scale_without_gaps(method: ReadingMethod) -> None:
    found = [read_result(f"{step:g}", method) for step in method.steps]
    assert found[0].low == method.low
    assert all(one.high == other.low for one, other in pairwise(found))
    assert len(step_borders(method.steps)) == len(method.steps) - 1


@given(count=st.integers(0, 40), true_share=st.floats(0, 1))
def test_drops_hold_what_was_in_the_water(count: int, true_share: float) -> None:
    true_degrees = max(count - 1, 0) + true_share * min(count, 1)
    found = read_result(f"{count} drops", GH)
    assert found.low <= true_degrees * GH.factor <= found.high + 1e-12


@given(text=st.text(max_size=30))
def test_any_text_is_read_or_refused_plainly(text: str) -> None:
    for method in (CARD, GH, PHOTOMETER, PH_DROPS):
        try:
            found = read_result(text, method)
        except ReadingTextError as refused:
            assert refused.what  # noqa: PT017
        else:
            assert isinstance(found, MethodReading)
            assert 0 <= found.low <= found.high


def test_words_become_signs_and_nothing_else() -> None:
    assert plain_form("between 10 and 20") == "10-20"
    assert plain_form(" Over 80 mg/L") == ">80 mg/L"
    assert plain_form("10 mg/L, card and lamp") == "10 mg/L, card and lamp"
    assert take_apart("10") is None  # the entries file wants a unit
    parts = take_apart("10 mg/L ± 2, card")
    assert parts is not None
    assert (parts.unit, parts.error, parts.method, parts.shown) == ("mg/L", "2", "card", "10 mg/L")
