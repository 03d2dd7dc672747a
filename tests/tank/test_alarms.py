"""Alarms of a forecast: verdicts, days, doubt, published limits, and wording that defers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from littoral.chemistry.limit_rows import limit_rows
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import WaterError
from littoral.quantities.hardness import hardness_mmol_per_l
from littoral.tank.alarms import WATCH, Alarm, AlarmError, alarm_of, limit_alarms
from littoral.tank.water_alarms import alkalinity_alarms, alkalinity_used_meq_per_l, co2_alarms, salts_alarm

H100 = hardness_mmol_per_l(100.0, unit="ppm CaCO3")
DAY = np.arange(10.0) + 20.0


def _get(alarms: tuple[Alarm, ...], what: str) -> Alarm:
    return next(one for one in alarms if one.row.what == what)


def _rising(start: float, per_day: float, draws: int = 200, sd: float = 0.0) -> np.ndarray:
    noise = np.random.default_rng(3).normal(0.0, 1.0, (draws, 1)) * sd
    return np.maximum(start + per_day * np.arange(10.0) + noise, 0.0)


def test_nitrate_rises_past_a_published_limit() -> None:
    """CCME 2012: 13 mg/L as NO3 (from memory); BC: 3.0 mg N/L (read), which is 13.28 mg/L as NO3."""
    alarms = limit_alarms({"nitrate": _rising(10.0, 0.5)}, day=DAY)
    ccme = _get(alarms, "nitrate, CCME, long")
    assert (ccme.row.verdict, ccme.row.limit, ccme.row.value) == ("warns", 13.0, 14.5)
    assert ccme.may_pass_day == ccme.likely_pass_day == 27.0  # 13.5; on day 26 it is at 13.0, not above
    bc = _get(alarms, "nitrate, BC, long")
    assert bc.row.value == pytest.approx(14.5 / 4.4268, rel=1e-4)
    assert bc.likely_pass_day == 27.0
    short = _get(alarms, "nitrate, CCME, short")
    assert (short.row.verdict, short.probability, short.may_pass_day) == ("holds", 0.0, None)
    assert [one.passes for one in alarms[:2]] == [True, True]
    assert not alarms[-1].passes
    assert "Probably above the published 13 mg NO3/L from day 27" in ccme.row.comment


def test_doubt_makes_an_early_warning() -> None:
    alarms = limit_alarms({"nitrate": _rising(9.0, 0.3, draws=2000, sd=2.0)}, day=DAY)
    ccme = _get(alarms, "nitrate, CCME, long")
    assert ccme.row.verdict == "warns"
    # 9 + 0.3 t + 2 z above 13: at least 5 in 100 from 4 - 0.3 t <= 2 x 1.645, t = 3
    assert ccme.may_pass_day == 23.0
    assert ccme.likely_pass_day is None
    assert ccme.probability == pytest.approx(1 - 0.5 * (1 + math.erf(0.65 / math.sqrt(2))), abs=0.02)
    assert ccme.low is not None
    assert ccme.high is not None
    assert ccme.low < ccme.row.value < ccme.high
    assert "May come above the published 13 mg NO3/L, with" in ccme.row.comment


@pytest.mark.parametrize(("ph", "limit_nh4"), [(8.0, 0.290 * 1.2878), (7.0, 2.76 * 1.2878)])
def test_ammonia_at_its_published_limit(ph: float, limit_nh4: float) -> None:
    """CCME's 0.019 mg NH3/L as total ammonia, 25 °C: 0.290 mg N/L at pH 8, 2.76 at pH 7 (recomputed independently)."""
    for factor, verdict in ((0.99, "holds"), (1.01, "warns")):
        alarms = limit_alarms({"ammonium": np.full((5, 10), factor * limit_nh4)}, day=DAY, ph=ph, temperature_c=25.0)
        assert _get(alarms, "ammonia, CCME, un-ionised").row.verdict == verdict


def test_urea_counts_as_the_ammonium_it_may_become() -> None:
    """One urea, 60.056 g/mol, is two NH4: 0.6007 mg NH4 per mg."""
    both = {"ammonium": np.full((5, 10), 0.1), "urea": np.full((5, 10), 1.0)}
    urea = _get(limit_alarms(both, day=DAY, ph=8.0, temperature_c=25.0), "ammonia, EPA, chronic")
    assert urea.row.value == pytest.approx((0.1 + 0.60076) / 1.28784, rel=1e-3)
    assert "as if all of it had turned to ammonium" in urea.row.comment
    alone = limit_alarms({"urea": np.full((5, 10), 1.0)}, day=DAY)
    assert {one.row.verdict for one in alone} == {"cannot tell"}
    assert "Needs pH" in alone[0].row.comment


def test_copper_by_hardness_short_exposure_fails() -> None:
    """EPA acute at a hardness of 100 mg CaCO3/L: 13 µg/L printed (from memory), 13.4 recomputed; CCME 2.36 (read)."""
    alarms = limit_alarms({"copper": _rising(0.001, 0.002)}, day=DAY, hardness_mmol_per_l=H100)
    acute = _get(alarms, "copper, EPA, acute")
    assert alarms[0] is acute
    assert acute.row.verdict == "fails"
    assert acute.row.limit == pytest.approx(13.44, abs=0.05)
    assert acute.likely_pass_day == 27.0  # 1 + 2 x 7 = 15 µg/L
    assert _get(alarms, "copper, CCME, long").likely_pass_day == 21.0  # 3 µg/L
    softer = {"copper": _rising(0.001, 0.002), "calcium": np.full((1, 10), 10.0), "magnesium": np.full((1, 10), 2.0)}
    earlier = _get(limit_alarms(softer, day=DAY), "copper, EPA, acute")
    assert earlier.likely_pass_day is not None
    assert earlier.likely_pass_day < 27.0
    assert {one.row.verdict for one in limit_alarms({"copper": _rising(0.001, 0.0)}, day=DAY)} == {"cannot tell"}


def test_one_draw_gives_the_rows_of_today() -> None:
    """The slow twin: a level without doubt or change is judged as `chemistry.limit_rows` judges it."""
    level = {"nitrate": 20.0, "ammonium": 0.4, "copper": 0.003, "iron": 0.2, "chloride": 7.0, "nitrite": 0.1}
    water = {"hardness_mmol_per_l": H100, "ph": 7.8, "temperature_c": 25.0, "doc_mg_per_l": 1.0}
    rows = {row.what: row for row in limit_rows(level, **water)}
    alarms = limit_alarms({key: np.full((1, 10), value) for key, value in level.items()}, day=DAY, **water)
    assert {one.row.what for one in alarms} == set(rows)
    for one in alarms:
        row = rows[one.row.what]
        assert one.row.verdict == row.verdict
        assert one.row.limit == pytest.approx(row.limit)
        assert one.row.value == pytest.approx(row.value)
        assert one.row.source == row.source


def test_oxygen_has_a_lower_limit_and_rules_of_thumb_are_not_called_published() -> None:
    alarms = limit_alarms({"oxygen": 8.0 - 0.4 * np.arange(10.0), "co2": np.full((1, 10), 40.0)}, day=DAY)
    low = _get(alarms, "oxygen, Alberta, long")
    assert (low.row.verdict, low.row.operator, low.likely_pass_day) == ("warns", ">=", 24.0)
    assert "Probably below the published 6.5" in low.row.comment
    rule = _get(alarms, "CO2, fish in planted tanks")
    assert rule.row.verdict == "fails"
    assert "the usual 30 mg/L" in rule.row.comment
    assert "published" not in rule.row.comment


def test_wording_defers_and_never_says_safe() -> None:
    everything = {key: np.full((3, 10), 50.0) for key in NUTRIENTS}
    high = limit_alarms(everything, day=DAY, ph=7.5, temperature_c=25.0, doc_mg_per_l=1.0)
    low = limit_alarms({key: np.full((3, 10), 1e-7) for key in NUTRIENTS}, day=DAY)
    water = (
        *co2_alarms(lowest_ph=6.0, highest_ph=8.0, alkalinity_meq_per_l=1.5, temperature_c=25.0),
        *alkalinity_alarms(np.full((3, 10), 0.2), day=DAY),
        salts_alarm(np.full((3, 10), 900.0), day=DAY, source=300.0, unit="µS/cm"),
    )
    for one in (*high, *low, *water):
        words = f"{one.row.what} {one.row.comment} {one.row.source}".casefold()
        assert "safe" not in words
        assert "harmless" not in words
        assert one.row.source
    assert "Watch the animals" in WATCH  # said once, by whoever shows alarms
    assert "qualified" in WATCH


def test_alkalinity_is_used_up_by_nitrification() -> None:
    """2 eq per mol N: 7.14 mg CaCO3 per mg N by the equation; 6.3 to 7.4 measured (US EPA 1975, as quoted; read)."""
    used = float(alkalinity_used_meq_per_l(nitrified_mg_n_per_l=1.0))
    assert used == pytest.approx(2 / 14.007, rel=1e-4)
    as_caco3 = used * 100.0869 / 2
    assert as_caco3 == pytest.approx(7.14, abs=0.01)
    assert 6.3 < as_caco3 < 7.4
    back = alkalinity_used_meq_per_l(nitrified_mg_n_per_l=1.0, nitrate_taken_up_mg_n_per_l=1.0)
    assert float(back) == pytest.approx(used / 2)
    left = 1.0 - alkalinity_used_meq_per_l(nitrified_mg_n_per_l=0.5 * np.arange(20.0))
    alarms = alkalinity_alarms(left, day=np.arange(20.0))
    assert alarms[0].row.what == "alkalinity, a fall of pH"
    assert alarms[0].row.verdict == "fails"
    # 1 - 0.0714 t < 0.3567 from t = 9.01; below 0.7993 (40 mg/L CaCO3) from t = 2.81
    assert alarms[0].likely_pass_day == 10.0
    assert alarms[1].likely_pass_day == 3.0
    assert alarms[1].row.limit == pytest.approx(0.7993, abs=1e-4)


def test_co2_and_its_swing() -> None:
    """KH 4, pH 6.6, 25 °C: 33.97 mg/L by PHREEQC (published comparison table, recomputed independently)."""
    kh4 = 4 * 0.35665
    alarms = co2_alarms(lowest_ph=6.6, highest_ph=7.4, alkalinity_meq_per_l=kh4, temperature_c=25.0)
    fish = _get(alarms, "CO2, fish in planted tanks")
    assert fish.row.value == pytest.approx(33.97, rel=0.005)
    assert fish.row.verdict == "fails"
    assert fish.low is not None
    assert fish.low < 30.0
    assert "leave it open" in fish.row.comment
    assert "stop the gas" in fish.row.comment
    swing = _get(alarms, "swing of pH between day and night")
    assert (swing.row.verdict, swing.row.value) == ("holds", pytest.approx(0.8))
    wide = co2_alarms(lowest_ph=6.4, highest_ph=7.8, alkalinity_meq_per_l=kh4, temperature_c=25.0)
    assert _get(wide, "swing of pH between day and night").row.verdict == "warns"
    mild = co2_alarms(lowest_ph=7.3, highest_ph=7.5, alkalinity_meq_per_l=kh4, temperature_c=25.0)
    assert {one.row.verdict for one in mild} == {"holds"}
    near = co2_alarms(lowest_ph=6.7, highest_ph=7.4, alkalinity_meq_per_l=kh4, temperature_c=25.0)
    assert _get(near, "CO2, fish in planted tanks").row.verdict == "warns"  # 27 mg/L, perhaps 34


def test_salts_that_build_up() -> None:
    alarm = salts_alarm(_rising(500.0, 20.0), day=DAY, source=300.0, unit="µS/cm")
    assert (alarm.row.verdict, alarm.row.limit, alarm.likely_pass_day) == ("warns", 600.0, 26.0)
    assert "top up with distilled" in alarm.row.comment
    assert salts_alarm(_rising(300.0, 1.0), day=DAY, source=300.0, unit="µS/cm").row.verdict == "holds"


def test_never_on_one_day_but_on_some_day() -> None:
    """Each draw passes on another day: 4 in 100 a day, 40 in 100 over ten days."""
    draws = np.ones((250, 10))
    for day in range(10):
        draws[day * 10 : day * 10 + 10, day] = 3.0
    alarm = alarm_of(
        draws, DAY, what="x", limit=2.0, operator="<=", unit="mg/L", term="short", tail="", source="a test"
    )
    assert (alarm.row.verdict, alarm.probability, alarm.likely_pass_day) == ("warns", 0.4, None)
    assert alarm.may_pass_day == 20.0


@given(
    draws=arrays(np.float64, (6, 5), elements=st.floats(0, 50)),
    limit=st.floats(0.1, 40),
    more=st.floats(0, 10),
)
def test_a_stricter_limit_never_passes_later(draws: np.ndarray, limit: float, more: float) -> None:
    day = np.arange(5.0)
    common = {"what": "x", "operator": "<=", "unit": "mg/L", "term": "short", "tail": "", "source": "a test"}
    strict, loose = (alarm_of(draws, day, limit=value, **common) for value in (limit, limit + more))
    assert strict.probability is not None
    assert loose.probability is not None
    assert strict.probability >= loose.probability
    never = math.inf
    assert (strict.likely_pass_day or 0.0 if strict.likely_pass_day is not None else never) <= (
        loose.likely_pass_day if loose.likely_pass_day is not None else never
    )
    assert (strict.may_pass_day is None) == (strict.row.verdict == "holds")
    # the slow twin of the probability of ever passing
    assert strict.probability == sum(any(value > limit for value in line) for line in draws) / 6


@pytest.mark.parametrize(
    ("call", "error", "message"),
    [
        (lambda: limit_alarms({"nitrate": [1.0, 2.0]}, day=DAY), AlarmError, "has the shape (1, 2)"),
        (lambda: limit_alarms({"nitrate": np.full((2, 10), -1.0)}, day=DAY), AlarmError, "goes below 0"),
        (lambda: limit_alarms({"nitrate": np.full((2, 10), np.nan)}, day=DAY), AlarmError, "or is no number"),
        (lambda: limit_alarms({"lead": np.ones(10)}, day=DAY), AlarmError, '"lead" is nothing'),
        (lambda: limit_alarms({"nitrate": [1.0, 2.0]}, day=[2.0, 1.0]), AlarmError, "days that do not ascend"),
        (lambda: limit_alarms({}, day=[]), AlarmError, "days that do not ascend"),
        (lambda: limit_alarms({"copper": np.ones(10)}, day=DAY, ph=20.0), WaterError, "the pH is 20"),
        (lambda: alkalinity_alarms([1.0], day=DAY), AlarmError, "the forecast of alkalinity has the shape"),
        (lambda: salts_alarm(np.ones(10), day=DAY, source=0.0, unit="µS/cm"), AlarmError, "the source water has 0"),
        (
            lambda: co2_alarms(lowest_ph=7.5, highest_ph=7.0, alkalinity_meq_per_l=1.0, temperature_c=25.0),
            AlarmError,
            "the lowest pH 7.5 is above the highest 7",
        ),
        (
            lambda: co2_alarms(lowest_ph=7.0, highest_ph=7.5, alkalinity_meq_per_l=-1.0, temperature_c=25.0),
            WaterError,
            "the alkalinity is -1",
        ),
    ],
)
def test_forecasts_that_cannot_be(call: object, error: type[Exception], message: str) -> None:
    assert callable(call)
    with pytest.raises(error) as refused:
        call()
    assert message in str(refused.value)
