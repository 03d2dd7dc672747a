"""`littoral growth-test` on made-up counts of duckweed."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner, Result

from littoral.acts.growth_test.give import EXAMPLE
from littoral.cli.main import app


def run(*arguments: object) -> Result:
    return CliRunner(env={"COLUMNS": "132"}).invoke(
        app, [str(argument) for argument in arguments], catch_exceptions=False
    )


def test_a_table_is_answered_in_words_and_as_json_and_drawn(tmp_path: Path) -> None:
    table, picture = tmp_path / "counts.csv", tmp_path / "curves.svg"
    table.write_text(EXAMPLE)
    done = run("growth-test", table, "--williams", "--svg", picture)
    assert done.exit_code == 0, done.output
    for part in ("Valid by the control criteria of OECD 221", "Effect of the dose", "Doubling time", "wrote"):
        assert part in done.output
    assert picture.read_text().startswith("<svg")
    found = json.loads(run("growth-test", table, "--json").stdout)
    assert found["control"] == "0"
    assert found["measured"][0]["compared"][0]["doses"][0]["williams_t"] is None
    assert found["measured"][0]["compared"][0]["doses"][0]["rule"] == "cannot tell"


def test_a_bad_table_is_refused_with_its_place(tmp_path: Path) -> None:
    table = tmp_path / "counts.csv"
    table.write_text("vessel,dose,day,fronds\na,0,0,many\n")
    done = run("growth-test", table)
    assert done.exit_code == 1
    assert 'counts.csv, column D (fronds), line 2: is "many"' in done.output
    missing = run("growth-test", tmp_path / "none.csv")
    assert missing.exit_code == 1
    assert "Name a CSV file" in missing.output
