"""The commands mix, water, week and costs: what they print, what they write, and how they refuse."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from littoral.cli.main import app

COMMANDS = ("mix", "water", "week", "costs")


def run(*arguments: object) -> Result:
    return CliRunner(env={"COLUMNS": "132"}).invoke(app, [str(one) for one in arguments], catch_exceptions=False)


def flat(result: Result) -> str:
    return " ".join(result.output.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_each_has_help_and_prints_something_sensible_as_it_begins(command: str) -> None:
    assert run(command, "--help").exit_code == 0
    found = run(command)
    assert found.exit_code == 0, found.output
    assert len(found.output.splitlines()) > 15


@pytest.mark.parametrize("command", COMMANDS)
def test_why_derives_and_json_is_whole(command: str) -> None:
    plain, derived = run(command).output, run(command, "--why").output
    assert "why " not in plain
    assert derived.count("why ") > 4
    found = json.loads(run(command, "--json").stdout)
    assert isinstance(found, dict)
    assert "NaN" not in json.dumps(found)


def test_mix_from_salts_to_a_label_and_a_table(tmp_path: Path) -> None:
    pdf, table = tmp_path / "label.pdf", tmp_path / "weigh.csv"
    done = run("mix", "--salt", "KNO3=25 g", "--salt", "@own=1 g", "--own", "@own=KCl", "--made-up-to", "250 mL",
               "--dose", "1 mL", "--tank", "40 L", "--pdf", pdf, "--size", "large", "--csv", table)  # fmt: skip
    assert done.exit_code == 0, done.output
    assert "25 g KNO3" in " ".join(PdfReader(pdf).pages[0].extract_text().replace("\u00a0", " ").split())
    rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
    assert [row["salt"] for row in rows] == ["KNO3", "'@own"]
    assert rows[0]["weigh (g)"] == "25"


def test_mix_to_a_target() -> None:
    found = json.loads(
        run("mix", "--target", "nitrate=5 mg/L", "--salt", "KNO3", "--dose", "5 mL", "--tank", "100 L", "--json").stdout
    )
    # 5 mg/L in 100 L from 5 mL: 100 mg/mL of nitrate in 500 mL, at 0.61328 g/g
    assert found["weigh_out"][0]["grams"]["value"] == pytest.approx(500 * 0.1 / 0.61328, abs=0.01)


def test_a_dose_over_a_limit_exits_1_writes_nothing_and_says_how_to_go_on(tmp_path: Path) -> None:
    pdf = tmp_path / "label.pdf"
    stopped = run("mix", "--dose", "400 mL", "--pdf", pdf)
    assert stopped.exit_code == 1
    assert "32.8 mg N/L" in flat(stopped)
    assert "--anyway" in flat(stopped)
    assert "Weigh out" not in stopped.output
    assert not pdf.exists()

    given = run("mix", "--dose", "400 mL", "--pdf", pdf, "--size", "large", "--anyway", "a bucket of plants")
    assert given.exit_code == 0
    assert "Overridden deliberately: “a bucket of plants”" in flat(given)
    assert "a bucket of plants" in " ".join(PdfReader(pdf).pages[0].extract_text().split())


def test_a_week_over_a_limit_exits_1_and_json_says_why() -> None:
    stopped = run("week", "--dose", "macro=20 mL on daily", "--json")
    assert stopped.exit_code == 1
    found = json.loads(stopped.stdout)
    assert found["stop"]["rows"]
    assert found["doses"] == []
    assert run("week", "--dose", "macro=20 mL on daily", "--anyway", "plants only").exit_code == 0


def test_a_week_with_bottles_written_in_one_line_and_advice() -> None:
    done = run(
        "week", "--stock", "macro=KNO3 33 g + KH2PO4 2.6 g in 500 mL", "--measure", "macro=stroke of 1.1 mL",
        "--label", "micro=Fe 0.7 % + Mn 0.18 % at 1.06 kg/L", "--recommended", "micro=6 mL per 100 L every 7 days",
        "--measure", "micro=drop of 0.05 mL", "--dose", "macro=2 strokes on Sun, Wed", "--dose", "micro=8 drops on Mon",
        "--band", "nitrate=7 to 12.5 mg/L", "--apart", "macro=micro", "--scale-to", "84 L", "--pump-least", "1 mL",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    for said in ("2 strokes", "0.16 times", "Advice", "proven", "In the other tank", "4 strokes", "Dosing pump"):
        assert said in flat(done)


def test_water_of_ones_own_is_not_mixed_with_the_examples() -> None:
    found = json.loads(run("water", "--hardness", "12 dGH", "--alkalinity", "8 dKH", "--json").stdout)
    assert [ion["nutrient"] for ion in found["source"]["ions"]] == ["bicarbonate"]
    assert {line["unit"]: round(line["figure"]["value"], 6) for line in found["source"]["hardness"]}["dGH"] == 12


def test_costs_with_a_list_to_print_and_a_table(tmp_path: Path) -> None:
    pdf, table = tmp_path / "list.pdf", tmp_path / "list.csv"
    done = run("costs", "--tanks", "6", "--left", "KNO3=10 g", "--today", "2026-03-02", "--gas-fill", "500 g",
               "--gas-price", "15 to 20", "--gas-per-day", "2 g", "--power", "lamp=24 W for 8 h",
               "--thing", "lamp=120 over 5 years", "--kit", "nitrate test=18 for 60, 1 a week",
               "--pdf", pdf, "--csv", table)  # fmt: skip
    assert done.exit_code == 0, done.output
    assert "KNO3, potassium nitrate runs out first" in flat(done)
    assert "2026-04-04" in PdfReader(pdf).pages[0].extract_text()
    rows = list(csv.DictReader(table.read_text("utf-8-sig").splitlines()))
    first = [rows[0][column] for column in ("buy by", "packs", "pack", "price", "currency")]
    assert first == ["2026-04-04", "1", "500 g", "7.9", "EUR"]


def test_forms_begin_from_a_trial(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    run("init", folder, "--start", "2026-03-02")
    file = folder / "trial.toml"
    assert run("mix", "--from", file).exit_code == 0
    several = run("week", "--from", file)
    assert several.exit_code == 1
    assert "--arm: does not say which arm." in flat(several)
    arms = several.output.rsplit("regime: ", 1)[1].split(".")[0].split(", ")
    for arm in arms:
        assert run("costs", "--from", file, "--arm", arm).exit_code == 0
    run("import", file)
    assert run("water", "--from", folder / "logbook").exit_code == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("mix", "--salt", "MgSO4=1 g"), "--salt, line 1"),
        (("mix", "--salt", "KNO3"), 'Write it like --salt "KNO3=33 g"'),
        (("mix", "--made-up-to", "0 mL"), "--made-up-to"),
        (("mix", "--tank", "-3 L"), "--tank"),
        (("mix", "--size", "huge", "--pdf", "x.pdf"), "small or medium or large"),
        (("water", "--level", "gold=1 mg/L"), "--level, line 1"),
        (("week", "--tank", "nan L"), "--tank"),
        (("week", "--stock", "macro=KNO3"), "--stock"),
        (("week", "--change", "140 % on Sat"), "--change, line 1"),
        (("week", "--measure", "x=1 mL"), "Bottles given: none"),
        (("costs", "--tanks", "0"), "--tanks"),
        (("costs", "--power", "lamp=24 W"), "lamp=24 W for 8 h"),
        (("week", "--label", "micro=Fe 120 %"), "above 100 %"),
    ],
)
def test_bad_input_is_one_message_at_its_option_and_exit_1(arguments: tuple[str, ...], said: str) -> None:
    found = run(*arguments)
    assert found.exit_code == 1
    assert said in flat(found)
    assert "Traceback" not in found.output


def test_weeks_may_be_a_bare_number(tmp_path: Path) -> None:
    first, second = (run("costs", "--weeks", written, "--json") for written in ("40", "40 weeks"))
    assert first.exit_code == second.exit_code == 0
    assert first.stdout == second.stdout
