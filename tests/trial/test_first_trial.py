"""A first trial out of three answers: it reads without a fault, and feeds nobody more than the keeper says."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.errors import FaultsError
from littoral.speech.manner import PSEUDO, Manner, speaking
from littoral.trial.design import draw_again
from littoral.trial.due import planned_on
from littoral.trial.written.first_feed import OFTEN, Feed
from littoral.trial.written.first_trial import WISHES, first_text, wish_of
from littoral.trial.written.reader import read_trial

START = date(2026, 3, 2)
BOTTLE = Feed("Green bottle", "NO3 6 %, K2O 3 %, Fe 0,1 %", "2 mL")
STOCK = Feed("Own stock", "KNO3 33 g, KH2PO4 2.6 g in 500 mL", "7 drops", "every day")

NAMES = st.text(min_size=1, max_size=12).filter(lambda one: bool(one.strip()) and one.isprintable())


def text_of(know: str, feed: Feed | None = BOTTLE, tanks=("left", "right"), start=START, **more):
    given = {"glass": "60 x 30 x 30 cm", "zone": "Europe/Berlin", "seed": 3, **more}
    return first_text(wish_of(know), tanks=tanks, feed=feed, start=start, **given)


def trial_of(*answers, **more):
    trial, faults = read_trial(text_of(*answers, **more), where="here")
    assert not faults
    assert trial is not None
    return trial


@pytest.mark.parametrize(
    "holds",
    [
        "NO3-N 1.5 %, P 0.2 %",
        "urea-N 1 %; NH4-N 0.5 %",
        "Available Phosphate (P2O5) 2 %",
        "nitrate nitrogen 1 %",
        "Fe EDTA 0.1 %",
    ],
)
def test_names_that_a_label_or_a_refusal_uses_are_read(holds):
    assert trial_of("feed", Feed("Green bottle", holds, "2 mL"))


@settings(max_examples=12, deadline=None)
@given(
    st.sampled_from([*WISHES, 'Does a "lid" help?']),
    st.sampled_from([BOTTLE, STOCK, None]),
    st.lists(
        st.text(min_size=1, max_size=12).filter(lambda one: one.strip() and one.isprintable()),
        min_size=2,
        max_size=4,
        unique_by=str.casefold,
    ),
    st.dates(date(2026, 1, 1), date(2026, 12, 31)),
    st.sampled_from(sorted(OFTEN)),
)
def test_whatever_is_answered_is_a_trial_whose_first_dose_is_due_on_its_first_day(know, feed, tanks, start, often):
    if know == "feed" and feed is None:
        feed = STOCK
    feed = feed and Feed(feed.name, feed.holds, feed.dose, often)
    trial = trial_of(know, feed, tanks, start)
    assert len(trial.tanks) == len(tanks)
    assert draw_again(trial) is True
    for tank in trial.tanks:
        week = [one.kind for day in range(7) for one in planned_on(trial, tank, start + timedelta(days=day))]
        assert week.count("dose") == (0 if feed is None else len(OFTEN[often]))
        assert week.count("water change") == 1
        today = {one.kind for one in planned_on(trial, tank, start)}
        assert today == ({"photo"} if feed is None else {"dose", "photo"})


def test_no_tank_ever_gets_more_than_the_keeper_gives_already_and_half_where_feed_is_the_question():
    half, full = (trial_of("feed").regimes[key].doses[0].ml for key in ("half-of-it", "all-of-it"))
    assert (half, full) == (1.0, 2.0)
    assert trial_of("feed").baseline_regime == "all-of-it"
    drops = trial_of("feed", STOCK).regimes
    assert [drops[key].doses[0].written for key in ("all-of-it", "half-of-it")] == ["7 drops", "0.175 mL"]
    for know in ("light", "CO2", "Does a lid help?"):
        assert [regime.doses[0].ml for regime in trial_of(know).regimes.values()] == [2.0]
        assert {arm.regime for arm in trial_of(know).arms} == {"as-always"}


def test_what_differs_is_not_held_the_same():
    assert "light 8 h a day" not in trial_of("light").held_equal
    assert "light 8 h a day" in trial_of("CO2").held_equal


def test_a_label_and_weighed_salts_are_what_they_say():
    label = trial_of("feed").bottles["feed"]
    assert label.content_mg_per_ml["nitrate"] == pytest.approx(60.0, rel=1e-3)  # 6 % of a litre of 1 kg
    assert trial_of("feed", STOCK).bottles["feed"].salts_g["KNO3"] == 33.0


def test_a_second_one_gets_a_key_and_a_title_of_its_own():
    again = trial_of("feed", taken=("all-the-feed-or-half-of-it", "all-the-feed-or-half-of-it-2"))
    assert (again.key, again.title) == ("all-the-feed-or-half-of-it-3", "All the feed or half of it (3)")


@pytest.mark.parametrize(
    ("change", "where", "said"),
    [
        ({"tanks": ("left",)}, "tanks", "two names"),
        ({"tanks": ("left", "Left")}, "tanks", "twice"),
        ({"tanks": tuple(map(str, range(25)))}, "tanks", "25"),
        ({"glass": "big"}, "glass", "60 x 30"),
        ({"feed": Feed("", "K2O 3 %", "2 mL")}, "feed", "bottle"),
        ({"feed": Feed("x", "K2O 3 %", "3 pumps")}, "dose", "measuring cylinder"),
        ({"feed": Feed("x", "", "2 mL")}, "holds", "no level"),
        ({"feed": Feed("x", "green stuff", "2 mL")}, "holds", "green stuff"),
        ({"feed": Feed("x", "K2O 3 %, K2O 4 %", "2 mL")}, "holds", "twice"),
        ({"feed": Feed("x", "K2SO4 1,500 g in 5 L", "2 mL")}, "holds", "1.5 or 1500"),
        ({"feed": Feed("x", "K2O 3 %", "2")}, "dose", "2 mL"),
        ({"feed": Feed("x", "K2O 3 %", "0 mL")}, "dose", "2 mL"),
        ({"feed": Feed("x", "K2O 3 %", "2 strokes")}, "dose", "ten strokes"),
        ({"feed": Feed("x", "K2O 3 %", "2 g")}, "dose", "liquid"),
        ({"feed": Feed("x", "K2O 3 %", "2 mL", "never")}, "often", "every day"),
        ({"feed": None}, "know", "nothing is fed"),
    ],
)
def test_each_answer_that_is_wrong_is_named_with_what_would_do(change, where, said):
    with pytest.raises(FaultsError) as refused:
        text_of("feed", **change)
    (fault,) = refused.value.faults
    assert fault.where == where
    assert said in f"{fault.what} {fault.right}"


@pytest.mark.parametrize("language", ["en", "de", PSEUDO])
def test_many_drops_are_written_as_a_trial_file_has_them_in_every_language(language):
    with speaking(Manner(language=language)):
        text = text_of("light", Feed("x", "K2O 3 %", "1200 drops"))
    assert 'amount = "1200 drops"' in text
    assert not read_trial(text, where="it")[1]


def test_all_wrong_answers_are_told_at_once():
    with pytest.raises(FaultsError) as refused:
        text_of("feed", Feed("", "", "", ""), ("left",), glass="")
    assert {fault.where for fault in refused.value.faults} == {"tanks", "glass", "feed", "holds", "dose", "often"}
