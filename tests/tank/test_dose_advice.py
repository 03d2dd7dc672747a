"""Dose advice against trying every pattern, on small cases; reasons, smallest change, and what cannot be asked."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.feeding import advice_milp
from littoral.feeding.advice import Advice, AdviceError, Band, DoseQuestion, NothingFits, OnShelf
from littoral.feeding.advise import advise, what_wishes_cost
from littoral.feeding.bottles import Bottle
from littoral.feeding.level_response import LevelResponse
from littoral.feeding.regimes import EveryDays, PlannedChange, Regime, RegimeError
from littoral.feeding.tools import Tool
from littoral.tank.steady_state import pattern_of, shares_by_weekday, steady_state, weekly_response

KEYS = ("nitrate", "iron")


def _shelf(contents: list[tuple[float, float]], most: int, prices: list[float]) -> tuple[OnShelf, ...]:
    return tuple(
        OnShelf(Bottle(f"b{i}", f"bottle {i}", dict(zip(KEYS, content, strict=True))),
                Tool("stroke", 1.0, most_steps=most), price)
        for i, (content, price) in enumerate(zip(contents, prices, strict=True))
    )  # fmt: skip


def _levels(question: DoseQuestion, response: LevelResponse, steps: np.ndarray) -> np.ndarray:
    """(n_nutrients, n_points), written out as loops: the slow twin of the adviser's own."""
    levels = response.base.copy()
    for b, item in enumerate(question.shelf):
        for i, key in enumerate(response.nutrients):
            for day in range(7):
                mg_per_l = item.bottle.content_mg_per_ml.get(key, 0.0) * steps[b, day] / question.net_volume_l
                levels[i] += response.gain[i, :, day] * mg_per_l
    return levels


def _fits(question: DoseQuestion, response: LevelResponse, steps: np.ndarray, *, forgive: float) -> bool:
    levels = _levels(question, response, steps)
    for band in question.bands:
        i = response.nutrients.index(band.nutrient)
        if band.high is not None and levels[i].max() > band.high * (1 + forgive):
            return False
        if band.low is not None and levels[i][response.settled].min() < band.low * (1 - forgive):
            return False
    return _kept_apart(question, steps)


def _kept_apart(question: DoseQuestion, steps: np.ndarray) -> bool:
    keys = [item.bottle.key for item in question.shelf]
    return not any(((steps[keys.index(a)] > 0) & (steps[keys.index(b)] > 0)).any() for a, b in question.apart)


def _worth(question: DoseQuestion, steps: np.ndarray) -> tuple[float, int]:
    price = sum((item.price_per_unit or 0.0) * row.sum() for item, row in zip(question.shelf, steps, strict=True))
    return float(price), int((steps > 0).sum())


def _every_pattern(question: DoseQuestion) -> list[np.ndarray]:
    most, found = question.shelf[0].tool.most_steps, []
    cells = len(question.shelf) * len(question.days)
    for counts in itertools.product(range(most + 1), repeat=cells):
        steps = np.zeros((len(question.shelf), 7))
        steps[:, list(question.days)] = np.array(counts).reshape(len(question.shelf), -1)
        found.append(steps)
    return found


@st.composite
def questions(draw: st.DrawFn) -> tuple[DoseQuestion, LevelResponse]:
    tenths = st.integers(0, 40).map(lambda tenth: tenth / 10)
    some = st.integers(2, 20).map(lambda tenth: tenth / 10)
    contents = draw(st.lists(st.tuples(some, st.just(0.0) | some), min_size=2, max_size=2))
    prices = draw(st.lists(st.sampled_from([0.01, 0.02, 0.05, 0.13]), min_size=2, max_size=2))
    ends = st.tuples(st.integers(0, 14), st.integers(3, 40)).map(lambda two: (two[0] / 7, two[0] / 7 + two[1] / 7))
    bands = tuple(Band(key, *draw(ends)) for key in KEYS[: draw(st.integers(1, 2))])
    days = tuple(sorted(draw(st.sets(st.integers(0, 6), min_size=1, max_size=2))))
    share = np.zeros(7)
    share[draw(st.integers(0, 6))] = draw(st.sampled_from([0.3, 0.5]))
    response = weekly_response(
        KEYS, share_changed=share, source_mg_per_l=draw(tenths), uptake_per_day=draw(st.sampled_from([0.0, 0.05])),
        start_mg_per_l=draw(tenths), weeks=12,
    )  # fmt: skip
    apart = (("b0", "b1"),) if draw(st.booleans()) else ()
    aim = draw(st.sampled_from(["cheapest", "simplest"]))
    return DoseQuestion(_shelf(contents, 3, prices), bands, days, 2.0, apart, aim), response


@settings(max_examples=40, deadline=None)
@given(questions())
def test_no_pattern_is_better_than_the_advice(asked: tuple[DoseQuestion, LevelResponse]) -> None:
    question, response = asked
    patterns = _every_pattern(question)
    surely = [steps for steps in patterns if _fits(question, response, steps, forgive=-1e-7)]
    perhaps = [steps for steps in patterns if _fits(question, response, steps, forgive=3e-6)]
    answer = advise(question, response)
    if isinstance(answer, NothingFits):
        assert not surely
        assert answer.smallest
        assert answer.advice is not None
        assert all(row.verdict == "holds" for row in answer.advice.checks)
        return
    steps = np.array([answer.steps_of[item.bottle.key] for item in question.shelf], dtype=float)
    assert perhaps
    assert _fits(question, response, steps, forgive=3e-6)
    assert answer.proven
    first = 0 if question.aim == "cheapest" else 1
    best = min(_worth(question, other)[first] for other in (surely or perhaps))
    assert _worth(question, steps)[first] <= best + 1e-9
    assert _worth(question, steps)[first] >= min(_worth(question, other)[first] for other in perhaps) - 1e-9
    assert answer.portions == _worth(question, steps)[1]
    assert all(row.verdict == "holds" for row in answer.checks)


@settings(max_examples=30, deadline=None)
@given(questions())
def test_no_loosening_is_smaller(asked: tuple[DoseQuestion, LevelResponse]) -> None:
    question, response = asked
    answer = advise(question, response)
    if isinstance(answer, Advice):
        return
    offered = sum(abs(one.needed - one.wanted) / (one.wanted or 1.0) for one in answer.smallest)

    def needed(steps: np.ndarray) -> float:
        levels, total = _levels(question, response, steps), 0.0
        for band in question.bands:
            i = response.nutrients.index(band.nutrient)
            if band.high is not None:
                total += max(0.0, levels[i].max() - band.high) / (band.high or 1.0)
            if band.low is not None:
                total += max(0.0, band.low - levels[i][response.settled].min()) / (band.low or 1.0)
        return total

    apart = (steps for steps in _every_pattern(question) if _kept_apart(question, steps))
    smallest = min(needed(steps) for steps in apart)
    # what is offered is rounded outward at four digits, by at most a thousandth of each end
    rounding = 1.01e-3 * sum(one.needed / (one.wanted or 1.0) for one in answer.smallest)
    assert smallest - 1e-5 <= offered <= smallest + rounding + 1e-5


MACRO = OnShelf(Bottle("macro", "macro", {"nitrate": 49.0, "potassium": 31.0}), Tool("stroke", 1.1), 0.02)
IRON = OnShelf(Bottle("iron", "iron", {"iron": 2.0}), Tool("drop", 0.05, most_steps=40), 0.05)
WEEK = weekly_response(
    ("nitrate", "potassium", "iron"), share_changed=[0, 0, 0, 0, 0, 0.4, 0], source_mg_per_l=[5, 2, 0],
    uptake_per_day=[0.05, 0.03, 0.15], start_mg_per_l=[5, 2, 0], weeks=12,
)  # fmt: skip
ASKED = DoseQuestion(
    (MACRO, IRON), (Band("nitrate", 8, 25), Band("iron", 0.03, 0.3)), (0, 2, 5), 54.0, (("macro", "iron"),), "cheapest"
)


def test_what_is_advised_does_that_in_the_tank() -> None:
    """Through the other path: the advised doses as a regime, settled by the mass balance."""
    answer = advise(ASKED, WEEK)
    assert isinstance(answer, Advice)
    regime = Regime("r", "r", answer.doses, (PlannedChange(0.4, (5,)),))
    bottles = {item.bottle.key: item.bottle for item in ASKED.shelf}
    pattern = pattern_of(regime, bottles, net_volume_l=54.0, nutrients=("nitrate", "iron"), start_weekday=0)
    settled = steady_state(pattern, source_mg_per_l=[5, 0], uptake_per_day=[0.05, 0.15])
    assert (settled.trough >= np.array([8, 0.03]) * (1 - 1e-3)).all()
    assert (settled.peak <= np.array([25, 0.3]) * (1 + 1e-3)).all()
    assert [one.highest for one in answer.reached] == pytest.approx(settled.peak, rel=1e-3)
    assert {day for dose in answer.doses for day in dose.weekdays} <= {0, 2, 5}
    assert answer.price_per_week == pytest.approx(
        sum((dose.ml or 0) * len(dose.weekdays) * {"macro": 0.02, "iron": 0.05}[dose.of] for dose in answer.doses)
    )
    assert answer.derivation[-1].result.startswith("proven")


def test_what_each_wish_costs() -> None:
    costs = {row.wish: row for row in what_wishes_cost(ASKED, WEEK)}
    assert list(costs) == [
        "nitrate at least 8 mg/L", "nitrate at most 25 mg/L", "iron at least 0.03 mg/L", "iron at most 0.3 mg/L",
        "macro and iron not on one day", "doses only on Mon, Wed, Sat", "whole steps of each tool",
    ]  # fmt: skip
    answer = advise(ASKED, WEEK)
    assert isinstance(answer, Advice)
    assert answer.price_per_week is not None
    for row in costs.values():
        assert row.saves_price is not None
        assert row.saves_price >= -1e-9  # fewer wishes never cost more
        assert row.price_per_week == pytest.approx(answer.price_per_week - row.saves_price)
    without_floor = advise(replace(ASKED, bands=(Band("nitrate", 0, 25), ASKED.bands[1])), WEEK)
    assert isinstance(without_floor, Advice)
    assert costs["nitrate at least 8 mg/L"].price_per_week == pytest.approx(without_floor.price_per_week)
    assert costs["nitrate at most 25 mg/L"].words == "nitrate at most 25 mg/L: costs nothing"


def test_nothing_fits_and_the_smallest_change() -> None:
    tight = replace(ASKED, bands=(Band("nitrate", 20, 21), Band("iron", 0.03, 0.3)))
    answer = advise(tight, WEEK)
    assert isinstance(answer, NothingFits)
    assert {change.nutrient for change in answer.smallest} == {"nitrate"}
    assert " the " in answer.words
    assert "nitrate from 2" in answer.words
    assert answer.advice is not None
    assert all(row.verdict == "holds" for row in answer.advice.checks)


def test_without_one_wish_something_fits() -> None:
    once = replace(ASKED, days=(0,), bands=(Band("nitrate", 8, 25), Band("iron", 0.01, 0.3)))
    assert isinstance(advise(once, WEEK), NothingFits)
    frees = [row.wish for row in what_wishes_cost(once, WEEK) if row.frees]
    assert "macro and iron not on one day" in frees
    assert "doses only on Mon" in frees


def test_an_unpriced_shelf_can_be_simple() -> None:
    shelf = (replace(MACRO, price_per_unit=None), IRON)
    answer = advise(replace(ASKED, shelf=shelf, aim="simplest"), WEEK)
    assert isinstance(answer, Advice)
    assert answer.price_per_week is None
    assert answer.portions == 3


def test_too_few_tries_is_said() -> None:
    with pytest.raises(AdviceError, match="no pattern was found in 0 tries"):
        advise(ASKED, WEEK, max_nodes=0)


def test_changes_by_weekday() -> None:
    shares = shares_by_weekday([PlannedChange(0.5, (5, 5)), PlannedChange(0.2, (5, 1))])
    assert shares == pytest.approx([0, 0.2, 0, 0, 0, 0.6, 0])
    with pytest.raises(RegimeError, match="a water change every 10 days"):
        shares_by_weekday([PlannedChange(0.5, (), EveryDays(10))])


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"shelf": ()}, "the shelf is empty"),
        ({"bands": ()}, "there is no band"),
        ({"days": ()}, "nobody is there on any day"),
        ({"days": (1, 8)}, "weekday 8"),
        ({"net_volume_l": 0.0}, "a net volume of 0 L"),
        ({"shelf": (MACRO, MACRO)}, 'two of bottle "macro"'),
        ({"bands": (Band("iron", 1), Band("iron", 2))}, 'two of band for "iron"'),
        ({"apart": (("macro", "zinc"),)}, '"zinc" is to be kept apart but is not on the shelf'),
        ({"apart": (("iron", "iron"),)}, '"iron" is to be kept apart from itself'),
        ({"shelf": (replace(MACRO, price_per_unit=-1.0), IRON)}, "a price of -1 for macro"),
        ({"shelf": (replace(MACRO, price_per_unit=None), IRON)}, "no price is known of macro"),
    ],
)
def test_questions_that_cannot_be(change: dict[str, Any], what: str) -> None:
    with pytest.raises(AdviceError) as refusal:
        replace(ASKED, **change)
    assert refusal.value.what == what
    assert str(refusal.value) == f"dose advice: {what}. {refusal.value.right}"


@pytest.mark.parametrize(("low", "high"), [(None, None), (-1.0, 3.0), (math.nan, 3.0), (5.0, 3.0)])
def test_bands_that_cannot_be(low: float | None, high: float | None) -> None:
    with pytest.raises(AdviceError, match="a band for iron from"):
        Band("iron", low, high)


def test_a_band_of_an_unknown_nutrient() -> None:
    with pytest.raises(
        AdviceError, match=r"no level of boron is known\. Levels are known of: nitrate, potassium, iron\."
    ):
        advise(replace(ASKED, bands=(Band("boron", 0.1),)), WEEK)


def test_what_a_wish_costs_in_portions() -> None:
    """Iron on one day decays below its floor; with every day free, or no floor, fewer portions do."""
    asked = replace(ASKED, aim="simplest")
    now = advise(asked, WEEK)
    without = advise(replace(asked, bands=(ASKED.bands[0], Band("iron", 0, 0.3))), WEEK)
    assert isinstance(now, Advice)
    assert isinstance(without, Advice)
    row = next(one for one in what_wishes_cost(asked, WEEK) if one.wish == "iron at least 0.03 mg/L")
    assert row.saves_portions == now.portions - without.portions == 2
    assert row.words == "iron at least 0.03 mg/L: costs 2 portions a week"


def _many_fine_steps() -> tuple[DoseQuestion, LevelResponse]:
    """Three bottles in fine steps on seven days: thousands of patterns of nearly one price."""
    keys = ("nitrate", "potassium", "iron")
    response = weekly_response(
        keys, share_changed=[0, 0, 0, 0, 0, 0.4, 0], source_mg_per_l=[12.0, 3.0, 0.01],
        start_mg_per_l=[12.0, 3.0, 0.01], uptake_per_day=[0.09, 0.05, 0.3], weeks=12,
    )  # fmt: skip
    shelf = tuple(
        OnShelf(Bottle(key, key, content), Tool("mL", 0.5, most_steps=40), price)
        for key, content, price in (
            ("macro", {"nitrate": 40.5, "potassium": 32.7}, 0.031),
            ("potash", {"potassium": 26.9}, 0.011),
            ("iron", {"iron": 0.8}, 0.04),
        )
    )
    bands = (Band("nitrate", 9, 16), Band("potassium", 7, 14), Band("iron", 0.05, 0.2))
    return DoseQuestion(shelf, bands, tuple(range(7)), 42.0, (("macro", "iron"),), "cheapest"), response


def test_a_cheapest_week_on_seven_days_is_proven_with_and_without_closer_bounds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    question, response = _many_fine_steps()
    answer = advise(question, response)
    monkeypatch.setattr(advice_milp, "FIRST_NODES", advice_milp.MOST_NODES)  # the slow twin: the programme as it is
    patiently = advise(question, response)
    assert isinstance(answer, Advice)
    assert isinstance(patiently, Advice)
    assert answer.proven
    assert patiently.proven
    assert answer.price_per_week == pytest.approx(patiently.price_per_week)
    monkeypatch.setattr(advice_milp, "FIRST_NODES", 1)
    at_once = advise(question, response)
    assert isinstance(at_once, Advice)
    assert at_once.price_per_week == pytest.approx(patiently.price_per_week)


def test_the_same_question_has_the_same_answer() -> None:
    assert advise(ASKED, WEEK) == advise(ASKED, WEEK)


def test_a_point_that_breaks_its_rows_is_not_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    """HiGHS has called such points optimal: the answer is checked, and sought again without presolve."""
    import scipy.optimize

    honest, presolved = scipy.optimize.milp, []

    def lying(objective: Any, *, options: dict[str, Any], **told: Any) -> Any:
        found = honest(objective, options=options, **told)
        presolved.append(options["presolve"])
        if options["presolve"]:
            found.x = np.zeros_like(found.x)
        return found

    right = advise(ASKED, WEEK)
    monkeypatch.setattr(scipy.optimize, "milp", lying)
    answer = advise(ASKED, WEEK)
    assert isinstance(answer, Advice)
    assert isinstance(right, Advice)
    assert presolved[:2] == [True, False]
    assert answer.price_per_week == pytest.approx(right.price_per_week)
