"""The wording table for waiting times and steps: design and result against what may be said, for every branch."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.findings.compared import Compared, Described, TankTest
from littoral.findings.described_words import ACCOUNT, told_beforehand
from littoral.findings.model import Interval, Rule
from littoral.findings.rules import decide_tested
from littoral.findings.what_next import next_step
from littoral.findings.wording import detail, rule_text, source_text, texts, wording
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.plan import Plan, alternating

TOLD = [key for key, measure in MEASURES.items() if measure.compared != "difference"]
TESTS = (
    "log-rank", "log-rank of tanks", "log-rank in blocks", "log-rank of pairs", "ranks", "ranks in blocks", "signs",
)  # fmt: skip


def within(low: float, high: float) -> Callable[[float], Interval]:
    return lambda level: Interval((low + high) / 2, low * (1 + 5 * (level - 0.95)), high * (1 + 5 * (level - 0.95)))


CLEAR = TankTest("ranks", 0.029, 0.029, within(0.2, 1.0))
# tanks per arm, test, margin, level: rule, and how the claim goes on after the arm's name
TABLE: dict[str, tuple[int, TankTest | None, float | None, float, Rule, str]] = {
    "one tank per arm": (
        1, None, None, 0.95, "description of these tanks", "a description of these two tanks; tank or regime, unknown.",
    ),
    "two tanks per arm": (
        2, None, None, 0.95, "description of these tanks", "a description of these tanks; tank or regime, unknown.",
    ),
    "two tanks per arm, tested all the same": (
        2, CLEAR, None, 0.95, "description of these tanks", "a description of these tanks; tank or regime, unknown.",
    ),
    "three tanks per arm, clearest outcome": (
        3, TankTest("log-rank", 0.1, 0.1), None, 0.95, "cannot tell",
        "Cannot tell: with 3 tanks per arm even the clearest outcome comes by luck alone in 10 of 100 draws.",
    ),
    "four tanks per arm": (
        4, CLEAR, None, 0.95, "effect of the regime", "effect of the regime (4 tanks per arm).",
    ),
    "four blocks of two, clearest outcome": (
        4, TankTest("ranks in blocks", 0.125, 0.125), None, 0.95, "cannot tell",
        "Cannot tell: with 4 tanks per arm, dealt within their blocks, even the clearest outcome comes by luck alone "
        "in 12 of 100 draws.",
    ),
    "four tanks per arm, held to more": (
        4, CLEAR, None, 0.9875, "cannot tell",
        "Cannot tell: with 4 tanks per arm even the clearest outcome comes by luck alone in 2.9 of 100 draws, and this "
        "question is held to 1.2.",
    ),
    "four tanks per arm, mixed": (
        4, TankTest("log-rank of tanks", 0.4, 0.029), None, 0.95, "cannot tell",
        "Cannot tell: a difference as large comes by luck alone in 40 of 100 draws.",
    ),
    "just at the level": (
        4, TankTest("ranks", 0.05, 0.029), None, 0.95, "cannot tell",
        "Cannot tell: a difference as large comes by luck alone in 5 of 100 draws.",
    ),
    "nothing came": (
        4, TankTest("nothing came", 1.0, 1.0), None, 0.95, "cannot tell",
        "Cannot tell: it has not come in any tank, so there is nothing to compare.",
    ),
    "inside the margin": (
        12, TankTest("ranks", 0.7, 1e-6, within(-0.4, 0.4)), 0.5, 0.95, "no larger than",
        "No difference larger than 0.50",
    ),
    "inside the margin at 95 % only": (
        12, TankTest("ranks", 0.7, 1e-6, within(-0.45, 0.45)), 0.5, 0.99, "cannot tell",
        "Cannot tell: a difference as large comes by luck alone in 70 of 100 draws, and this question is held to 1.",
    ),
    "no interval, so no margin": (
        12, TankTest("log-rank", 0.7, 1e-6), 9.0, 0.95, "cannot tell", "Cannot tell: a difference as large",
    ),
}  # fmt: skip


def told(make_trial: Callable[..., Trial], case: str, measure: str, *, alike: bool = False) -> tuple[Trial, Compared]:
    tanks, test, smallest, _, _, _ = TABLE[case]
    question = Question("q", "Which?", measure, smallest=smallest, primary=True)
    one = Described("Full did more", "Measured: this and that.", 1.0, "more", alike, test)
    unit = MEASURES[measure].unit
    return make_trial(question, tanks_per_arm=tanks), Compared(question, unit, tanks_per_arm=tanks, described=one)


@pytest.mark.parametrize("measure", TOLD)
@pytest.mark.parametrize("case", TABLE)
def test_each_row_gives_its_rule_and_its_sentence(case: str, measure: str, make_trial: Callable[..., Trial]) -> None:
    tanks, test, smallest, level, rule, begins = TABLE[case]
    assert decide_tested(test, tanks_per_arm=tanks, smallest=smallest, level=level) == rule
    trial, of = told(make_trial, case, measure)
    said = wording(trial, of, rule, None, level=level)
    claimed = rule in ("description of these tanks", "effect of the regime")
    assert said.startswith(f"Full did more: {begins}" if claimed else begins)
    assert said.endswith(" Measured: this and that.")


CAUSE = ("effect", "because", "caus", "due to", "thanks to", "led to", "results from", "prove", "no difference between")


@pytest.mark.parametrize("alike", [False, True])
@pytest.mark.parametrize("measure", TOLD)
@pytest.mark.parametrize("case", [case for case, row in TABLE.items() if row[0] < 3])
def test_no_sentence_of_cause_below_three_tanks(
    case: str, measure: str, alike: bool, make_trial: Callable[..., Trial]
) -> None:
    rule = TABLE[case][4]
    trial, of = told(make_trial, case, measure, alike=alike)
    said = (wording(trial, of, rule, None, level=0.95), detail(trial, of, rule, None, level=0.95),
            rule_text(of, rule, level=0.95, further=3), next_step(trial, of, rule), source_text(measure))  # fmt: skip
    assert [word for word in CAUSE if word in " ".join(said).lower()] == []


@given(
    st.none() | st.builds(TankTest, st.sampled_from(TESTS), st.floats(0, 1), st.floats(0, 1)),
    st.integers(1, 9),
    st.floats(0.9, 0.999),
)
def test_only_a_test_over_three_tanks_and_more_speaks_of_an_effect(
    test: TankTest | None, tanks: int, level: float
) -> None:
    rule = decide_tested(test, tanks_per_arm=tanks, smallest=None, level=level)
    assert (rule == "effect of the regime") <= (tanks >= 3 and test is not None and test.p_value < 1 - level)
    assert (rule == "description of these tanks") == (tanks < 3 or test is None)


@pytest.mark.parametrize("name", TESTS)
def test_every_test_is_printed_under_its_finding(name: str) -> None:
    question = Question("q", "Which?", "condition", primary=True)
    one = Described("Full did more", "This.", 1.0, "more", tested=TankTest(name, 0.01, 0.01))
    of = Compared(question, "net share", tanks_per_arm=5, described=one)
    said = rule_text(of, "effect of the regime", level=0.95, further=1)
    assert said == f"{texts()['tested'][name]} Held to 95 %."
    assert set(texts()["tested"]) == {*TESTS, "description of these tanks", "cannot tell", "no larger than"}


@pytest.mark.parametrize(
    ("tanks", "said"),
    [(1, "described only: an exact test can tell from 4 tanks per arm on"), (4, "")],
)
def test_a_design_says_beforehand_what_it_can_tell(tanks: int, said: str, make_trial: Callable[..., Trial]) -> None:
    asked = Question("q", "Which?", "algae onset")
    trial = make_trial(asked, tanks_per_arm=tanks)
    assert told_beforehand(trial, asked) == said
    assert told_beforehand(trial, Question("g", "Which?", "height growth")) == ""
    pairs = replace(trial, plan=Plan("pairs", pairs=tuple(zip(*(arm.tanks for arm in trial.arms), strict=True))))
    assert told_beforehand(pairs, asked) == "described only: an exact test can tell from 6 pairs on"
    swapped = replace(trial, plan=Plan("crossover", 7, 0.0, alternating(4)))
    assert told_beforehand(swapped, asked) == "not answered in a crossover"
    for measure in ("care minutes", "trimmed mass", "cost"):
        assert told_beforehand(trial, Question("a", "Which?", measure)) == ACCOUNT
    mass = Question("y", "Which?", "yield")
    assert told_beforehand(trial, mass) == (ACCOUNT if tanks < 3 else "")
    assert told_beforehand(swapped, mass) == "not answered in a crossover"


@pytest.mark.parametrize(("blocks", "says"), [(4, False), (5, False), (6, True)])
def test_blocks_of_two_tell_no_more_than_pairs_do(blocks: int, says: bool, make_trial: Callable[..., Trial]) -> None:
    """Of k blocks with one tank of each arm the least p is 2/2^k, by hand: 0.125, 0.0625, 0.031."""
    asked = Question("q", "Which?", "algae onset")
    trial = make_trial(asked, tanks_per_arm=blocks)
    rows = zip(*(arm.tanks for arm in trial.arms), strict=True)
    shelved = replace(trial, plan=Plan(blocks=tuple((f"shelf {n}", row) for n, row in enumerate(rows))))
    assert (told_beforehand(shelved, asked) == "") is says
    assert told_beforehand(trial, asked) == ""  # dealt among all of them, four can tell
