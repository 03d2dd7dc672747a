"""A logbook moved to a server and back is the same, and whatever goes wrong on the way, nothing is lost."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from faults.filled import Filled, fill
from faults.server import PASSWORD, Server
from typer.testing import CliRunner

from littoral.acts.first_trial import start_first
from littoral.acts.keep_devices import known_device, pair_device
from littoral.acts.start_trial import taken_keys
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.cli.main import app
from littoral.logbook import moving
from littoral.logbook.book import Logbook
from littoral.logbook.database import RefusedByServerError, reading
from littoral.logbook.every_row import digest_of
from littoral.logbook.moving import NotMovedError, move
from littoral.logbook.refused import DATABASE
from littoral.logbook.restore import NotNewError
from littoral.logbook.where_kept import NOTE, VARIABLE, OtherDatabaseError, address_of
from littoral.trial.entries import Entry, Note


@pytest.fixture
def address(postgres: Server, monkeypatch: pytest.MonkeyPatch) -> str:
    found = postgres.ready()
    monkeypatch.setenv(VARIABLE, found)
    return found


def digest(folder: Path) -> str:
    with Logbook.open(folder) as book, reading(book._engine) as connection:
        return digest_of(connection)


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def run(*arguments: object) -> tuple[int, str]:
    done = CliRunner().invoke(app, [str(one) for one in arguments])
    return done.exit_code, done.output


def test_there_and_back_with_nothing_lost(tmp_path: Path, address: str) -> None:
    filled = fill(tmp_path / "here")
    (filled.folder / "cache" / "jobs" / "one").mkdir(parents=True)
    (filled.folder / "cache" / "jobs" / "one" / "job.json").write_text("{}")
    paired = pair_device(filled.folder, "Ben", role="helper", now=filled.entries[0].at)
    before = files(filled.folder)
    code, said = run("move-logbook", filled.folder, tmp_path / "shared")
    assert code == 0, said
    assert digest(filled.folder) in said
    assert files(filled.folder) == before
    code, said = run("move-logbook", tmp_path / "shared", tmp_path / "back", "--json")
    assert code == 0, said
    assert json.loads(said)["digest"] == digest(filled.folder)
    assert json.loads(said)["rows"] == {"trial_text": 2, "entry": 9, "original": 3, "measured_elsewhere": 0}
    for folder in (tmp_path / "shared", tmp_path / "back"):
        assert digest(folder) == digest(filled.folder)
        assert is_whole(verify_logbook(folder))
        assert known_device(folder, paired.device.id, paired.key) == paired.device
        assert {name for name in files(folder) if name not in (NOTE, DATABASE)} == set(before) - {DATABASE}
    assert (tmp_path / "shared" / NOTE).is_file()
    assert not (tmp_path / "shared" / DATABASE).exists()
    assert not (tmp_path / "back" / NOTE).exists()
    assert PASSWORD not in "".join(map(repr, files(tmp_path / "shared").values()))


def test_what_is_written_after_a_move_gets_the_next_numbers(tmp_path: Path, address: str) -> None:
    filled = fill(tmp_path / "here")
    move(filled.folder, tmp_path / "shared", to=address_of(address))
    of = filled.trial
    with Logbook.open(tmp_path / "shared") as book:
        row = book.last_row_of(of.key)
        last = Entry("last", filled.entries[0].at, of.zone, None, Note("after"), trial=of.key)
        assert book.add((last,))
        assert book.entries_since(of.key, after=row) == (last,)
        book.take_in(of, book.trial_text(of.key) + "# again\n")
        assert len(book.texts(of.key)) == 3


def test_a_database_that_holds_something_is_refused(tmp_path: Path, address: str) -> None:
    filled = fill(tmp_path / "here")
    move(filled.folder, tmp_path / "shared", to=address_of(address))
    before = digest(tmp_path / "shared")
    for source in (filled.folder, tmp_path / "shared"):
        with pytest.raises(OtherDatabaseError, match="Nothing was changed"):
            move(source, tmp_path / "again", to=address_of(address))
    with pytest.raises(OtherDatabaseError, match="it is that of"):
        Logbook.create(tmp_path / "third", shared=True)
    with pytest.raises(NotNewError):
        move(filled.folder, tmp_path / "shared", to=address_of(address))
    assert digest(tmp_path / "shared") == before
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize("at", ["photos", "rows", "name"])
@pytest.mark.parametrize("to_server", [True, pytest.param(False, marks=pytest.mark.slow)])
def test_cut_off_it_goes_on_from_there(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch, at: str, to_server: bool
) -> None:
    filled, to = fill(tmp_path / "here"), address_of(address) if to_server else None

    def cut(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(*{
            "photos": (moving, "copy_original"), "rows": (moving, "bind" if to_server else "digest_of"),
            "name": (Path, "rename"),
        }[at], cut)  # fmt: skip
        with pytest.raises(KeyboardInterrupt):
            move(filled.folder, tmp_path / "there", to=to)
    assert not (tmp_path / "there").exists()
    move(filled.folder, tmp_path / "there", to=to)
    assert digest(tmp_path / "there") == digest(filled.folder)
    assert is_whole(verify_logbook(tmp_path / "there"))


def test_what_arrives_changed_is_not_kept(tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    filled, write = fill(tmp_path / "here"), moving.copy_rows

    def changed(source, target, *, progress=None):  # a driver that alters a text on its way
        counts = write(source, target, progress=progress)
        target.exec_driver_sql("UPDATE entry SET note = 'other' WHERE id = 'a'")
        return counts

    monkeypatch.setattr(moving, "copy_rows", changed)
    with pytest.raises(NotMovedError):
        move(filled.folder, tmp_path / "there", to=address_of(address))
    monkeypatch.undo()
    move(filled.folder, tmp_path / "there", to=address_of(address))  # the database is as empty as before


def test_a_sign_that_the_server_cannot_keep_stops_it_whole(tmp_path: Path, address: str) -> None:
    filled = fill(tmp_path / "here")
    filled.execute("UPDATE entry SET note = 'a' || char(0) || 'b' WHERE id = 'b'")
    with pytest.raises(RefusedByServerError, match="cannot keep") as refused:
        move(filled.folder, tmp_path / "there", to=address_of(address))
    assert not refused.value.away
    assert not (tmp_path / "there").exists()


def test_a_lost_photo_is_told_and_the_rest_moves(tmp_path: Path, address: str) -> None:
    filled = fill(tmp_path / "here")
    filled.original(1).unlink()
    code, said = run("move-logbook", filled.folder, tmp_path / "there")
    assert code == 0
    assert "1 photo missing or damaged" in said


def test_no_password_stands_on_a_command_line(tmp_path: Path, address: str) -> None:
    filled = fill(tmp_path / "here")
    named = ("--database", address, "verify", filled.folder)
    for arguments in (named, ("move-logbook", filled.folder, tmp_path / "x", "--to", address)):
        code, said = run(*arguments)
        assert code == 2
        assert "no password stands there" in " ".join(said.replace("│", " ").split())
        assert PASSWORD not in said
    assert not (tmp_path / "x").exists()


def filled_on(folder: Path) -> Filled:
    Logbook.create(folder, shared=True).close()
    return fill(folder)


def test_another_database_is_not_taken_for_the_bench(
    tmp_path: Path, address: str, postgres: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled_on(tmp_path / "bench")
    monkeypatch.setenv(VARIABLE, postgres.ready())
    with pytest.raises(OtherDatabaseError, match="another logbook, or none"):
        Logbook.open(tmp_path / "bench")
    monkeypatch.setenv(VARIABLE, postgres.fresh())
    with pytest.raises(OtherDatabaseError, match="another logbook, or none"):
        Logbook.open(tmp_path / "bench")


def test_another_database_is_neither_moved_nor_verified_for_the_bench(
    tmp_path: Path, address: str, postgres: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled_on(tmp_path / "bench")
    monkeypatch.setenv(VARIABLE, postgres.ready())
    with pytest.raises(OtherDatabaseError, match="another logbook, or none"):
        move(tmp_path / "bench", tmp_path / "there", to=None)
    assert not (tmp_path / "there").exists()
    (row,) = verify_logbook(tmp_path / "bench")
    assert row.verdict == "fails"
    assert "is not the database of" in row.comment


def test_cut_off_on_the_way_into_a_file_it_can_go_to_a_server(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    filled = fill(tmp_path / "here")

    def cut(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(moving, "copy_rows", cut)
        with pytest.raises(KeyboardInterrupt):
            move(filled.folder, tmp_path / "there", to=None)
    move(filled.folder, tmp_path / "there", to=address_of(address))
    assert digest(tmp_path / "there") == digest(filled.folder)


def test_a_first_trial_begins_on_the_server_that_is_named(tmp_path: Path, address: str) -> None:
    answers = {"know": "light", "tanks": "left, right", "glass": "60 x 30 x 30 cm", "often": "nothing"}
    begun = start_first(tmp_path / "bench" / "logbook", answers, now=datetime(2026, 3, 2, tzinfo=UTC), zone="UTC")
    assert (tmp_path / "bench" / "logbook" / NOTE).is_file()
    again = start_first(tmp_path / "bench" / "logbook", answers, now=datetime(2026, 3, 2, tzinfo=UTC), zone="UTC")
    assert again.key == f"{begun.key}-2"


def test_a_trial_of_a_shared_bench_has_its_key(tmp_path: Path, address: str) -> None:
    filled_on(tmp_path / "bench" / "logbook")
    with Logbook.open(tmp_path / "bench" / "logbook") as book:
        (key,) = book.trials()
    assert key in taken_keys(tmp_path / "bench" / "logbook")


def test_a_folder_with_both_is_refused(tmp_path: Path, address: str) -> None:
    fill(tmp_path / "here")
    filled_on(tmp_path / "bench")
    shutil.copy(tmp_path / "here" / DATABASE, tmp_path / "bench" / DATABASE)
    with pytest.raises(Exception, match="is there too"):
        Logbook.open(tmp_path / "bench")


@pytest.mark.slow
def test_the_answers_are_the_same_to_the_byte(
    small_demo, tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = [CliRunner().invoke(app, ["answer", str(small_demo.logbook), "--json"]).stdout]
    move(small_demo.logbook, tmp_path / "shared", to=address_of(address))
    move(tmp_path / "shared", tmp_path / "back", to=None)
    said += [CliRunner().invoke(app, ["answer", str(tmp_path / one), "--json"]).stdout for one in ("shared", "back")]
    assert len(said[0]) > 1000
    assert said[0] == said[1] == said[2]
