"""Which days and photos of a finding are shown."""

from __future__ import annotations

from dataclasses import replace

import pytest

from littoral.acts.finding_words import effect_in_words, value_in_words
from littoral.findings.model import CarryingDay
from littoral.quantities.runs import runs_of
from littoral.web.finding_view import bar_of, carrying_photos, disturbances_of, evidence_photos


@pytest.mark.parametrize(
    ("days", "runs"),
    [
        ((), []),
        ((3.4,), [(3, 3)]),
        ((14.1, 15.9, 15.2, 16.0, 20.5), [(14, 16), (20, 20)]),
        ((2, 0, 1), [(0, 2)]),
    ],
)
def test_days_are_told_as_runs(days, runs):
    assert runs_of(days) == runs


def test_the_first_one_between_and_the_last_photo_of_each_tank(bench):
    page = bench.pages["small"]
    every = tuple(shown.photo.entry_id for tank in page.tanks for shown in tank.shown)
    finding = replace(page.findings[0], evidence=replace(page.findings[0].evidence, photos=every))
    shown = [(one.tank.key, one.label) for one in evidence_photos(finding, page)]
    assert [label for tank, label in shown if tank == "left"] == ["Day 0", "Day 4", "Day 9"]
    assert [label for tank, label in shown if tank == "right"] == ["Day 0", "Day 6", "Day 9"]  # 4 and 5 are missing


def test_a_single_photo_is_shown_once(bench):
    page = bench.pages["small"]
    evidence = replace(page.findings[0].evidence, photos=("photo-left-3", "gone"))
    assert len(evidence_photos(replace(page.findings[0], evidence=evidence), page)) == 1


def test_numbers_carry_the_digits_that_their_interval_deserves(bench):
    page = bench.pages["small"]
    finding = page.findings[0]
    assert effect_in_words(finding, page.trial) == "+1.20 percentage points per day (95 % interval +0.40 to +2.00)"
    assert value_in_words(finding.arms[0], finding, page.trial) == ("2.10 % per day", "1.80 to 2.40")


def test_an_account_has_no_interval_and_no_bar(bench):
    page = bench.pages["small"]
    arm = replace(page.findings[0].arms[0], value=1.25, low=None, high=None)
    cost = replace(page.findings[0], measure="cost", effect=0.5, low=None, high=None, arms=(arm,))
    assert effect_in_words(cost, page.trial).startswith("+0.5")
    assert "EUR" in effect_in_words(cost, page.trial)
    assert value_in_words(arm, cost, page.trial)[1] == "exact"
    assert bar_of(cost, page) is None
    unanswered = replace(cost, effect=None)
    assert effect_in_words(unanswered, page.trial) == ""


def test_each_day_that_carries_shows_both_tanks_and_a_near_one_where_a_photo_is_missing(bench):
    page = bench.pages["small"]
    every = tuple(dict.fromkeys(shown.photo.entry_id for tank in page.tanks for shown in tank.shown))
    days = (CarryingDay(0, "the first day compared"), CarryingDay(4, "moves the number most"), CarryingDay(40, "gone"))
    evidence = replace(page.findings[0].evidence, photos=every, carrying=days)
    shown = carrying_photos(replace(page.findings[0], evidence=evidence), page)
    assert [(one.day, one.why, one.label) for one in shown] == [
        (0, "the first day compared", "Day 0"),
        (4, "moves the number most", "Day 4"),
    ]
    assert {(shot.tank.key, shot.label) for shot in shown[1].photos} == {("left", "Day 4"), ("right", "Day 3")}


def test_what_weakened_a_finding_leads_to_the_entries_of_its_day_and_tank(bench, asking):
    page = bench.pages["small"]
    finding = page.findings[0]
    known = page.events[0]
    disturbed = {"nowhere": "something", known.entry_id: "a dose was missed", "photo-left-7": "photo blurred"}
    finding = replace(finding, evidence=replace(finding.evidence, disturbed_by=disturbed))
    told = disturbances_of(finding, page)
    assert [one.reason for one in told][-1] == "something"
    assert told[-1].days == ()
    where = {one.reason: [(day, tank) for day, _, tank in one.days] for one in told}
    assert where["a dose was missed"] == [(int(known.day), known.tank)]
    assert where["photo blurred"] == [(7, "left")]
    bench.pages["small"] = replace(page, findings=(finding,))
    text = asking.get("/trial/small").text
    (_, when, tank) = next(one for one in told if one.reason == "a dose was missed").days[0]
    assert f"/trial/small/entries?last={when}&amp;days=1&amp;tank={tank}" in text
