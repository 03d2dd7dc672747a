"""Which backups stay: over year ends, gaps, and clocks that were wrong."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from littoral.logbook.backup_keeping import Keeping, is_due, to_prune

KEEPING = Keeping(days=3, weeks=2, months=2)


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def named(*texts: str) -> dict[str, datetime]:
    return {text: at(text) for text in texts}


def stay(made: dict[str, datetime], now: str, keeping: Keeping = KEEPING) -> list[str]:
    gone = to_prune(made, now=at(now), keeping=keeping)
    return [name for name in sorted(made) if name not in gone]


def test_over_a_year_end_the_last_of_days_weeks_and_months_stay() -> None:
    days = [at("2026-11-20T08:00") + timedelta(days=n) for n in range(45)]
    made = {f"{day:%Y-%m-%d}": day for day in days}
    # 2026-12-28 to 2027-01-03 are one ISO week, 2026-W53; November's last has fallen out of two months.
    assert stay(made, "2027-01-03T09:00") == ["2026-12-27", "2026-12-31", "2027-01-01", "2027-01-02", "2027-01-03"]


def test_of_one_day_the_last_stays() -> None:
    made = named("2026-03-02T08:00", "2026-03-02T12:00", "2026-03-02T23:59")
    assert stay(made, "2026-03-03T00:00") == ["2026-03-02T23:59"]


def test_a_year_without_backups_costs_none() -> None:
    made = named("2024-03-01T08:00", "2024-03-02T08:00", "2024-03-03T08:00")
    assert stay(made, "2026-03-03T08:00") == sorted(made)


def test_a_clock_that_ran_ahead_costs_no_good_backup() -> None:
    ahead = [f"2099-01-{day:02}T08:00" for day in range(1, 20)]
    made = named("2026-03-01T08:00", "2026-03-02T08:00", "2026-03-03T08:00", *ahead)
    assert stay(made, "2026-03-03T09:00") == sorted(made)


def test_a_clock_that_was_put_back_costs_no_good_backup() -> None:
    made = named("1970-01-01T00:10", "2026-03-01T08:00", "2026-03-02T08:00")
    assert stay(made, "1970-01-01T00:20") == sorted(made)
    assert is_due(made, now=at("1970-01-02T00:20"))


def test_one_is_due_each_day_even_where_the_clock_was_wrong() -> None:
    assert is_due({}, now=at("2026-03-02T08:00"))
    assert is_due(named("2026-03-01T08:00"), now=at("2026-03-02T08:00"))
    assert not is_due(named("2026-03-02T07:00"), now=at("2026-03-02T08:00"))
    assert is_due(named("2099-01-01T00:00"), now=at("2026-03-02T08:00"))


moments = st.datetimes(datetime(2026, 1, 1), datetime(2028, 1, 1), timezones=st.just(UTC))


@given(st.lists(moments, unique=True, min_size=1, max_size=60), moments)
def test_what_stays_is_what_the_rule_in_words_says(made: list[datetime], now: datetime) -> None:
    names = {moment.isoformat(): moment for moment in made}
    gone = to_prune(names, now=now, keeping=KEEPING)
    past = sorted(moment for moment in made if moment <= now)
    assert {names[name] for name in gone} <= set(past)
    if past:
        assert past[-1].isoformat() not in gone
    wanted = set()
    for period, count in (("%Y-%m-%d", 3), ("%G-%V", 2), ("%Y-%m", 2)):
        seen = sorted({moment.strftime(period) for moment in past})[-count:]
        wanted |= {max(moment for moment in past if moment.strftime(period) == one) for one in seen}
    assert {names[name] for name in gone} == set(past) - wanted
    rest = {name: moment for name, moment in names.items() if name not in gone}
    assert to_prune(rest, now=now, keeping=KEEPING) == ()


@given(st.lists(st.integers(1, 60), min_size=1, max_size=80))
def test_backups_made_day_by_day_never_lose_the_last_week(hours: list[int]) -> None:
    now = at("2026-12-20T08:00")
    made: dict[str, datetime] = {}
    every: list[datetime] = []
    for step in hours:
        now += timedelta(hours=step)
        made[now.isoformat()] = now
        every.append(now)
        for name in to_prune(made, now=now, keeping=Keeping()):
            del made[name]
    last = {moment.date(): moment for moment in every}
    assert set(list(last.values())[-7:]) <= set(made.values())
    assert len(made) <= 7 + 5 + 12
