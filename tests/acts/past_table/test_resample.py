"""A sensor's readings by hour and day, against a slow twin, and what is too little for one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.acts.past_table.resample import NEEDED_SHARE, kind_of, resample, step_s
from littoral.acts.past_table.understand import spans_by

START = datetime(2026, 3, 2, 23, 0, tzinfo=UTC)  # midnight in Berlin
BY_DAY = spans_by("day", "Europe/Berlin")
BY_HOUR = spans_by("hour", "Europe/Berlin")


def _series(count: int, minutes: int = 15, start: datetime = START) -> list[tuple[datetime, float]]:
    return [(start + timedelta(minutes=minutes * n), 20 + (n * 7919 % 101) / 10) for n in range(count)]


def test_a_level_gives_mean_lowest_and_highest_of_each_day():
    spans, short = resample(_series(96 * 3), kind="level", span_of=BY_DAY)
    assert short == ()
    for day, span in enumerate(spans):
        values = np.array([value for _, value in _series(96 * 3)[96 * day : 96 * day + 96]])
        assert span.value == pytest.approx(values.mean(), rel=1e-12)
        assert (span.low, span.high, span.count) == (values.min(), values.max(), 96)


def test_what_adds_up_is_summed():
    assert kind_of("light") == "sum"
    assert kind_of("temperature") == "level"
    spans, _ = resample([(at, 0.25) for at, _ in _series(96)], kind="sum", span_of=BY_DAY)
    assert [span.value for span in spans] == [24.0]


@given(
    st.lists(st.tuples(st.integers(0, 3 * 1440), st.floats(-50, 50)), max_size=120), st.sampled_from(["hour", "day"])
)
def test_the_slow_twin_agrees(told, every):
    readings = [(START + timedelta(minutes=minute), value) for minute, value in told]
    zone = ZoneInfo("Europe/Berlin")
    spans, short = resample(readings, kind="level", span_of=spans_by(every, "Europe/Berlin"))
    last = dict(readings)
    step = step_s(list(last))
    expected = []
    for first in sorted({_begin(at, every, zone) for at in last}):
        until = first + timedelta(hours=1 if every == "hour" else 24)  # no clock changes in these days
        inside = [value for at, value in sorted(last.items()) if first <= at < until]
        begins = first <= min(last) < until and (min(last) - first).total_seconds() > 2 * step
        ends = first <= max(last) < until and (until - max(last)).total_seconds() > 2 * step
        if not begins and not ends and len(inside) >= 0.5 * max(1, (until - first).total_seconds() / step) - 1e-9:
            expected.append((first, sum(inside) / len(inside), min(inside), max(inside), len(inside)))
    assert [(s.first, s.low, s.high, s.count) for s in spans] == [(f, lo, hi, n) for f, _, lo, hi, n in expected]
    assert [s.value for s in spans] == pytest.approx([mean for _, mean, _, _, _ in expected])
    assert sum(s.count for s in spans) + sum(n for _, n in short) == len(last)


def _begin(at: datetime, every: str, zone: ZoneInfo) -> datetime:
    local = at.astimezone(zone).replace(minute=0, second=0, microsecond=0)
    return (local if every == "hour" else local.replace(hour=0)).astimezone(UTC)


@pytest.mark.parametrize(("kind", "over"), [("level", 0), ("level", 1), ("sum", 0), ("sum", 1)])
def test_a_day_with_too_many_gaps_gives_nothing(kind, over):
    series = _series(96 * 3)
    gone = 96 - int(np.ceil(NEEDED_SHARE[kind] * 96)) + over
    kept = series[: 96 + 1] + series[96 + 1 + gone :]
    spans, short = resample(kept, kind=kind, span_of=BY_DAY)
    assert (len(spans), len(short)) == ((3, 0) if not over else (2, 1))


def test_the_first_and_last_day_count_only_where_they_are_whole():
    series = _series(96 * 3)
    for cut, left in ((0, 3), (1, 3), (3, 2)):
        assert len(resample(series[cut:], kind="level", span_of=BY_DAY)[0]) == left
        assert len(resample(series[: 288 - cut], kind="level", span_of=BY_DAY)[0]) == left


@pytest.mark.parametrize(
    ("start", "hours"), [(datetime(2026, 3, 28, 23, tzinfo=UTC), 23), (datetime(2026, 10, 24, 22, tzinfo=UTC), 25)]
)
def test_days_on_which_the_clocks_change_are_23_and_25_hours_long(start, hours):
    spans, short = resample(_series(hours * 4, start=start), kind="level", span_of=BY_DAY)
    assert short == ()
    assert [span.count for span in spans] == [hours * 4]


def test_hours_are_of_real_time_also_where_the_clock_shows_one_twice():
    start = datetime(2026, 10, 24, 23, tzinfo=UTC)  # 01:00 in Berlin; 02:00 comes twice
    spans, _ = resample(_series(16, start=start), kind="level", span_of=BY_HOUR)
    assert [span.first for span in spans] == [start + timedelta(hours=n) for n in range(4)]


@pytest.mark.parametrize("count", [0, 1])
def test_hardly_any_reading_is_no_series(count):
    assert resample(_series(count), kind="level", span_of=BY_DAY)[0] == () or count == 1
    assert step_s([at for at, _ in _series(count)]) == float("inf")
