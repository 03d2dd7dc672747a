"""`--anyway` with a logbook leaves an entry there; with a trial file, or none, it leaves nothing anywhere."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from littoral.acts.import_trial import import_trial
from littoral.acts.start_trial import start_trial
from littoral.cli.main import app
from littoral.logbook.book import Logbook
from littoral.trial.entries import Overridden

MIX = ("mix", "--dose", "400 mL")
WEEK = ("week", "--arm", "full", "--dose", "macro=60 mL on daily")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    file = start_trial(tmp_path / "trial", title="Two tanks", start="2026-03-02", zone="UTC").trial_file
    import_trial(tmp_path / "trial" / "logbook", file)
    return tmp_path / "trial"


def noted(folder: Path) -> list[tuple[str, str, str]]:
    with Logbook.open(folder / "logbook") as fresh:
        payloads = [entry.payload for entry in fresh.entries("two-tanks")]
    return [(made.act, made.of, made.reason) for made in payloads if isinstance(made, Overridden)]


@pytest.mark.parametrize(("command", "act", "of"), [(MIX, "mix", "macro"), (WEEK, "week", "full")])
def test_an_override_from_a_logbook_is_noted_there_once(
    folder: Path, command: tuple[str, ...], act: str, of: str
) -> None:
    stopped = run(*command, "--from", folder / "logbook")
    assert stopped.exit_code == 1
    assert "noted in the logbook where --from names one" in " ".join(stopped.stderr.split())
    assert noted(folder) == []
    given = run(*command, "--from", folder / "logbook", "--anyway", "plants alone")
    assert given.exit_code == 0, given.output
    assert "The override is noted in the logbook" in given.stderr
    again = run(*command, "--from", folder / "logbook", "--anyway", "plants alone", "--json")
    assert again.exit_code == 0
    assert "today already" in again.stderr
    assert noted(folder) == [(act, of, "plants alone")]


def test_a_trial_file_alone_or_nothing_keeps_nothing(folder: Path) -> None:
    for more in ((), ("--from", folder / "trial.toml")):
        given = run("mix", "--dose", "400 mL", "--anyway", "plants alone", *more)
        assert given.exit_code == 0, given.output
        assert "logbook" not in given.stderr
    assert noted(folder) == []


def test_a_dose_below_every_limit_notes_nothing_though_a_reason_is_given(folder: Path) -> None:
    assert run("mix", "--from", folder / "logbook", "--dose", "1 mL", "--anyway", "just in case").exit_code == 0
    assert noted(folder) == []


def test_the_sheet_says_it(folder: Path) -> None:
    assert run(*MIX, "--from", folder / "logbook", "--anyway", "plants <alone>").exit_code == 0
    assert run("publish", folder / "logbook", "--out", folder / "results").exit_code == 0
    sheet = (folder / "results" / "sheet.html").read_text(encoding="utf-8")
    assert "went past published limits on purpose for mixing macro stock: " in sheet
    assert "reason given: “plants &lt;alone&gt;”." in sheet
