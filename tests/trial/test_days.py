from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.trial.days import (
    NaiveTimeError,
    NoSuchTimeError,
    date_of,
    day_of,
    instant_of,
    local_date,
    moment_of,
    moment_on,
    span_of,
)
from littoral.trial.written.reader import read_trial

TRIAL = read_trial((Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8"), where="")[0]
assert TRIAL is not None
# Clocks go back over midnight (St John's until 2011), forward over it (Sao Paulo), by half an hour (Lord Howe), and a
# whole date was left out (Apia, 2011-12-30).
ZONES = ("UTC", "Europe/Berlin", "America/Sao_Paulo", "America/St_Johns", "Australia/Lord_Howe", "Pacific/Apia")
STARTS = st.dates(date(2005, 1, 1), date(2027, 1, 1))
MOMENTS = st.floats(-30, 400).map(lambda days: timedelta(days=days))


def trial_in(zone: str, start: date):
    return replace(TRIAL, zone=zone, start=start)


def local(zone: str, *parts: int) -> datetime:
    return datetime(*parts, tzinfo=ZoneInfo(zone))


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ((2026, 3, 2, 0, 0), 0.0),
        ((2026, 3, 2, 12, 0), 0.5),
        ((2026, 3, 1, 18, 0), -0.25),
        ((2026, 3, 29, 0, 0), 27.0),  # the night the clocks go forward: this day has 23 hours
        ((2026, 3, 29, 12, 0), 27 + 11 / 23),
        ((2026, 3, 30, 0, 0), 28.0),
        ((2026, 10, 25, 12, 0), 237 + 13 / 25),  # and this one 25
        ((2027, 1, 1, 0, 0), 305.0),
    ],
)
def test_days_count_local_midnights(written, day):
    assert day_of(local("Europe/Berlin", *written), TRIAL) == pytest.approx(day, abs=1e-9)


def test_a_day_without_midnight_begins_when_the_clock_leaps():
    trial = trial_in("America/Sao_Paulo", date(2018, 11, 3))  # on the 4th 00:00 became 01:00
    assert day_of(local("America/Sao_Paulo", 2018, 11, 4, 1, 0), trial) == 1.0
    assert day_of(local("America/Sao_Paulo", 2018, 11, 3, 23, 59), trial) < 1.0
    assert instant_of(1.0, trial) == datetime(2018, 11, 4, 3, 0, tzinfo=UTC)


def test_an_hour_that_is_shown_twice_has_two_hours_of_days():
    trial = trial_in("Europe/Berlin", date(2026, 10, 25))
    first, second = (local("Europe/Berlin", 2026, 10, 25, 2, 30).replace(fold=fold) for fold in (0, 1))
    assert (day_of(first, trial), day_of(second, trial)) == (pytest.approx(2.5 / 25), pytest.approx(3.5 / 25))


@given(st.sampled_from(ZONES), STARTS, MOMENTS)
def test_a_day_leads_back_to_its_moment(zone, start, since):
    at = datetime(start.year, start.month, start.day, tzinfo=UTC) + since
    trial = trial_in(zone, start)
    assert abs(instant_of(day_of(at, trial), trial) - at) <= timedelta(microseconds=10)


@given(st.sampled_from(ZONES), STARTS, MOMENTS, st.floats(0.001, 30))
def test_later_moments_have_later_days(zone, start, since, hours):
    at = datetime(start.year, start.month, start.day, tzinfo=UTC) + since
    trial = trial_in(zone, start)
    assert day_of(at, trial) < day_of(at + timedelta(hours=hours), trial)


@given(st.sampled_from(("UTC", "Europe/Berlin", "Australia/Lord_Howe")), STARTS, st.integers(0, 400))
def test_every_whole_day_begins_at_midnight_of_its_date(zone, start, day):
    trial = trial_in(zone, start)
    begin = instant_of(float(day), trial).astimezone(ZoneInfo(zone))
    assert (begin.date(), begin.hour, begin.minute) == (date_of(day, trial), 0, 0)
    assert date_of(day + 0.999, trial) == date_of(day, trial)


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(
        NaiveTimeError, match=r"2026-03-02T10:00:00 has no zone, so it is no certain moment\. Give it one"
    ):
        day_of(datetime(2026, 3, 2, 10), TRIAL)


def test_local_times_that_never_were_or_were_twice_are_refused():
    with pytest.raises(NoSuchTimeError, match=r"The clocks of Europe/Berlin leapt over 2026-03-29 02:30\."):
        moment_of(datetime(2026, 3, 29, 2, 30), "Europe/Berlin")
    with pytest.raises(NoSuchTimeError, match=r"showed 2026-10-25 02:30 twice\. Write which, with \+02:00 or \+01:00"):
        moment_of(datetime(2026, 10, 25, 2, 30), "Europe/Berlin")
    assert moment_of(datetime(2026, 3, 29, 3, 30), "Europe/Berlin") == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "day", "first", "until"),
    [
        ("Europe/Berlin", (2026, 3, 29), (2026, 3, 28, 23), (2026, 3, 29, 22)),  # 23 hours
        ("Europe/Berlin", (2026, 10, 25), (2026, 10, 24, 22), (2026, 10, 25, 23)),  # 25 hours
        ("America/Sao_Paulo", (2018, 11, 3), (2018, 11, 3, 3), (2018, 11, 4, 3)),
        ("America/Sao_Paulo", (2018, 11, 4), (2018, 11, 4, 3), (2018, 11, 5, 2)),  # begins at 01:00
        ("Europe/Berlin", (2028, 2, 29), (2028, 2, 28, 23), (2028, 2, 29, 23)),  # leap day
        ("Europe/Berlin", (2026, 12, 31), (2026, 12, 30, 23), (2026, 12, 31, 23)),  # year end
        ("Pacific/Apia", (2011, 12, 30), (2011, 12, 30, 10), (2011, 12, 30, 10)),  # a date that never was
    ],
)
def test_a_local_date_is_a_half_open_range_of_moments(zone, day, first, until):
    begin, end = span_of(date(*day), zone)
    assert (begin, end) == (datetime(*first, tzinfo=UTC), datetime(*until, tzinfo=UTC))
    if begin < end:
        assert local_date(begin, zone) == date(*day)
        assert local_date(end - timedelta(microseconds=1), zone) == date(*day)
    assert local_date(end, zone) > date(*day)


@given(st.sampled_from(ZONES), STARTS, MOMENTS)
def test_every_moment_lies_within_its_local_date_and_that_is_the_date_of_its_day(zone, start, since):
    at = datetime(start.year, start.month, start.day, tzinfo=UTC) + since
    day = local_date(at, zone)
    first, until = span_of(day, zone)
    assert first <= at < until
    assert day == date_of(day_of(at, trial_in(zone, start)), trial_in(zone, start))


@given(st.sampled_from(ZONES), STARTS, st.integers(1, 60))
def test_dates_follow_each_other_without_gap_or_overlap(zone, start, days):
    spans = [span_of(start + timedelta(days=place), zone) for place in range(days)]
    assert all(one[1] == two[0] for one, two in pairwise(spans))
    assert span_of(start, zone, days=days) == (spans[0][0], spans[-1][1])


def test_a_planned_time_that_is_leapt_over_or_shown_twice_has_one_moment():
    assert moment_on(date(2026, 3, 29), time(2, 30), "Europe/Berlin") == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert moment_on(date(2026, 10, 25), time(2, 30), "Europe/Berlin") == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert moment_on(date(2026, 7, 1), time(18), "Europe/Berlin") == datetime(2026, 7, 1, 16, tzinfo=UTC)
    with pytest.raises(NaiveTimeError):
        local_date(datetime(2026, 3, 2, 10), "UTC")
