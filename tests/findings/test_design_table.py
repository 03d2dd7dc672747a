"""The wording table, row by row: which design with which result may say what. And pairs, crossovers, pooled keepers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.findings.compared import Compared
from littoral.findings.design_said import design_text
from littoral.findings.model import ArmValue, Evidence, Finding, Interval, Rule
from littoral.findings.pooled import KeeperResult, KeepersError, PooledRule, decide_pooled, keeper_result, pool_keepers
from littoral.findings.rules import Numbers, decide
from littoral.findings.swaps import Swaps
from littoral.findings.what_next import DIFFERENCES, next_step, ways, ways_for
from littoral.findings.wording import detail, rule_text, texts, wording
from littoral.stats.estimate import Estimate
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

OUT, AROUND = Interval(0.010, 0.004, 0.016), Interval(0.001, -0.004, 0.006)
PAIR = Numbers(
    effect=OUT,
    before=None,
    change=None,
    arm_values=(0.030, 0.040),
    tanks_per_arm=1,
    smallest=None,
    camera_term=None,
    absolute=True,
    spread=0.20,
)
BASELINE = replace(PAIR, before=AROUND, change=Interval(0.009, 0.002, 0.016))
CROSSOVER = replace(PAIR, swaps=Swaps(6, 3.0, "alternating"))
PAIRS = replace(PAIR, tanks_per_arm=3, paired=True)

# design, what a result that excludes 0 may say, the words it begins with after the arm's name
TABLE: dict[str, tuple[Numbers, Rule, str]] = {
    "one tank per arm": (
        PAIR,
        "these two tanks differ",
        "a difference between these two tanks; tank or regime, unknown.",
    ),
    "one pair, beyond what equal tanks show": (
        replace(PAIR, arm_values=(0.010, 0.020)),
        "larger than equal tanks usually show",
        "larger than equal tanks usually show (assumed spread 20 %); tank or regime, unknown.",
    ),
    "one pair with baseline": (
        BASELINE,
        "difference changed after the regimes began",
        "the difference between the tanks changed by +0.90 percentage points per day",
    ),
    "crossover": (
        CROSSOVER,
        "followed the regime in this pair",
        "followed the regime in this pair of tanks (6 periods).",
    ),
    "crossover drawn by lot": (
        replace(PAIR, swaps=Swaps(4, 5.0, "drawn")),
        "followed the regime in this pair",
        "followed the regime in this pair of tanks (4 periods).",
    ),
    "crossover of three periods": (
        replace(PAIR, swaps=Swaps(3, 3.0, "alternating")),
        "too short to follow the regime",
        "a difference that went with the regime over 3 periods; whether it follows it cannot be told: 3 periods",
    ),
    "crossover without washout": (
        replace(PAIR, swaps=Swaps(6, 2.9, "alternating")),
        "too short to follow the regime",
        "a difference that went with the regime over 6 periods; whether it follows it cannot be told: the washout was",
    ),
    "crossover in blocks": (
        replace(PAIR, swaps=Swaps(6, 3.0, "blocks")),
        "too short to follow the regime",
        "a difference that went with the regime over 6 periods; whether it follows it cannot be told: the regimes came",
    ),
    "crossover in blocks, drift removed": (
        replace(PAIR, swaps=Swaps(6, 3.0, "blocks", trend_removed=True)),
        "followed the regime in this pair",
        "followed the regime in this pair of tanks (6 periods).",
    ),
    "two pairs": (
        replace(PAIR, tanks_per_arm=2, paired=True),
        "these two tanks differ",
        "a difference between these tanks; tank or regime, unknown.",
    ),
    "three pairs": (PAIRS, "effect of the regime", "effect of the regime (3 pairs)."),
    "three tanks per arm": (
        replace(PAIR, tanks_per_arm=3),
        "effect of the regime",
        "effect of the regime (3 tanks per arm).",
    ),
    "three pairs, each swapped": (
        replace(PAIRS, swaps=Swaps(4, 3.0, "alternating")),
        "effect of the regime",
        "effect of the regime (3 pairs).",
    ),
}
CAUSE = ("effect", "because", "caus", "due to", "thanks to", "led to", "results from", "prove", "no difference between")


def asked(make_trial: Callable[..., Trial], numbers: Numbers, measure: str = "height growth") -> tuple[Trial, Compared]:
    question = Question("q", "Which?", measure, primary=True)
    trial = make_trial(question, tanks_per_arm=numbers.tanks_per_arm)
    values = tuple(
        ArmValue(arm.key, tank, value, value * 0.9, value * 1.1, 40)
        for arm, value in zip(trial.arms, numbers.arm_values, strict=True)
        for tank in arm.tanks
    )
    effect = Estimate.normal(numbers.effect.value, spread=(numbers.effect.high - numbers.effect.low) / 3.92)
    return trial, Compared(
        question, MEASURES[measure].unit, arms=values, effect=effect, tanks_per_arm=numbers.tanks_per_arm,
        paired=numbers.paired, swaps=numbers.swaps,
    )  # fmt: skip


@pytest.mark.parametrize("design", TABLE)
def test_each_row_of_the_table_gives_its_sentence(design: str, make_trial: Callable[..., Trial]) -> None:
    numbers, rule, begins = TABLE[design]
    assert decide(numbers) == rule
    trial, of = asked(make_trial, numbers)
    claim = wording(trial, of, rule, numbers, level=0.95).split(": ", 1)[1]
    assert claim.startswith(begins)


@pytest.mark.parametrize("design", TABLE)
def test_each_design_with_0_inside_cannot_tell_and_prints_what_it_would_have_missed(
    design: str, make_trial: Callable[..., Trial]
) -> None:
    numbers = replace(TABLE[design][0], effect=AROUND)
    assert decide(numbers) == "cannot tell"
    trial, of = asked(make_trial, numbers)
    said = wording(trial, of, "cannot tell", numbers, level=0.95)
    assert said.startswith("Cannot tell; a difference under 0.50 percentage points per day could have been missed.")


@pytest.mark.parametrize("design", TABLE)
def test_each_design_inside_the_margin_says_so(design: str, make_trial: Callable[..., Trial]) -> None:
    numbers = replace(TABLE[design][0], effect=AROUND, smallest=0.0061)
    assert decide(numbers) == "no larger than"
    trial, of = asked(make_trial, numbers)
    said = wording(trial, of, "no larger than", numbers, level=0.95)
    where = ""
    if numbers.tanks_per_arm < 3:
        these = "these two tanks" if numbers.tanks_per_arm == 1 else "these tanks"
        where = f" {'between' if numbers.swaps is None else 'in'} {these}"
    assert said.startswith(
        f"No difference larger than 0.61 percentage points per day{where}, the margin set beforehand."
    )


@pytest.mark.parametrize("measure", ["height growth", "cover growth", "compactness", "redness", "algae", "yield"])
@pytest.mark.parametrize("result", ["out", "around"])
@pytest.mark.parametrize("design", [key for key, row in TABLE.items() if row[0].tanks_per_arm < 3])
def test_no_sentence_of_cause_for_fewer_than_three_tanks_per_arm(
    design: str, result: str, measure: str, make_trial: Callable[..., Trial]
) -> None:
    numbers = replace(TABLE[design][0], effect=AROUND) if result == "around" else TABLE[design][0]
    rule = decide(numbers)
    trial, of = asked(make_trial, numbers, measure)
    said = " ".join(
        (
            wording(trial, of, rule, numbers, level=0.95),
            detail(trial, of, rule, numbers, level=0.95),
            rule_text(of, rule, level=0.95, further=3),
            next_step(trial, of, rule),
            design_text(trial, of),
        )
    ).lower()
    assert [word for word in CAUSE if word in said.replace("no proof of equality", "")] == []


INTERVALS = st.tuples(st.floats(-0.05, 0.05), st.floats(1e-4, 0.05)).map(
    lambda pair: Interval(pair[0], pair[0] - pair[1], pair[0] + pair[1])
)


@given(
    INTERVALS,
    st.none() | INTERVALS,
    st.integers(1, 8),
    st.none() | st.floats(1e-3, 0.1),
    st.none() | st.floats(1e-3, 0.1),
    st.booleans(),
    st.booleans(),
    st.none()
    | st.builds(
        Swaps, st.integers(2, 12), st.floats(0, 6), st.sampled_from(["alternating", "drawn", "blocks"]), st.booleans()
    ),
)
@settings(max_examples=300)
def test_whatever_comes_below_three_tanks_per_arm_no_rule_speaks_of_an_effect(
    effect: Interval,
    change: Interval | None,
    tanks: int,
    smallest: float | None,
    camera: float | None,
    absolute: bool,
    paired: bool,
    swaps: Swaps | None,
) -> None:
    numbers = Numbers(effect, None, change, (0.03, 0.04), tanks, smallest, camera, absolute, 0.2, paired, swaps)
    rule = decide(numbers)
    if tanks < 3:
        assert rule != "effect of the regime"
    if rule == "followed the regime in this pair":
        assert swaps is not None
        assert swaps.periods >= 4
        assert swaps.washout_half_lives >= 3
        assert swaps.order != "blocks" or swaps.trend_removed
    if rule in ("effect of the regime", "followed the regime in this pair", "too short to follow the regime"):
        assert not effect.low <= 0 <= effect.high


def test_the_rule_is_printed_and_for_pairs_it_is_the_paired_test(make_trial: Callable[..., Trial]) -> None:
    few, many = (asked(make_trial, replace(PAIRS, tanks_per_arm=n))[1] for n in (5, 6))
    assert "paired t-test" in rule_text(few, "effect of the regime", level=0.95, further=1)
    assert "sign-flip test would need at least six" in rule_text(few, "effect of the regime", level=0.95, further=1)
    assert "sign-flip" not in rule_text(many, "effect of the regime", level=0.95, further=1)
    tanks = asked(make_trial, replace(PAIR, tanks_per_arm=3))[1]
    assert "Welch" in rule_text(tanks, "effect of the regime", level=0.95, further=1)


def test_the_design_is_said(make_trial: Callable[..., Trial]) -> None:
    said = design_text(*asked(make_trial, CROSSOVER))
    assert "regimes swapped over 6 periods in alternating order, each after a washout of 3 half-lives" in said
    assert design_text(*asked(make_trial, PAIRS)).startswith("3 pairs of tanks")


def test_a_crossover_names_the_arm_and_not_one_tank(make_trial: Callable[..., Trial]) -> None:
    trial, of = asked(make_trial, CROSSOVER)
    said = wording(trial, of, "followed the regime in this pair", CROSSOVER, level=0.95)
    assert said.startswith("Full grew faster: followed the regime in this pair of tanks (6 periods).")


def test_the_next_step_names_the_cheapest_design_by_its_power(make_trial: Callable[..., Trial]) -> None:
    trial, of = asked(make_trial, PAIR)
    found = ways_for(trial, of, "cannot tell")
    assert found == ways(0.20, swappable=True)
    assert found[0].design == "periods"
    said = next_step(trial, of, "cannot tell")
    assert f"at least {found[0].size} periods in alternating order" in said
    assert f"A difference of 20 % would show, four times in five, with {found[0].size} periods of this pair" in said
    assert "assumed spread between equal tanks 20 %" in said
    weeks = found[0].size * (float(trial.length_days) - float(trial.baseline_days)) / 7
    assert said.endswith(f" {found[0].size} periods as long as this one take {weeks:.0f} weeks.")
    _, algae = asked(make_trial, PAIR, "algae")
    assert all(way.design != "periods" for way in ways_for(trial, algae, "cannot tell"))
    assert next_step(trial, algae, "cannot tell").endswith("Four periods of one pair would show only a larger one.")
    _, red = asked(make_trial, PAIR, "redness")
    assert ways_for(trial, red, "cannot tell") == ()
    assert "at least four periods" in next_step(trial, red, "cannot tell")
    assert ways_for(trial, of, "effect of the regime") == ()
    assert all(way.design != "periods" for way in ways_for(trial, of, "followed the regime in this pair"))


def test_where_tanks_cannot_swap_only_more_tanks_settle_it() -> None:
    assert {way.design for way in ways(0.15, swappable=False)} <= {"pairs", "pairs with baseline", "keepers"}
    assert ways(0.5, swappable=False)[0].difference_percent in (100 * one for one in DIFFERENCES[1:])
    assert ways(5.0, swappable=True) == ()


def keepers(values: list[float], half: float = 0.004) -> list[KeeperResult]:
    return [
        KeeperResult(f"keeper {i + 1}", Interval(value, value - half, value + half)) for i, value in enumerate(values)
    ]


@pytest.mark.parametrize(
    ("claim", "count", "smallest", "rule"),
    [
        (OUT, 5, None, "across keepers"),
        (AROUND, 5, None, "cannot tell"),
        (AROUND, 5, 0.0061, "no larger than"),
        (AROUND, 5, 0.006, "cannot tell"),
        (OUT, 4, None, "too few keepers to pool"),
        (AROUND, 4, 0.02, "too few keepers to pool"),
    ],
)
def test_what_pooled_keepers_may_say(claim: Interval, count: int, smallest: float | None, rule: PooledRule) -> None:
    assert decide_pooled(claim, keepers=count, smallest=smallest) == rule


def test_every_pooled_rule_has_its_text() -> None:
    assert set(texts()["pooled"]) == set(get_args(PooledRule))


def test_pooled_sentences_read_as_written() -> None:
    found = pool_keepers("height growth", keepers([0.010, 0.012, 0.008, 0.011, 0.009, 0.010]), arms=("sparing", "full"))
    assert found.wording == (
        "Across keepers, full grew faster. Full minus sparing: +1.00 percentage points per day (95 % interval +0.79 to "
        "+1.21) on average of 6 keepers. One further keeper may find +0.77 to +1.23 percentage points per day (95 % "
        "prediction interval)."
    )
    assert found.rule_text.endswith("Held to 95 %.")
    assert len(found.without) == 6


def test_homes_that_differ_are_said_to_go_either_way() -> None:
    found = pool_keepers(
        "height growth", keepers([0.01, 0.03, -0.01, 0.02, 0.03, 0.01, 0.02]), arms=("sparing", "full")
    )
    assert found.rule == "across keepers"
    assert "so it may go either way in one home" in found.wording


def test_below_five_keepers_no_pooled_number_is_given_at_all() -> None:
    for count, said in ((0, "no keeper"), (1, "one keeper"), (4, "4 keepers")):
        found = pool_keepers("height growth", keepers([0.02] * count, half=0.001), arms=("sparing", "full"), smallest=1)
        assert found.rule == "too few keepers to pool"
        assert found.wording == (f"Too few keepers to pool: {said}, and at least 5 are needed. Each stands by itself.")
        assert (found.claim, found.prediction, found.without) == (None, None, ())
        assert f"{5 - count} more keeper" in found.next_step


def test_cannot_tell_and_no_larger_of_keepers_read_as_written() -> None:
    values = [0.002, -0.002, 0.001, -0.001, 0.0]
    one = pool_keepers("height growth", keepers(values), arms=("sparing", "full"))
    assert one.wording.startswith("Cannot tell; an average difference under 0.25 percentage points per day could have")
    two = pool_keepers("height growth", keepers(values), arms=("sparing", "full"), smallest=0.005)
    assert two.wording.startswith(
        "Across keepers, no difference on average larger than 0.50 percentage points per day, the margin set"
    )


def test_below_five_keepers_no_sentence_of_cause() -> None:
    found = pool_keepers("height growth", keepers([0.02] * 4, half=0.001), arms=("sparing", "full"))
    said = f"{found.wording} {found.rule_text} {found.next_step}".lower()
    assert [word for word in CAUSE if word in said] == []


def test_a_keepers_number_comes_from_their_finding(make_trial: Callable[..., Trial]) -> None:
    _, of = asked(make_trial, PAIR)
    finding = Finding(
        question="q", ask="Which?", measure="height growth", unit="1/day", arms=of.arms, effect=0.010, low=0.004,
        high=0.016, relative_percent=33.0, tanks_per_arm=1, design="one tank per arm", rule="these two tanks differ",
        wording="", rule_text="", next_step="", method="", source="",
        evidence=Evidence((), (), (), {}, {}),
    )  # fmt: skip
    assert keeper_result("pond house", finding) == KeeperResult("pond house", OUT)
    with pytest.raises(KeepersError, match="pond house: without a card"):
        keeper_result("pond house", replace(finding, absolute=False))
    with pytest.raises(KeepersError, match="to pool: no photo shows the stone"):
        keeper_result("pond house", replace(finding, effect=None, low=None, missing="no photo shows the stone"))
    with pytest.raises(KeepersError, match="has no interval"):
        keeper_result("pond house", replace(finding, low=None, high=None))


def test_what_keepers_cannot_hand_in() -> None:
    twice = [*keepers([0.01, 0.02]), *keepers([0.03])]
    with pytest.raises(KeepersError, match="keeper 1: more than one result"):
        pool_keepers("height growth", twice, arms=("a", "b"))
    with pytest.raises(KeepersError, match="interval of some width"):
        pool_keepers("height growth", keepers([0.01], half=0.0), arms=("a", "b"))
    with pytest.raises(KeepersError, match="no measure 'luck'"):
        pool_keepers("luck", keepers([0.01]), arms=("a", "b"))
