"""The command that shows and changes language and units, and the language of a command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from littoral.cli.main import app, manner_for
from littoral.logbook.book import Logbook
from littoral.logbook.spoken import NAME, read_manner
from littoral.speech.manner import PLAIN, Manner


@pytest.fixture
def book(tmp_path: Path) -> Path:
    with Logbook.create(tmp_path / "book"):
        return tmp_path / "book"


def test_settings_are_kept_for_the_logbook(book: Path) -> None:
    run = CliRunner()
    assert json.loads(run.invoke(app, ["settings", str(book), "--json"]).output)["language"] == "en"
    told = run.invoke(app, ["settings", str(book), "--set", "language=de", "--set", "volume=gal"])
    assert told.exit_code == 0
    assert "volume = gal  (L, gal, imp gal)" in told.output
    assert read_manner(book) == Manner(language="de", volume="gal")


@pytest.mark.parametrize("wrong", ["language=xx", "colour=red", "language"])
def test_what_is_no_choice_is_refused_and_changes_nothing(book: Path, wrong: str) -> None:
    told = CliRunner().invoke(app, ["settings", str(book), "--set", wrong])
    assert told.exit_code == 1
    assert not (book / NAME).exists()


@pytest.mark.parametrize("text", ["", "[]", "{", '{"language": "xx"}', '{"language": 3}'])
def test_a_file_that_cannot_be_read_is_english(book: Path, text: str) -> None:
    (book / NAME).write_text(text)
    assert read_manner(book) == PLAIN


def test_a_command_speaks_as_the_environment_says_but_to_programs_and_in_files() -> None:
    assert manner_for(["today", "book"], "de") == Manner(language="de")
    assert manner_for(["today", "book"], "xx") == PLAIN
    assert manner_for(["today", "book", "--json"], "de") == PLAIN
    assert manner_for(["package", "book"], "de") == PLAIN
    assert manner_for(["--database", "postgresql:///bench", "package", "book"], "de") == PLAIN
    assert manner_for(["--database=postgresql:///bench", "package", "book"], "de") == PLAIN
    assert manner_for(["series", "book", "--csv"], "de") == PLAIN
    assert manner_for(["demo"], "de") == PLAIN
    assert manner_for(["today", "package"], "de") == Manner(language="de")
