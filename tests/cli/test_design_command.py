"""`littoral design` on a file and on a logbook."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner, Result

from littoral.cli.main import app


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


def test_design_of_a_file_and_of_its_logbook(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    run("init", folder, "--title", "Two ways of feeding", "--start", "2026-03-02")
    file = folder / "trial.toml"
    before = run("design", file)
    assert before.exit_code == 0, before.output
    assert "in no logbook" in before.output
    assert "baseline | 14-56" in before.output
    assert run("import", file).exit_code == 0
    data = json.loads(run("design", folder / "logbook", "--json").output)
    assert data["sha256"] == data["locked"]["sha256"]
    assert data["sha256"] in before.output
    assert data["locked"]["changed"] == []
    file.write_text(file.read_text().replace("smallest = 0.005", "smallest = 0.02"))
    assert run("import", file).exit_code == 0
    changed = run("design", folder / "logbook").output
    assert "the smallest difference that matters: was 0.005, now 0.02." in changed
    assert "It was changed once since" in " ".join(changed.split())


def test_design_refuses_what_is_no_trial(tmp_path: Path) -> None:
    assert run("design", tmp_path / "none.toml").exit_code == 1
    assert run("design", tmp_path).exit_code == 1
