"""`littoral devices`: who is let in, and taking that back."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from littoral.acts.keep_devices import known_device, pair_device
from littoral.cli.main import app
from littoral.logbook.book import Logbook

NOW = datetime(2026, 3, 8, 18, 30, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    Logbook.create(tmp_path).close()
    return tmp_path


def run(*arguments: object) -> tuple[int, str]:
    done = CliRunner().invoke(app, [str(one) for one in arguments])
    return done.exit_code, done.output


def test_without_devices_it_says_how_to_pair_one(folder):
    code, said = run("devices", folder)
    assert code == 0
    assert "--share" in said


def test_devices_are_listed_and_revoked_by_name(folder):
    paired = pair_device(folder, "Mira's  phone", role="keeper", now=NOW)
    pair_device(folder, "guest", role="reader", now=NOW)
    said = run("devices", folder)[1]
    assert "Mira's phone: keeper, may do everything; paired 2026-03-08 18:30 UTC" in said
    assert "guest: reader, only looks" in said
    code, said = run("devices", folder, "--revoke", "mira's phone")
    assert code == 0
    assert "let in no more" in said
    assert "taken back" in said
    assert known_device(folder, paired.device.id, paired.key) is None


def test_json_shows_no_key(folder):
    paired = pair_device(folder, "phone", role="keeper", now=NOW)
    listed = json.loads(run("devices", folder, "--json")[1])
    assert [one["name"] for one in listed] == ["phone"]
    assert paired.device.key_sha256 not in json.dumps(listed)


def test_revoking_what_is_not_there_names_what_is(folder):
    pair_device(folder, "phone", role="keeper", now=NOW)
    code, said = run("devices", folder, "--revoke", "fone")
    assert code == 1
    assert "Let in are phone." in said


@pytest.mark.parametrize("arguments", [
    ("--behind-proxy", "https://a.b", "--share"), ("--share-on", "10.0.0.1"), ("--host-name", "tanks.local"),
])  # fmt: skip
def test_options_that_do_not_go_together_are_wrong_usage(folder, arguments):
    assert run("open", folder, "--no-browser", *arguments)[0] == 2


def test_a_public_address_is_refused_before_anything_is_served(folder):
    code, said = run("open", folder, "--no-browser", "--port", "0", "--share", "--share-on", "8.8.8.8")
    assert code == 1
    assert "no address of a local network" in said
