"""Patterns: every n days through year ends, front-loading, macro and micro apart; and what cannot be."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.feeding.calendar import planned
from littoral.feeding.patterns import (
    every_other_day,
    front_loaded,
    macro_and_micro_days,
    spread_evenly,
    weekday_number,
)
from littoral.feeding.regimes import (
    EveryDays,
    PlannedChange,
    PlannedDose,
    Regime,
    RegimeError,
    period_days,
    times_per_week,
    when_words,
)


def test_every_other_day_goes_on_over_a_year_end() -> None:
    regime = Regime("r", "r", (PlannedDose("macro", (), ml=1.0, every=EveryDays(2)),))
    # 2027 has 365 days, so dates would change parity at the year's end; days since day 0 do not
    days = [day for day, _ in planned(regime, start=date(2027, 12, 29), from_day=0, to_day=8)]
    assert days == [0, 2, 4, 6]
    leap = [day for day, _ in planned(regime, start=date(2028, 2, 27), from_day=1, to_day=6)]
    assert leap == [2, 4]


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(1, 366), st.data())
def test_every_n_days_is_a_steady_beat(start: date, days: int, data: st.DataObject) -> None:
    offset = data.draw(st.integers(0, days - 1))
    act = PlannedChange(0.3, (), every=EveryDays(days, offset))
    found = [day for day, _ in planned(Regime("r", "r", (), (act,)), start=start, from_day=-days, to_day=3 * days)]
    assert found == [offset - days, offset, offset + days, offset + 2 * days]


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.sets(st.integers(0, 6)), st.integers(1, 14))
def test_times_per_week_is_the_mean_of_the_calendar(start: date, weekdays: set[int], days: int) -> None:
    doses = (PlannedDose("a", tuple(weekdays), ml=1.0), PlannedDose("b", (), ml=1.0, every=EveryDays(days)))
    regime = Regime("r", "r", doses)
    period = period_days(regime)
    counted = Counter(act.of for _, act in planned(regime, start=start, from_day=0, to_day=period)
                      if isinstance(act, PlannedDose))  # fmt: skip
    for dose in doses:
        assert counted[dose.of] == pytest.approx(times_per_week(dose) * period / 7.0)


def test_periods() -> None:
    weekly = PlannedChange(0.5, (5,))
    assert period_days(Regime("r", "r", ())) == 7
    assert period_days(Regime("r", "r", (PlannedDose("a", (), ml=1.0, every=EveryDays(2)),))) == 2
    assert period_days(Regime("r", "r", (PlannedDose("a", (), ml=1.0, every=EveryDays(3)),), (weekly,))) == 21
    with pytest.raises(RegimeError, match=r"repeats only after 707 days\. Use periods that fit"):
        period_days(Regime("r", "slow", (PlannedDose("a", (), ml=1.0, every=EveryDays(101)),), (weekly,)))


def test_words() -> None:
    assert when_words(PlannedDose("a", (6, 2), ml=1.0)) == "Sun, Wed"
    assert when_words(PlannedDose("a", tuple(range(7)), ml=1.0)) == "daily"
    assert when_words(PlannedDose("a", (), ml=1.0, every=EveryDays(2))) == "every other day"
    assert when_words(PlannedChange(0.3, (), every=EveryDays(10))) == "every 10 days"
    assert when_words(PlannedChange(0.3, (), every=EveryDays(7, 5))) == "every 7 days from day 5"
    assert when_words(PlannedDose("a", (), ml=1.0)) == "never"


def test_front_loading_by_hand() -> None:
    first, rest = front_loaded("macro", per_week=10.0, unit="mL", change_weekday=5, share_after_change=0.4,
                               weekdays=(0, 2, 5))  # fmt: skip
    assert (first.weekdays, first.ml) == ((5,), 4.0)
    assert (rest.weekdays, rest.ml, rest.written) == ((0, 2), 3.0, "3 mL")
    (all_at_once,) = front_loaded("salt", per_week=2.0, unit="g", change_weekday=5, share_after_change=1.0, weekdays=())
    assert (all_at_once.g, all_at_once.ml) == (2.0, None)


@given(
    st.floats(0.01, 100.0), st.floats(0.0, 1.0), st.integers(0, 6), st.sets(st.integers(0, 6), min_size=2),
    st.sampled_from(["mL", "g"]),
)  # fmt: skip
def test_every_way_of_laying_it_out_gives_the_whole_week(per_week, share, change, weekdays, unit) -> None:  # type: ignore[no-untyped-def]
    days = tuple(sorted(weekdays))
    for doses in (
        front_loaded("a", per_week=per_week, unit=unit, change_weekday=change, share_after_change=share, weekdays=days),
        spread_evenly("a", per_week=per_week, unit=unit, weekdays=days),
        every_other_day("a", per_week=per_week, unit=unit),
    ):
        given_in_all = sum(times_per_week(dose) * ((dose.ml if unit == "mL" else dose.g) or 0.0) for dose in doses)
        assert given_in_all == pytest.approx(per_week)


@given(st.integers(0, 6), st.booleans())
def test_macro_and_micro_never_meet(change: int, rest: bool) -> None:
    macro, micro = macro_and_micro_days(change_weekday=change, rest_before_change=rest)
    assert macro[0] == change
    assert not set(macro) & set(micro)
    assert len({*macro, *micro}) == (6 if rest else 7)


def test_weekday_names() -> None:
    assert [weekday_number(name) for name in ("Mon", "sunday", " FRI ")] == [0, 6, 4]
    with pytest.raises(RegimeError, match='unknown weekday "Frid"'):
        weekday_number("Frid")


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: EveryDays(0), "every 0 days"),
        (lambda: EveryDays(400), "every 400 days"),
        (lambda: EveryDays(3, 3), "every 3 days, first on day 3"),
        (lambda: PlannedDose("a", (7,), ml=1.0), "weekday 7"),
        (lambda: PlannedChange(0.3, (1,), EveryDays(2)), "both weekdays and every so many days"),
        (lambda: spread_evenly("a", per_week=1.0, unit="mL", weekdays=()), "no day to dose on"),
        (lambda: spread_evenly("a", per_week=-1.0, unit="mL", weekdays=(1,)), "-1 mL a week"),
        (lambda: every_other_day("a", per_week=float("nan"), unit="g"), "nan g a week"),
        (lambda: macro_and_micro_days(change_weekday=9), "weekday 9"),
        (
            lambda: front_loaded("a", per_week=1.0, unit="mL", change_weekday=1, share_after_change=1.5, weekdays=(2,)),
            "1.5 of the week's dose after the change",
        ),
        (
            lambda: front_loaded("a", per_week=1.0, unit="mL", change_weekday=1, share_after_change=0.5, weekdays=(1,)),
            "no day to dose on",
        ),
    ],
)  # fmt: skip
def test_patterns_that_cannot_be(make, what: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(RegimeError) as refusal:
        make()
    assert refusal.value.what == what
    assert str(refusal.value) == f"regime: {what}. {refusal.value.right}"


def test_weekdays_over_a_year_end() -> None:
    regime = Regime("r", "r", (PlannedDose("a", (2,), ml=1.0),))
    start = date(2026, 12, 31)
    found = [start + timedelta(days=day) for day, _ in planned(regime, start=start, from_day=0, to_day=14)]
    assert found == [date(2027, 1, 6), date(2027, 1, 13)]
