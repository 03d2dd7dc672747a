"""`littoral package`, `import` of a package, `protocol` and `init --from`, as they are typed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests import packages_made as made
from typer.testing import CliRunner, Result

from littoral.cli.main import app


def run(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], catch_exceptions=False)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made.filled(tmp_path_factory.mktemp("own") / "logbook")


def test_a_package_goes_out_and_comes_back(book: Path, tmp_path: Path) -> None:
    done = run("package", book, "--to", tmp_path / "home.zip", "--licence", "cc0-1.0", "--author", "A club")
    assert done.exit_code == 0, done.output
    assert "67 entries, 0 pictures, CC0-1.0" in done.output
    taken = run("import", tmp_path / "home.zip")
    assert taken.exit_code == 0, taken.output
    assert "19 new entries, 48 new photos" in taken.output
    assert "48 photos left out of the package" in taken.output
    assert (tmp_path / "home-logbook" / "logbook.sqlite3").is_file()
    again = json.loads(run("import", tmp_path / "home.zip", "--json").stdout)
    assert (again["new_entries"], again["new_photos"]) == (0, 0)


def test_a_licence_is_asked_for(book: Path, tmp_path: Path) -> None:
    done = run("package", book, "--to", tmp_path / "home.zip")
    assert done.exit_code == 1
    assert "licence: is not given. Choose one: CC0-1.0, CC-BY-4.0" in done.output
    assert not (tmp_path / "home.zip").exists()


def test_an_anonymous_one_is_to_be_looked_through(book: Path, tmp_path: Path) -> None:
    done = run("package", book, "--to", tmp_path / "a.zip", "--licence", "CC0-1.0", "--anonymous", "--json")
    assert json.loads(done.stdout)["anonymous"] is True
    said = run("package", book, "--to", tmp_path / "b.zip", "--licence", "CC0-1.0", "--anonymous")
    assert "Look through it before you give it away" in said.output


def test_what_is_no_package_is_refused(tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"nothing")
    done = run("import", tmp_path / "x.zip")
    assert done.exit_code == 1
    assert "is no data package of Littoral's: it is no zip file" in done.output


def test_a_protocol_goes_out_and_a_trial_starts_from_it(book: Path, tmp_path: Path) -> None:
    done = run("protocol", book, "--to", tmp_path / "p.json", "--qr", tmp_path / "p.svg")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "p.svg").read_text().startswith("<?xml")
    own = tmp_path / "own.toml"
    own.write_text(made.text_of())
    started = run("init", tmp_path / "new", "--from", tmp_path / "p.json", "--bottles", own, "--start", "2026-05-04")
    assert started.exit_code == 0, started.output
    assert "mg/L potassium" in started.output
    assert "overdosing kills animals" in started.output
    assert run("check", tmp_path / "new" / "trial.toml").exit_code == 0
    open_ = run("init", tmp_path / "bare", "--from", tmp_path / "p.json", "--zone", "UTC")
    assert "8 places to fill in, each marked TODO" in open_.output
    assert run("check", tmp_path / "bare" / "trial.toml").exit_code == 1
    assert run("init", tmp_path / "bare", "--from", tmp_path / "p.json").exit_code == 1
    wrong = run("protocol", book, "--to", tmp_path / "q.json", "--qr", tmp_path / "q.gif")
    assert wrong.exit_code == 1
    assert "ends in .svg or .png" in wrong.output
