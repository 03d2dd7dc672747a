"""Pages across trials and ahead, on benches of small pages."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from types import ModuleType

import pytest

from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text


@pytest.fixture
def two_trials(bench, keepers_made: ModuleType):
    """The same two arms, once each way round; the second trial's arms are swapped."""
    page = bench.pages["small"]
    trial = keepers_made.keeper_trial()
    cost = keepers_made.keeper_finding((0.1, 0.0), (0.3, 0.0), measure="cost", unit="EUR per week")
    exact = tuple(replace(value, low=None, high=None) for value in cost.arms)
    cost = replace(cost, question="cost", arms=exact, low=None, high=None, rule="exact account", primary=False)
    first = keepers_made.keeper_finding((0.025, 0.001), (0.035, 0.001))
    second = keepers_made.keeper_finding((0.031, 0.001), (0.029, 0.001))
    arms = (replace(trial.arms[0], tanks=("left",)), replace(trial.arms[1], tanks=("right",)))
    other = replace(trial, key="second", title="Sparing or full, arms swapped", start=date(2026, 6, 1), arms=arms)
    turned = replace(second, arms=tuple(
        replace(value, tank="left" if value.tank == "right" else "right") for value in second.arms
    ))  # fmt: skip
    bench.pages = {
        "sparing-or-full": replace(page, trial=trial, findings=(first, cost)),
        "second": replace(page, trial=other, findings=(turned, cost)),
    }
    return bench


def test_the_history_shows_trials_side_by_side_and_tells_tank_from_regime(asking, two_trials) -> None:
    page = asking.get("/history")
    assert page.status_code == 200
    assert page.text.index("Sparing or full</a>") < page.text.index("Sparing or full, arms swapped</a>")
    for part in ("+1.00 (+0.72 to +1.28)", "more slowly whatever it was given", "Both ways round have been tried once"):
        assert part in page.text
    assert "next.toml" not in page.text


def test_with_one_trial_the_swap_is_proposed_and_can_be_saved(asking, bench, two_trials) -> None:
    del bench.pages["second"]
    page = asking.get("/history")
    assert 'href="/trial/sparing-or-full/next.toml"' in page.text
    assert "cannot be told" in page.text
    bench.text = lambda key: starting_text(title="Sparing or full", start="2026-03-02", key="sparing-or-full")
    answer = asking.get("/trial/sparing-or-full/next.toml")
    assert answer.status_code == 200
    assert "attachment" in answer.headers["content-disposition"]
    assert tomllib.loads(answer.text)["trial"]["key"] == "sparing-or-full-swapped"
    trial, faults = read_trial(answer.text, where="here")
    assert trial is not None
    assert not faults
    assert trial.start == date(2026, 4, 27)


def test_an_empty_bench_says_so_and_what_cannot_be_swapped_is_refused_in_words(asking, bench) -> None:
    bench.text = lambda key: "format = 1\n"
    assert asking.get("/trial/small/next.toml").status_code == 409
    assert asking.get("/trial/none/next.toml").status_code == 404
    assert asking.get("/trial/none/decide").status_code == 404
    bench.pages.clear()
    page = asking.get("/history")
    assert "There is no trial in this logbook yet" in page.text
    assert "Start a trial" in page.text


def test_a_trial_that_cannot_be_shown_does_not_hide_the_others(asking, two_trials) -> None:
    from littoral.errors import LittoralError

    calls: list[int] = []

    def fail_once() -> None:
        calls.append(1)
        if len(calls) == 1:
            raise LittoralError("its bottle is broken.")

    two_trials.before_page = fail_once
    page = asking.get("/history")
    assert page.status_code == 200
    assert "its bottle is broken." in page.text
    assert "Sparing or full, arms swapped" in page.text


def test_next_week_shows_the_aims_without_a_score_and_steps_with_what_to_watch(asking, two_trials) -> None:
    page = asking.get("/trial/sparing-or-full/decide")
    assert page.status_code == 200
    for part in (
        "Neither beats the other in everything",
        "for you to say",
        "If you want most: height growth",
        "nitrate 3.09 instead of 0.823 mg/L",
        "Look at the animals first",
    ):
        assert part in page.text
    assert "Change nothing before" not in page.text  # the trial is over
    assert page.text.count("<svg") == 2
    assert " style=" not in page.text
    assert "<style" not in page.text


def test_with_one_aim_there_is_no_picture_and_the_page_says_so(asking) -> None:
    page = asking.get("/trial/small/decide")
    assert page.status_code == 200
    assert "One aim alone, height growth" in page.text
    assert "<svg" not in page.text


def test_the_trials_are_linked_to_them(asking) -> None:
    home = asking.get("/").text
    assert 'href="/history"' in home
    assert 'href="/pool"' in home
    assert 'href="/trial/small/decide"' in asking.get("/trial/small").text


def test_the_history_draws_the_year_and_gives_every_answer_as_page_and_as_data(asking, two_trials) -> None:
    page = asking.get("/history")
    assert page.text.count("<svg") == 2
    assert "The primary" not in page.text
    for part in ("What was learnt", "What to try next", "these two tanks differ", 'href="/trial/second/again"'):
        assert part in page.text
    plain = asking.get("/history.json").json()
    assert [one["key"] for one in plain["year"]] == ["sparing-or-full", "second"]
    assert plain["answers"][0]["strength"] == "these two tanks differ"
    assert plain["trials"][0]["key"] == "sparing-or-full"
    two_trials.pages.clear()
    assert asking.get("/history.json").json()["year"] == []
