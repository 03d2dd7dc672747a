"""The calendar file, read again by parsers that we did not write: vobject for the file, dateutil for its time zones."""

from __future__ import annotations

import io
import warnings
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical

from littoral.publish.calendar_feed import LONGEST_FEED_DAYS, calendar_feed
from littoral.trial.days import moment_on
from littoral.trial.due import planned_on
from littoral.trial.written.reader import read_trial

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import vobject

TEXT = (
    (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
    + """
[schedule]
doses_at = "18:00"
tests = [{ of = ["nitrate", "ph"], on = ["Fri"], at = "17:00" }]
photos = [{ on = "every day", at = "02:30" }]
"""
)
TRIAL = read_trial(TEXT, where="trial.toml")[0]
assert TRIAL is not None
NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


def read(data: bytes):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return vobject.readOne(data.decode("utf-8"), validate=True)


def events(data: bytes):
    return read(data).vevent_list


def feed(trial=TRIAL, **more) -> bytes:
    return calendar_feed(trial, **{"first": trial.start, "now": NOW, **more})


def test_every_planned_thing_is_in_one_event_and_nothing_else_is():
    found = events(feed(tanks=["left"]))
    for count in range(56):
        day = TRIAL.start + timedelta(days=count)
        told = [one.description.value for one in found if str(one.dtstart.value)[:10] == str(day)]
        planned = planned_on(TRIAL, "left", day)
        assert len(told) == len({one.kind for one in planned})
        for due in planned:
            assert any(due.amount in text for text in told)


def test_amounts_are_in_the_persons_units_and_a_dose_says_to_look_first():
    found = events(feed(tanks=["left"]))
    (dose,) = [one for one in found if str(one.dtstart.value) == "2026-03-17 18:00:00+01:00"]
    assert dose.summary.value == "4 strokes macro stock (left tank)"
    assert dose.description.value.splitlines() == [
        "left tank: 4 strokes macro stock",
        "Look at today's list first, so that nobody gives it twice.",
    ]
    assert dose.valarm.action.value == "DISPLAY"
    assert dose.valarm.trigger.value == timedelta(0)


def test_tanks_that_are_fed_together_are_one_event_on_the_bench():
    (dose,) = [one for one in events(feed()) if str(one.dtstart.value) == "2026-03-15 18:00:00+01:00"]
    assert dose.summary.value == "1 stroke macro stock (left tank, right tank)"
    (later,) = [one for one in events(feed()) if str(one.dtstart.value) == "2026-03-22 18:00:00+01:00"]
    assert later.summary.value == "Feed the plants (left tank, right tank)"
    assert "right tank: 1 stroke macro stock" in later.description.value


def test_what_has_no_time_is_of_the_whole_day_and_reminds_in_the_morning():
    (change,) = [
        one for one in events(feed()) if "Change" in one.summary.value and str(one.dtstart.value) == "2026-03-07"
    ]
    assert (change.dtstart.value, change.dtend.value) == (date(2026, 3, 7), date(2026, 3, 8))
    assert change.valarm.trigger.value == timedelta(hours=9)


def test_uids_are_one_each_and_outlive_what_is_edited():
    def uids(data: bytes) -> dict[str, str]:
        return {one.uid.value: one.summary.value for one in events(data)}

    first = uids(feed())
    assert len(first) == len(events(feed()))
    edited = TEXT.replace('doses_at = "18:00"', 'doses_at = "20:15"').replace("4 strokes", "3 strokes")
    moved = read_trial(edited, where="")
    assert set(uids(feed(moved[0]))) == set(first)
    assert uids(feed(first=date(2026, 4, 1))).items() <= first.items()
    assert not set(uids(feed(tanks=["left"]))) & set(first)  # another file, which may stand beside this one


@pytest.mark.parametrize(
    ("zone", "start"),
    [
        ("Europe/Berlin", date(2026, 3, 2)),  # forward on 29 March, at 02:00
        ("Europe/Berlin", date(2026, 10, 5)),  # back on 25 October, at 03:00
        ("America/Sao_Paulo", date(2018, 10, 22)),  # no midnight on 4 November
        ("Australia/Lord_Howe", date(2026, 3, 9)),  # half an hour
        ("Europe/Berlin", date(2027, 12, 6)),  # year end and leap day
        ("UTC", date(2026, 3, 2)),
    ],
)
def test_the_files_own_zone_gives_the_moments_that_we_mean(zone, start):
    """dateutil reads the VTIMEZONE of the file, and nothing of ours or of the system's zone data."""
    trial = replace(TRIAL, zone=zone, start=start, length_days=100.0)
    data = feed(trial)
    told = tzical(io.StringIO(data.decode("utf-8"))).get(zone) if zone != "UTC" else UTC
    assert told is not None
    moments = 0
    inside = False
    for line in _unfolded(data):
        inside = (inside or line == "BEGIN:VEVENT") and line != "END:VEVENT"
        if not inside or not line.startswith("DTSTART") or "T" not in line.rsplit(":", 1)[1]:
            continue
        local = datetime.strptime(line.rsplit(":", 1)[1].rstrip("Z"), "%Y%m%dT%H%M%S")
        if _is_in_a_gap(local, zone):
            continue  # RFC 5545 3.3.5 reads it by the offset before; dateutil does not say
        meant = moment_on(local.date(), local.time(), zone)
        assert local.replace(tzinfo=told).astimezone(UTC) == meant, line
        moments += 1
    assert moments > 100


def _is_in_a_gap(local: datetime, zone: str) -> bool:
    meant = moment_on(local.date(), local.time(), zone)
    return meant.astimezone(ZoneInfo(zone)).replace(tzinfo=None) != local


def _unfolded(data: bytes) -> list[str]:
    return data.decode("utf-8").replace("\r\n ", "").split("\r\n")


def test_the_files_form_is_that_of_the_standard():
    title = "Sparing, or full; “twin” tanks — a very long title that must be folded\nand has lines"
    trial = replace(TRIAL, title=title)
    data = feed(trial)
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert max(len(line) for line in data.split(b"\r\n")) <= 75  # octets, RFC 5545 3.1
    calendar = read(data)
    assert calendar.version.value == "2.0"
    assert "Sparing\\, or full\\; “twin” tanks" in "\n".join(_unfolded(data))
    assert all(one.dtstamp.value == NOW for one in calendar.vevent_list)


def test_before_the_start_it_begins_with_the_trial_and_afterwards_it_is_empty():
    assert min(str(one.dtstart.value)[:10] for one in events(feed(first=date(2020, 1, 1)))) == "2026-03-02"
    assert not hasattr(read(feed(first=date(2026, 4, 27))), "vevent_list")
    long = replace(TRIAL, length_days=3650.0)
    last = max(str(one.dtstart.value)[:10] for one in events(feed(long, tanks=["left"])))
    assert last == str(TRIAL.start + timedelta(days=LONGEST_FEED_DAYS - 1))
    with pytest.raises(KeyError, match="kitchen"):
        feed(tanks=["kitchen"])
