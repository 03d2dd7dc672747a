"""Entries that disturb a finding, each by its id with tank, day and reason."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from littoral.findings.answers import answer
from littoral.findings.model import Finding
from littoral.trial.days import date_of
from littoral.trial.entries import (
    Dose,
    Entry,
    Equipment,
    GaugeReading,
    Living,
    Note,
    Payload,
    Trim,
    WaterChange,
)
from littoral.trial.model import Question

Make = Callable[..., Any]
COMPACT = Question("compact", "Did they stay compact?", "compactness", ("red-stem",), primary=True)


def gauge(value: float, *, of: str = "temperature", half: float = 0.1) -> GaugeReading:
    return GaugeReading(of, value - half, value + half, "thermometer", str(value))


@pytest.fixture
def found(make_trial: Make, make_measured: Make, make_book: Make, noise: Callable[[int, str, float], float]):
    """Return the finding of a small trial with some entries (day, tank, payload), and these entries."""

    def of(*noted: tuple[float, str | None, Payload], **trial_more: Any) -> tuple[Finding, Sequence[Entry]]:
        trial = replace(make_trial(COMPACT), **trial_more)

        def take(day: int, tank: str) -> dict[str, float]:
            return {"height_cm": 10 + noise(day, tank, 0.5), "cover": 0.5}

        book = make_book(trial)
        entries = [book.note(*one) for one in noted]
        return answer(book, trial, measured=make_measured(trial, {"red-stem": take}))[0], entries

    return of


def reasons(finding: Finding, entries: Sequence[Entry]) -> list[str]:
    return [finding.evidence.disturbed_by.get(entry.id, "") for entry in entries]


def test_nothing_noted_disturbs_nothing(found) -> None:
    finding, _ = found()
    assert finding.evidence.disturbed_by == {}
    assert finding.evidence.remarks == ()


def test_heat_and_tanks_apart_are_told_with_their_days(found) -> None:
    usual = [(float(day), tank, gauge(24.0)) for day in range(14, 30) for tank in ("left", "right")]
    finding, entries = found(
        *usual,
        (30.5, "left", gauge(27.5)),
        (30.5, "right", gauge(27.5)),
        (31.5, "left", gauge(27.0)),
        (31.5, "right", gauge(24.1)),
    )
    told = reasons(finding, entries)
    assert told[: len(usual)] == [""] * len(usual)
    assert told[-4] == told[-4]
    assert told[-3] == "right tank, day 30: at least 2 °C warmer than usual (24.0 °C)"
    assert told[-4] == "left tank, days 30 to 31: at least 2 °C warmer than usual (24.0 °C)"
    assert told[-2].startswith("left tank, days 30 to 31: at least 2 °C warmer")
    assert told[-2].endswith("left tank, day 31: temperature further apart between the arms than 0.5 °C")
    assert told[-1] == "right tank, day 31: temperature further apart between the arms than 0.5 °C"


@pytest.mark.parametrize(("light", "told"), [(8.2, False), (8.6, True)])
def test_light_is_unequal_beyond_the_margin_and_not_before(found, light: float, told: bool) -> None:
    finding, entries = found(
        (20.5, "left", gauge(8.0, of="light", half=0.0)), (20.5, "right", gauge(light, of="light", half=0.0))
    )
    assert [bool(one) for one in reasons(finding, entries)] == [told, told]


def test_a_reading_too_coarse_to_tell_is_not_told(found) -> None:
    finding, entries = found((20.5, "left", gauge(24.0, half=1.0)), (20.5, "right", gauge(25.0, half=1.0)))
    assert reasons(finding, entries) == ["", ""]


def test_changes_of_one_tank_only_or_of_other_size(found) -> None:
    finding, entries = found(
        (19.5, "left", WaterChange(0.5)),
        (19.5, "right", WaterChange(0.5)),
        (26.5, "left", WaterChange(0.5)),
        (27.4, "right", WaterChange(0.3)),
        (33.5, "left", WaterChange(0.5)),
    )
    assert reasons(finding, entries) == [
        "",
        "",
        "left tank, day 26: 50 % of the water changed, 30 % in the other arm",
        "right tank, day 27: 30 % of the water changed, 50 % in the other arm",
        "left tank, day 33: 50 % of the water changed here only",
    ]


def test_changes_are_no_disturbance_where_only_one_tank_notes_them(found) -> None:
    finding, entries = found((19.5, "left", WaterChange(0.5)))
    assert reasons(finding, entries) == [""]


def test_trims_equipment_and_animals_of_one_tank_only(found) -> None:
    finding, entries = found(
        (20.5, "left", Trim("red-stem")),
        (20.9, "right", Trim(None)),
        (30.5, "left", Trim("red-stem")),
        (30.5, "right", Trim("carpet")),
        (35.5, "left", Equipment("lamp", "set to 80 %")),
        (40.5, "left", Living("animals", "snails", 5, "added")),
        (40.5, "right", Living("animals", "snails", 5, "added")),
    )
    assert reasons(finding, entries) == [
        "",
        "right tank, day 20: all stands trimmed here only",
        "left tank, day 30: red stem plant trimmed here only",
        "",  # a stand that the question does not ask about
        "left tank, day 35: lamp: set to 80 %, here only",
        "",
        "",
    ]


def test_doses_late_and_twice(found, make_trial: Make) -> None:
    monday = 14  # day 0 is a Monday, and the full arm (right) doses on Mondays, Wednesdays and Fridays
    trial = make_trial(COMPACT)
    late = Dose("macro", ml=10.0, for_date=str(date_of(monday, trial)))
    finding, entries = found(
        (monday + 1.5, "right", late),
        (monday + 2.3, "right", Dose("macro", ml=10.0)),
        (monday + 2.8, "right", Dose("macro", ml=10.0)),
        (monday + 4.5, "right", Dose("macro", ml=10.0)),
        (monday + 7.5, "right", Dose("macro", ml=10.0, given=False)),
    )
    assert reasons(finding, entries) == [
        "right tank, day 15: dose of macro stock given late, for day 14",
        "right tank, day 16: macro stock dosed twice",
        "right tank, day 16: macro stock dosed twice",
        "",
        "right tank, day 21: dose of macro stock missed",
    ]


def test_outages_are_found_in_notes_and_other_notes_are_not(found) -> None:
    finding, entries = found(
        (25.5, None, Note("Power cut from 3 to 9 in the morning")),
        (26.5, "left", Note("the feather looks lovely")),
        (5.5, "left", Note("the filter stopped overnight")),
    )
    assert reasons(finding, entries) == [
        "all tanks, day 25: noted: “Power cut from 3 to 9 in the morning”",
        "",
        "left tank, day 5: noted: “the filter stopped overnight”",  # the baseline counts: there is one
    ]


def test_what_was_not_held_equal_stands_beside_the_finding_unless_it_is_the_factor(found) -> None:
    warm = [
        (float(day) + 0.5, tank, gauge(value + 0.02 * np.sin(day), half=0.0))
        for day in range(14, 40)
        for tank, value in (("left", 24.0), ("right", 25.0))
    ]
    finding, _ = found(*warm)
    assert any(one.startswith("Not held equal: temperature.") for one in finding.evidence.remarks)
    finding, _ = found(*warm, factor="temperature")
    assert not any("Not held equal" in one for one in finding.evidence.remarks)


def test_an_account_is_not_disturbed_by_heat(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    trial = make_trial(Question("cost", "What did it cost?", "cost"))
    book = make_book(trial)
    book.note(20.5, "left", gauge(24.0))
    hot = book.note(20.5 + timedelta(hours=1) / timedelta(days=1), "right", gauge(30.0))
    book.note(21.5, "right", Dose("macro", ml=10.0))
    finding = answer(book, trial, measured=make_measured(trial, {}))[0]
    assert hot.id not in finding.evidence.disturbed_by
