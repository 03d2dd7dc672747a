"""A further trial on the same tanks: what was to come along is the same, and the last treatment is not forgotten."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import pytest

from littoral.acts.copy_trial import copy_trial, wash_out, what_carries
from littoral.acts.draw_view import draw_view
from littoral.acts.list_trials import list_trials
from littoral.acts.start_trial import start_in_logbook
from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.trial.design import draw_again
from littoral.trial.periods import half_life_days
from littoral.trial.plan import Plan
from littoral.trial.written.copied import Change, NotCopiedError, copied_text
from littoral.trial.written.drawings import write_drawing
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

FIRST = {"title": "Sparing or full", "glass": "60 x 30 x 30 cm", "start": "2026-03-02", "length": "8 weeks",
         "baseline": "2 weeks", "zone": "Europe/Berlin", "first": "sparing", "second": "full"}  # fmt: skip
CHANGE = {"title": "Long or short days", "factor": "hours of light", "first": "8 hours", "second": "10 hours",
          "regime": "full", "start": ""}  # fmt: skip
TODAY = date(2026, 4, 1)


@pytest.fixture
def folder(tmp_path):
    Logbook.create(tmp_path / "logbook").close()
    start_in_logbook(tmp_path / "logbook", **FIRST)
    return tmp_path / "logbook"


def test_all_but_the_one_thing_is_carried_over(folder):
    made = copy_trial(folder, "sparing-or-full", CHANGE, today=TODAY, seed=5)
    with Logbook.open(folder) as book:
        old, new = book.trial("sparing-or-full"), book.trial(made.key)
        assert book.counts(made.key) == {}
    assert (new.factor, new.start) == ("hours of light", date(2026, 4, 27))
    assert [(arm.key, arm.name, arm.regime) for arm in new.arms] == [
        ("8-hours", "8 hours", "full"), ("10-hours", "10 hours", "full"),
    ]  # fmt: skip
    for name in ("tanks", "views", "stands", "bottles", "regimes", "schedule", "bands", "source", "length_days"):
        assert getattr(new, name) == getattr(old, name)
    assert draw_again(new) is True
    assert made.no_longer_held == ("light 8 h a day",)
    assert "light 8 h a day" not in new.held_equal
    assert len(new.held_equal) == len(old.held_equal) - 1
    assert [one.measure for one in new.questions] == [one.measure for one in old.questions]
    assert all(one.expect is None for one in new.questions)
    assert not any("full" in one.ask or "sparing" in one.ask for one in new.questions)


def test_what_the_last_treatment_still_does_follows_its_half_life(folder):
    with Logbook.open(folder) as book:
        trial = book.trial("sparing-or-full")
    half = half_life_days(trial)
    ended = date(2026, 4, 26)
    for days in (0, 3, 10, 30):
        out = wash_out(trial, ended + timedelta(days=1 + days))
        assert out.days_between == days
        assert out.left_percent[0] == pytest.approx(100 * 2 ** (-days / half))
        assert out.left_percent[1] == pytest.approx(100 * 2 ** (-(days + 14) / half))
    assert 3 * half <= (out.enough_on - ended).days - 1 < 3 * half + 1
    said = " ".join(what_carries(folder, "sparing-or-full", today=TODAY).wash_out.words)
    assert "100 % of that difference is left" in said
    assert ("too short" in said) == (3 * half > 14)


def test_outlines_drawn_on_the_page_come_along(folder):
    with Logbook.open(folder) as book:
        drawn = json.loads(write_drawing(book.trial("sparing-or-full").views["left"].panes))
    drawn["left"]["regions"][0]["polygon"] = [[310, 210], [700, 200], [700, 900]]
    draw_view(folder, "sparing-or-full", "left", json.dumps(drawn))
    made = copy_trial(folder, "sparing-or-full", CHANGE, today=TODAY)
    with Logbook.open(folder) as book:
        old, new = book.trial("sparing-or-full"), book.trial(made.key)
    assert new.views == old.views
    assert new.views["left"].panes[0].regions[0].polygon_px[0] == (310, 210)


def test_where_nothing_differs_in_the_dose_nothing_must_wash_out(folder):
    made = copy_trial(folder, "sparing-or-full", CHANGE, today=TODAY)
    carried = what_carries(folder, made.key, today=TODAY)
    assert "dosed alike" in carried.wash_out.words[0]
    assert made.as_json()["wash_out"]["half_life_days"] > 0
    assert copy_trial(folder, made.key, {**CHANGE, "title": "Again"}, today=TODAY).as_json()["wash_out"][
        "half_life_days"
    ] is None  # fmt: skip


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"title": ""}, "title"), ({"factor": ""}, "factor"), ({"second": "8 Hours"}, "second"),
        ({"regime": "none"}, "regime"), ({"start": "soon"}, "start"), ({"start": "2026-04-26"}, "start"),
        ({"title": "a" * 121}, "title"), ({"title": "logbook"}, None),
    ],
)  # fmt: skip
def test_a_wrong_field_is_named_and_nothing_is_written(folder, change, where):
    before = sorted(folder.parent.iterdir())
    if where is None:  # the folder of that name is there: another key is taken, and the title stays
        assert copy_trial(folder, "sparing-or-full", {**CHANGE, **change}, today=TODAY).key == "logbook-2"
        return
    with pytest.raises(FaultsError) as refused:
        copy_trial(folder, "sparing-or-full", {**CHANGE, **change}, today=TODAY)
    assert {fault.where for fault in refused.value.faults} == {where}
    assert sorted(folder.parent.iterdir()) == before
    assert len(list_trials(folder)) == 1


@pytest.mark.parametrize(
    "plan", [Plan(kind="crossover"), Plan(pairs=(("left", "right"),)), Plan(start_drawn_from=(1.0, 2.0))]
)
def test_what_cannot_be_copied_safely_is_refused_in_words(plan):
    text = starting_text(title="Swaps", start="2026-03-02")
    trial, _ = read_trial(text, where="here")
    change = Change("More", "light", "a", "b", "", date(2026, 6, 1))
    with pytest.raises(NotCopiedError, match="by hand"):
        copied_text(text, replace(trial, plan=plan), change, taken=(), seed=1)
