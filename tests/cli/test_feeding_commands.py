"""The commands week and costs: amounts a week laid out, counted strokes, level spoons, the currency of advice."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner, Result

from littoral.cli.main import app


def run(*arguments: object) -> Result:
    return CliRunner(env={"COLUMNS": "132"}).invoke(app, [str(one) for one in arguments], catch_exceptions=False)


def flat(result: Result) -> str:
    return " ".join(result.output.split())


def test_a_week_laid_out_by_strokes_counted_into_a_cylinder_and_level_spoons() -> None:
    bottles = (
        "--stock", "macro=KNO3 33 g in 500 mL", "--measure", "macro=10 strokes of 12.0 11.8 12.1 mL",
        "--dry", "potash=K2SO4", "--measure", "potash=1.25 mL spoon at 1.2 to 1.4 g/mL", "--tank", "300 L",
        "--weekly", "macro=10 strokes laid out half after the water change", "--dose", "potash=1 spoon on Mon",
    )  # fmt: skip
    done = run("week", *bottles, "--source", "nitrate=1 mg/L", "--why")
    assert done.exit_code == 0, done.output
    for said in (
        "macro, one stroke: 1.197 mL (SD 0.048 mL)", "potash, one level spoon: 1.62 g (1.5 to 1.75 g)", "really",
        "(12 + 11.8 + 12.1) mL / (3 × 10 strokes) = 1.197 mL", "0.5 × 11.97 mL, right after the water change",
        "weigh where it matters", "Day by day",
    ):  # fmt: skip
        assert said in flat(done), said
    found = json.loads(run("week", *bottles, "--source", "nitrate=1 mg/L", "--json").stdout)
    assert [(line["when"], line["written"]) for line in found["doses"]] == [
        ("Mon", "1 spoon"), ("Sat", "5.983 mL"), ("Mon, Tue, Wed, Thu, Fri, Sun", "0.9972 mL"),
    ]  # fmt: skip
    costs = run("costs", *bottles, "--pack", "KNO3=500 g for 7.90", "--why")
    assert costs.exit_code == 0, costs.output
    assert "one stroke: 1.197 mL" in flat(costs)
    assert "500 g left / 33 g a batch" in flat(costs)


def test_an_advised_price_has_its_currency() -> None:
    asked = ("week", "--band", "nitrate=7 to 12.5 mg/L", "--aim", "cheapest", "--present", "Mon, Thu")
    assert " CHF a week" in flat(run(*asked, "--currency", "CHF"))
    assert json.loads(run(*asked, "--json").stdout)["advice"]["price"]["unit"] == "EUR a week"


def test_a_bought_label_of_three_numbers_is_shown_in_both_countings() -> None:
    bottle = ("--label", "all=5-10-20 + NO3-N 5 % at 1.2 kg/L", "--dose", "all=0.5 mL on Mon")
    for command in ("week", "costs"):
        done = run(command, *bottle, "--tank", "300 L", "--why")
        assert done.exit_code == 0, done.output
        assert "all: 5-10-20 in both countings" in flat(done)
        assert "why all, P read as oxide" in flat(done)
    assert "as oxides, or as elements" in flat(run("week", *bottle, "--counting", "not clear"))
    assert "why the limits are what they are" in flat(run("week", *bottle, "--tank", "300 L", "--why"))


def test_days_are_understood_without_on_and_amounts_without_laid_out() -> None:
    """What a person writes first: "every other day", "half after the water change"."""
    shelf = ("--stock", "macro=K2SO4 8 g in 500 mL", "--dry", "salt=K2SO4", "--tank", "300 L", "--json")
    terse = ("--weekly", "macro=40 mL half after the water change", "--dose", "salt=0.1 g every other day")
    full = ("--weekly", "macro=40 mL laid out half after the water change", "--dose", "salt=0.1 g on every other day")
    first, second = (json.loads(run("week", *shelf, *doses).stdout) for doses in (terse, full))
    assert first == second
    assert "every other day" in str(first["doses"]) or "every 2 days" in str(first["doses"])


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("week", "--weekly", "macro=40 mL laid out somehow"), "--weekly, line 1"),
        (("costs", "--weekly", "macro"), "laid out evenly on Mon, Thu"),
        (("week", "--dry", "a=KNO3", "--measure", "a=1 mL spoon at heavy"), "does not begin with a number"),
        (("week", "--stock", "a=KNO3 1 g in 1 L", "--measure", "a=10 strokes of 12 11"), "without a unit"),
    ],
)
def test_bad_input_is_one_message_and_exit_1(arguments: tuple[str, ...], said: str) -> None:
    found = run(*arguments)
    assert found.exit_code == 1
    assert said in flat(found)


def test_a_week_without_a_trial_says_what_nobody_told() -> None:
    said = run("week", "--source", "nitrate=3 mg/L").stderr
    assert "a tank of 42 L" in said
    assert "source water" not in said
    assert "stood in" in said
