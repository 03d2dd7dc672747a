"""`littoral pool` from files to words, table, JSON and picture."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType

import pytest
from typer.testing import CliRunner, Result

from littoral.cli.main import app

RATIOS = [0.1, 0.2, 0.15, 0.12, 0.3, 0.22]


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


def test_keepers_are_pooled_into_words_a_table_and_a_picture(tmp_path: Path, keepers_made: ModuleType) -> None:
    files = keepers_made.written(tmp_path, keepers_made.growths(RATIOS))
    light = tmp_path / "light.csv"
    light.write_text("keeper,value\n" + "".join(f"home {i},{i}\n" for i in range(1, 7)))
    picture = tmp_path / "out.svg"
    done = run("pool", *files, "--moderator", f"light={light}", "--svg", picture, "--smallest", "40 %")
    assert done.exit_code == 0, done.output
    assert "Across keepers" in done.output
    assert "home 3" in done.output
    assert "Light:" in done.output
    assert picture.read_text().startswith("<svg")


def test_the_json_holds_the_average_and_each_keeper(tmp_path: Path, keepers_made: ModuleType) -> None:
    files = keepers_made.written(tmp_path, keepers_made.growths(RATIOS))
    found = json.loads(run("pool", *files, "--json").stdout)
    assert found["scale"] == "ratio"
    assert 0.1 < found["average"]["value"] < 0.3
    assert sum(one["weight"] for one in found["keepers"]) == pytest.approx(1)
    assert found["keepers"][0]["keeper"] == "home 1"
    assert found["average"]["shown"]["value"] > 10


def test_a_refusal_names_the_file_and_leaving_out_says_so(tmp_path: Path, keepers_made: ModuleType) -> None:
    files = keepers_made.written(tmp_path, keepers_made.growths(RATIOS))
    (tmp_path / "notes.json").write_text("{}")
    refused = run("pool", *files, tmp_path / "notes.json")
    assert refused.exit_code == 1
    assert "notes.json: says it is None" in refused.output
    done = run("pool", *files, tmp_path / "notes.json", "--leave-out-unfit")
    assert done.exit_code == 0
    assert "left out:" in done.output
