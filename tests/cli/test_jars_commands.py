"""What stands on a jar, at the commands mix and water: other hydrates, purity, labels in both countings, blends."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from littoral.cli.main import app


def run(*arguments: object) -> Result:
    return CliRunner(env={"COLUMNS": "132"}).invoke(app, [str(one) for one in arguments], catch_exceptions=False)


def flat(result: Result) -> str:
    return " ".join(result.output.split())


def test_other_hydrates_purity_and_a_label_both_ways() -> None:
    said = run("mix", "--target", "magnesium=1 mg/L", "--salt", "MgSO4·7H2O", "--purity", "MgSO4·7H2O=98 %",
               "--own-label", "bag=5-10-20 + NO3-N 5 %", "--counting", "not clear", "--why")  # fmt: skip
    assert said.exit_code == 0, said.output
    # 1 mg/L in 42 L from 2.2 of 500 mL: 9.545 g of magnesium; 246.475 / 24.305 g of the salt for one, over 0.98
    assert "98.77 g" in flat(said)
    assert "If your jar holds MgSO4 anhydrous instead of MgSO4·7H2O: 47.27 g" in flat(said)
    assert "96.799 g / 0.98 = 98.775 g" in flat(said)
    assert "P 10 % 4.36 % P 10 % P % P2O5" in flat(said)
    assert "Reckoned as oxides" in flat(said)
    assert "why the limits in the tank are what they are" in said.output
    found = json.loads(
        run("mix", "--salt", "MgSO4·7H2O=10 g", "--salt", "bag=1 g", "--own-label", "bag=K2O 20 %", "--json").stdout
    )
    assert found["weigh_out"][0]["other_forms"][0]["grams"]["value"] == pytest.approx(10 * 120.368 / 246.475, rel=1e-4)
    assert found["labels"][0]["lines"][0]["as_oxide"]["value"] == pytest.approx(16.6, abs=0.01)
    assert found["limit_steps"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--purity", "KNO3=0 %"), '--purity, line 1: KNO3 is "0 %". It must be above zero.'),
        (("--purity", "KNO3=101 %"), "above 100 %"),
        (("--purity", "KNO3=nan %"), "does not begin with a number"),
        (("--purity", "KCl=98 %"), "not in use here"),
        (("--purity", "KNO3"), '--purity "KNO3=98 %"'),
        (("--own-label", "bag=Fe"), '--own-label "bag=13-0-46 + NO3-N 13 %"'),
        (("--own-label", "bag=13-0-46"), "--own-label, line 1"),
        (("--own-label", "bag=0-0-46", "--counting", "grams"), "oxides or elements or not clear"),
    ],
)
def test_what_stands_on_a_jar_is_refused_at_its_option(arguments: tuple[str, ...], said: str) -> None:
    refused = run("mix", *arguments)
    assert refused.exit_code != 0
    assert said in flat(refused)


def test_the_table_of_a_forced_bottle_keeps_the_reason(tmp_path: Path) -> None:
    table = tmp_path / "weigh.csv"
    run("mix", "--dose", "400 mL", "--csv", table)
    assert not table.exists()
    assert run("mix", "--dose", "400 mL", "--csv", table, "--anyway", "a bucket of plants").exit_code == 0
    rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
    assert {row["given all the same because"] for row in rows} == {"a bucket of plants"}
    assert all("nitrate, BC, short" in row["one dose passes"] for row in rows)


def test_water_says_how_much_pure_water_would_do() -> None:
    said = run("water", "--hardness", "12 dGH", "--alkalinity", "8 dKH", "--gh", "6 dGH", "--kh", "9 dKH",
               "--volume", "20 L", "--purity", "KHCO3=95 %", "--why")  # fmt: skip
    assert said.exit_code == 0, said.output
    half = "for 6 dGH of hardness: 10 L of this water with 10 L of pure water; its alkalinity is then 4 dKH."
    assert half in flat(said)
    assert "for 9 dKH of alkalinity: this water has 8 dKH, pure water none. Salts raise it" in flat(said)
    assert "(6 - 0) / (12 - 0) = 50.0 %" in flat(said)
    assert "95 %" in said.output
