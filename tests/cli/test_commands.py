"""Every command has help, prints what it promises, and refuses with exit code 1 and a clear message."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from littoral.cli.main import app

COMMANDS = ("demo", "init", "check", "design", "import", "measure", "answer", "publish", "film", "still", "open")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == 0
    assert command in result.output


def test_help_lists_exactly_the_commands() -> None:
    listed = {
        line.split()[0] for line in run("--help").output.split("Commands:")[1].splitlines() if line.startswith("  ")
    }
    assert set(COMMANDS) <= listed


def test_init_check_import_answer_publish_of_a_trial_without_photos(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    assert run("init", folder, "--title", "Two ways of feeding", "--start", "2026-03-02").exit_code == 0
    checked = run("check", folder / "trial.toml")
    assert checked.exit_code == 0, checked.output
    assert "no mistakes" in checked.output
    imported = run("import", folder / "trial.toml")
    assert imported.exit_code == 0, imported.output
    assert "0 new entries, 0 new photos" in imported.output
    answered = run("answer", folder / "logbook", "--json")
    assert answered.exit_code == 0, answered.output
    findings = json.loads(answered.output)["findings"]
    assert findings
    assert {finding["rule"] for finding in findings} <= {"not answered", "exact account"}
    explained = run("answer", folder / "logbook", "--explain")
    assert explained.exit_code == 0, explained.output
    for head in ("Why it may say this much", "What would change this answer", "How this was found out"):
        assert explained.output.count(head) == len(findings)
    assert "It cannot show anything yet: " in explained.output
    published = run("publish", folder / "logbook", "--out", tmp_path / "results")
    assert published.exit_code == 0, published.output
    assert (tmp_path / "results" / "sheet.html").is_file()


def test_import_says_what_it_corrected_and_withdrew(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    run("init", folder, "--start", "2026-03-02")
    entries, file = folder / "entries.csv", folder / "trial.toml"
    header = entries.read_text()
    entries.write_text(header + "2026-03-05,,left,care,,12 min,,\n2026-03-05,,left,water change,,4 L,,\n")
    assert "2 new entries" in run("import", file).output
    entries.write_text(header + "2026-03-05,,left,water change,,4 L,,\n")
    file.write_text(file.read_text().replace("fill = ", 'net_volume = "31 L"\nfill = ', 1))
    said = run("import", file).output
    assert "0 new entries" in said
    assert "1 corrected, 1 withdrawn; the old ones stay in the logbook, superseded" in said
    assert "corrected" not in run("import", file).output
    found = json.loads(run("import", file, "--json").stdout)
    assert (found["corrected"], found["withdrawn"]) == (0, 0)


def test_a_broken_logbook_is_refused_with_a_message(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    run("init", folder, "--start", "2026-03-02")
    run("import", folder / "trial.toml")
    (folder / "logbook" / "logbook.sqlite3").write_bytes(b"dear diary" * 100)
    result = run("answer", folder / "logbook")
    assert result.exit_code == 1
    assert "cannot be used" in result.output


def test_the_logbook_may_be_the_folder_one_stands_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "trial"
    run("init", folder, "--start", "2026-03-02")
    run("import", folder / "trial.toml")
    monkeypatch.chdir(folder / "logbook")
    published = run("publish", ".")
    assert published.exit_code == 0, published.output
    assert (folder / "results" / "sheet.html").is_file()


def test_init_does_not_write_into_a_folder_in_use(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    result = run("init", tmp_path)
    assert result.exit_code == 1
    assert "is there already and not empty; nothing was changed" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_init_refuses_a_date_that_is_none(tmp_path: Path) -> None:
    result = run("init", tmp_path / "trial", "--start", "2026-02-30")
    assert result.exit_code == 1
    assert "2026-02-30" in result.output
    assert not (tmp_path / "trial").exists()


def test_check_reports_all_mistakes_with_lines_in_text_and_json(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    run("init", folder, "--title", "Two ways of feeding", "--start", "2026-03-02")
    file = folder / "trial.toml"
    text = file.read_text().replace('share = "40 %"', 'share = "40 bananas"', 1).replace("questions]]", "questoins]]")
    file.write_text(text)
    result = run("check", file)
    assert result.exit_code == 1
    assert "trial.toml, line" in result.output
    assert "bananas" in result.output
    assert "questions" in result.output
    found = json.loads(run("check", file, "--json").stdout)["faults"]
    assert len(found) >= 2
    assert all(fault["line"] for fault in found)


@pytest.mark.parametrize("command", ["measure", "answer", "publish", "open"])
def test_a_folder_without_a_logbook_is_refused(command: str, tmp_path: Path) -> None:
    result = run(command, tmp_path)
    assert result.exit_code == 1
    assert "holds no logbook" in result.output
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    result = run("check", tmp_path / "none.toml")
    assert result.exit_code == 1
    assert "none.toml: cannot be read" in result.output
