"""Warnings on a trial's bottles: what falls out, does not dissolve in the cold, moulds, or does not last the trial."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from littoral.acts.check_trial import check_trial
from littoral.acts.import_trial import import_trial
from littoral.acts.start_trial import start_trial
from littoral.acts.stock_warnings import stock_warnings
from littoral.chemistry.stock_checks import check_stock
from littoral.cli.main import app

SALTS = 'salts = { KNO3 = "33 g", KH2PO4 = "2.6 g", K2SO4 = "8 g" }'
PACKS = 'packs = { KNO3 = "500 g for 7.90", KH2PO4 = "250 g for 6.50", K2SO4 = "500 g for 6.90" }'


@pytest.fixture
def trial_file(tmp_path: Path) -> Path:
    return start_trial(tmp_path / "trial", title="Sparing or full", start="2026-03-02", seed=1).trial_file


def with_macro(file: Path, salts: str, more: str = "") -> Path:
    text = file.read_text(encoding="utf-8")
    assert SALTS in text
    assert PACKS in text
    file.write_text(text.replace(SALTS, f"salts = {{ {salts} }}\n{more}").replace(PACKS, ""), encoding="utf-8")
    return file


def said(file: Path) -> list[str]:
    checked = check_trial(file)
    assert checked.faults == ()
    return [str(warning) for warning in checked.warnings]


def test_the_bottles_that_a_new_trial_begins_with_need_no_warning(trial_file: Path) -> None:
    assert said(trial_file) == []


def test_calcium_beside_sulphate_and_phosphate_falls_out(trial_file: Path) -> None:
    salts = '"Ca(NO3)2·4H2O" = "30 g", "MgSO4·7H2O" = "30 g", KH2PO4 = "5 g"'
    found = said(with_macro(trial_file, salts))
    gypsum, phosphate = (line for line in found if "bottles.macro: " in line and ": no" in line)
    assert gypsum.startswith("trial.toml, bottles.macro: calcium with sulphate: no (")
    assert "mmol/L, at most 20). Gypsum falls out above this: keep calcium in a bottle of its own." in gypsum
    assert "Ca(NO3)2·4H2O with KH2PO4: no. Calcium phosphates fall out" in phosphate


def test_what_dissolves_in_a_cupboard_may_not_in_the_cold(trial_file: Path) -> None:
    # 70 g of KNO3 in half a litre of water is 14 g per 100 g; the handbook has 13.3 g at 0 °C and 20.9 g at 10 °C
    # (from memory)
    assert said(with_macro(trial_file, 'KNO3 = "70 g"')) == []
    text = trial_file.read_text(encoding="utf-8").replace('KNO3 = "70 g" }', 'KNO3 = "70 g" }\ncoldest = "0 °C"')
    trial_file.write_text(text, encoding="utf-8")
    (line,) = said(trial_file)
    assert line.startswith("trial.toml, bottles.macro: KNO3 dissolves at 0 °C: no (")


def test_what_moulds_is_told_and_what_is_not_known_too(trial_file: Path) -> None:
    mould, unknown = sorted(
        said(with_macro(trial_file, '"C12H22FeO14·2H2O" = "5 g"')), key=lambda line: "not known" in line
    )
    assert "keeps about 60 days: careful. Moulds and bacteria live on it" in mould
    assert "dissolves at 10 °C: not known. Solubility of" in unknown


@pytest.mark.parametrize(
    ("more", "warned"),
    [
        ("made_on = 2026-03-01", False),  # salts alone: a year
        ("made_on = 2025-04-01", True),
        ('made_on = 2026-03-01\nkeeps = "4 weeks"', True),
        ('made_on = 2026-03-02\nkeeps = "56 days"', False),  # to the very end of eight weeks
        ('made_on = 2026-03-02\nkeeps = "55 days"', True),
    ],
)
def test_a_stock_with_a_date_keeps_to_the_end_or_is_told(trial_file: Path, more: str, warned: bool) -> None:
    found = said(with_macro(trial_file, 'KNO3 = "33 g"', more))
    assert len(found) == warned
    if warned:
        assert "but the trial goes on until 2026-04-27: have a fresh one ready." in found[0]


def test_a_bought_bottle_with_a_date_too(trial_file: Path) -> None:
    text = trial_file.read_text(encoding="utf-8")
    dated = text.replace('drop = "0.05 mL"', 'drop = "0.05 mL"\nbought = 2026-01-01\nkeeps = "1 month"')
    trial_file.write_text(dated, encoding="utf-8")
    (line,) = said(trial_file)
    assert line == (
        "trial.toml, bottles.micro: bought on 2026-01-01: careful (30 days, at least 116). It keeps about 30 days, "
        "until 2026-01-31, but the trial goes on until 2026-04-27: have a fresh one ready. [your own figure]"
    )


def test_every_row_that_does_not_hold_is_told_once_save_how_to_fill_up(trial_file: Path) -> None:
    trial = check_trial(trial_file).trial
    assert trial is not None
    salts = {"Ca(NO3)2·4H2O": 80.0, "K2SO4": 60.0, "C6H8O6": 1.0, "KH2PO4": 5.0}
    macro = replace(trial.bottles["macro"], salts_g=salts, made_up_to_ml=500.0, made_on=date(2020, 1, 1))
    found = stock_warnings(replace(trial, bottles={"macro": macro}), where="t")
    rows = check_stock(salts, made_up_to_ml=500.0)
    open_rows = [row for row in rows if row.verdict != "holds" and row.what != "added to, or made up to"]
    assert [warning.row for warning in found][:-1] == open_rows
    assert found[-1].row.what == "mixed on 2020-01-01"
    assert json.loads(json.dumps([one.as_json() for one in found], allow_nan=False))[0]["bottle"] == "macro"


def test_check_prints_warnings_and_refuses_nothing(trial_file: Path) -> None:
    with_macro(trial_file, '"Ca(NO3)2·4H2O" = "30 g", KH2PO4 = "5 g"')
    plain = CliRunner().invoke(app, ["check", str(trial_file)], catch_exceptions=False)
    assert plain.exit_code == 0
    assert "no mistakes" in plain.stdout
    assert "warning: trial.toml, bottles.macro: Ca(NO3)2·4H2O with KH2PO4: no. Calcium" in plain.stdout
    assert "1 warning: nothing is refused for it" in plain.stderr
    as_json = CliRunner().invoke(app, ["check", "--json", str(trial_file)], catch_exceptions=False)
    (warning,) = json.loads(as_json.stdout)["warnings"]
    assert (warning["bottle"], warning["verdict"]) == ("macro", "fails")
    assert import_trial(trial_file.parent / "logbook", trial_file).trial == "sparing-or-full"
