"""The calendar of a regime: weekdays, half-open days, changes before doses."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from littoral.feeding.calendar import planned
from littoral.feeding.regimes import WEEKDAYS, PlannedChange, PlannedDose, Regime

DOSE = PlannedDose("macro", (0, 5), ml=4.0)
CHANGE = PlannedChange(0.4, (5,))
REGIME = Regime("full", "full", (DOSE,), (CHANGE,))
MONDAY = date(2026, 3, 2)


def test_one_week() -> None:
    assert MONDAY.strftime("%a") == WEEKDAYS[0]
    assert list(planned(REGIME, start=MONDAY, from_day=0, to_day=7)) == [(0, DOSE), (5, CHANGE), (5, DOSE)]


def test_days_are_half_open() -> None:
    assert list(planned(REGIME, start=MONDAY, from_day=0, to_day=5)) == [(0, DOSE)]
    assert list(planned(REGIME, start=MONDAY, from_day=5, to_day=5)) == []
    assert list(planned(REGIME, start=MONDAY, from_day=7, to_day=0)) == []
    assert list(planned(REGIME, start=MONDAY, from_day=-7, to_day=-6)) == [(-7, DOSE)]


def test_across_the_end_of_a_leap_year() -> None:
    start = date(2028, 12, 30)  # a Saturday
    assert [day for day, _ in planned(REGIME, start=start, from_day=0, to_day=4)] == [0, 0, 2]


@given(
    st.dates(date(1990, 1, 1), date(2090, 1, 1)),
    st.integers(-400, 400),
    st.integers(0, 60),
    st.integers(0, 60),
    st.sets(st.integers(0, 6)).map(lambda days: tuple(sorted(days))),
)
def test_pieces_make_the_whole(start: date, first: int, one: int, two: int, weekdays: tuple[int, ...]) -> None:
    regime = Regime("r", "r", (PlannedDose("macro", weekdays, ml=1.0),), (PlannedChange(0.3, weekdays),))
    middle, last = first + one, first + one + two
    whole = list(planned(regime, start=start, from_day=first, to_day=last))
    pieces = [
        *planned(regime, start=start, from_day=first, to_day=middle),
        *planned(regime, start=start, from_day=middle, to_day=last),
    ]
    assert whole == pieces
    assert [day for day, _ in whole] == sorted(day for day, _ in whole)
    assert all((start + timedelta(days=day)).weekday() in weekdays for day, _ in whole)
    # every full week holds each weekday once
    assert len(list(planned(regime, start=start, from_day=first, to_day=first + 7))) == 2 * len(weekdays)
