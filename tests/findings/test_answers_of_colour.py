"""Answers about redness and algae: what the camera makes by itself is never claimed for the plant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from tests.findings.answers_asked import Make, Noise, only, redness

from littoral.findings.answers import answer
from littoral.findings.camera import REDNESS_ONE_FRAME
from littoral.findings.measured import Measured
from littoral.trial.model import Pane, Question


@pytest.mark.parametrize(
    ("later", "error", "rule", "camera_term"),
    [
        (7.0, 0.6, "difference changed after the regimes began", 2.9),
        (7.0, 8.0, "not distinguishable from the camera", 8.0),
        (2.7, 0.6, "cannot tell", 2.9),
        (0.0, 0.6, "cannot tell", 2.9),
    ],
)
def test_redness_under_the_cameras_own_difference_is_not_claimed(
    later: float,
    error: float,
    rule: str,
    camera_term: float,
    make_trial: Make,
    make_measured: Make,
    make_book: Make,
    noise: Noise,
) -> None:
    trial = make_trial(Question("red", "Redder?", "redness", ("red-stem",), primary=True))
    measured = make_measured(trial, {"red-stem": redness(noise, later=later, error=error)})
    finding = only(answer(make_book(trial), trial, measured=measured))
    assert finding.rule == rule
    assert finding.camera_term == camera_term
    assert finding.relative_percent is None


def test_intervals_of_algae_hold_the_measures_own_error(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    """However well the days agree: 1.96 times 2.6 points between tanks, 2.8 in a tank, 3.4 in one place."""

    def algae(day: int, tank: str) -> dict[str, float]:
        return {"algae": 0.1 * (tank == "right") + 0.05 + noise(day, tank, 1e-5)}

    trial = make_trial(Question("algae", "Where did algae come?", "algae", ("stone", "root"), primary=True))
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"stone": algae, "root": algae})))
    assert (finding.low, finding.high) == pytest.approx((10 - 1.96 * 2.6, 10 + 1.96 * 2.6), abs=0.01)
    assert finding.camera_term == pytest.approx(1.96 * 2.6, abs=0.05)
    for value in finding.arms:
        assert (value.low, value.high) == pytest.approx((value.value - 5.488, value.value + 5.488), abs=0.01)
    for value in (value for part in finding.parts for value in part.arms):
        assert (value.low, value.high) == pytest.approx((value.value - 6.664, value.value + 6.664), abs=0.01)


def test_without_a_card_only_a_change_of_redness_may_be_claimed(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(Question("red", "Redder?", "redness", ("red-stem",), primary=True))
    bare = {
        key: replace(view, panes=tuple(replace(p, regions=p.regions[:-1]) for p in view.panes))
        for key, view in trial.views.items()
    }
    trial = replace(trial, views=bare)
    always = make_measured(trial, {"red-stem": redness(noise, later=0.0, offset=5.0)})
    finding = only(answer(make_book(trial), trial, measured=always))
    assert finding.rule == "cannot tell"
    assert finding.effect == pytest.approx(5.0, abs=0.3)  # and not a word of it
    assert "without a card in the water of each tank only a change from a baseline could be claimed" in finding.wording
    assert "5.0" not in finding.wording
    changed = make_measured(trial, {"red-stem": redness(noise, later=5.0)})
    finding = only(answer(make_book(trial), trial, measured=changed))
    assert finding.rule == "difference changed after the regimes began"
    assert "relative to the rest of the scene" in finding.wording


def test_in_one_frame_too_each_tank_needs_its_card(
    make_trial: Make, make_measured: Make, make_book: Make, one_frame: Make, noise: Noise
) -> None:
    """One camera, and still the light falls differently on two places."""
    trial = one_frame(make_trial(Question("red", "Redder?", "redness", ("red-stem",), primary=True), baseline_days=0.0))
    view = next(iter(trial.views.values()))
    left, right = view.panes
    bare = replace(view, panes=(left, replace(right, regions=right.regions[:-1])))
    apart = make_measured(trial, {"red-stem": redness(noise, later=0.0, offset=5.0)})
    shared = Measured(tuple(replace(photo, view=view.key) for photo in apart.photos), "test")
    with_cards = only(answer(make_book(trial), trial, measured=shared))
    assert with_cards.rule == "these two tanks differ"
    trial = replace(trial, views={view.key: bare})
    assert only(answer(make_book(trial), trial, measured=shared)).rule == "not distinguishable from the camera"


def test_both_tanks_in_one_frame_share_the_camera(
    make_trial: Make, make_measured: Make, make_book: Make, one_frame: Make, noise: Noise
) -> None:
    trial = one_frame(make_trial(Question("red", "Redder?", "redness", ("red-stem",), primary=True)))
    apart = make_measured(trial, {"red-stem": redness(noise, later=1.2)})
    shared = Measured(tuple(replace(photo, view=next(iter(trial.views))) for photo in apart.photos), "test")
    finding = only(answer(make_book(trial), trial, measured=shared))
    assert finding.rule == "difference changed after the regimes began"
    assert finding.camera_term == REDNESS_ONE_FRAME.least


def test_where_algae_came_is_answered_by_place(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    def algae(per_day: float, first: int) -> Callable[[int, str], dict[str, float]]:
        def take(day: int, tank: str) -> dict[str, float]:
            grown = max(0, day - first) * per_day * (2.0 if tank == "right" else 0.4)
            return {"algae": max(0.0, grown + noise(day, tank, 0.0005))}

        return take

    trial = make_trial(Question("algae", "Where did algae come?", "algae", primary=True))
    measured = make_measured(trial, {"stone": algae(0.004, 20), "root": algae(0.006, 10)})
    finding = only(answer(make_book(trial), trial, measured=measured))
    assert finding.rule == "larger than equal tanks usually show"
    assert finding.change is None
    assert "Right tank: they came first on root, from day 15; most stood on root" in finding.detail
    assert [part.region for part in finding.parts] == ["stone", "root"]
    assert "right tank" in finding.parts[0].text
    assert "from day 27" in finding.parts[0].text


def test_a_place_is_said_to_have_most_algae_only_where_it_can_be_told(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    def algae(level: float) -> Callable[[int, str], dict[str, float]]:
        return lambda day, tank: {"algae": level + noise(day, f"{tank}{level}", 0.02)}

    trial = make_trial(Question("algae", "Where did algae come?", "algae", primary=True))
    alike = make_measured(trial, {"stone": algae(0.200), "root": algae(0.201)})
    said = only(answer(make_book(trial), trial, measured=alike)).detail
    assert "most stood on" not in said
    assert said.count("where most stood cannot be told (") == 2
    apart = make_measured(trial, {"stone": algae(0.20), "root": algae(0.40)})
    assert only(answer(make_book(trial), trial, measured=apart)).detail.count("most stood on root, ") == 2


def test_a_card_with_known_fields_lets_smaller_differences_be_told(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    """2.7 a* between two views cannot be told with a card of which nothing is known, and can where its fields are."""
    trial = make_trial(Question("red", "Redder?", "redness", ("red-stem",), primary=True))

    def known(pane: Pane) -> Pane:
        regions = tuple(replace(one, reflects=0.18) if one.kind == "card" else one for one in pane.regions)
        return replace(pane, regions=regions)

    views = {key: replace(view, panes=tuple(known(pane) for pane in view.panes)) for key, view in trial.views.items()}
    measured = make_measured(trial, {"red-stem": redness(noise, later=2.7, error=0.4)})
    plain = only(answer(make_book(trial), trial, measured=measured))
    assert (plain.rule, plain.camera_term) == ("cannot tell", 2.9)
    trial = replace(trial, views=views)
    found = only(answer(make_book(trial), trial, measured=measured))
    assert (found.rule, found.camera_term) == ("difference changed after the regimes began", 1.5)
