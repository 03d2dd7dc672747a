"""Several processes at one bench on a real server: nothing is lost, nothing doubled, and one order for all."""

from __future__ import annotations

import json
import multiprocessing
import os
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from faults.filled import TEXT, trial
from faults.server import PASSWORD, Server, programs, serving

from littoral.acts.recent_entries import merged
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.cli.saying import refusals
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import SupersededError
from littoral.logbook.database import RefusedByServerError
from littoral.logbook.server import close_connections
from littoral.logbook.where_kept import VARIABLE, OtherDatabaseError, WrongAddressError, address_of, address_words
from littoral.logbook.writable import ReadOnlyLogbookError
from littoral.trial.entries import Care, Entry

NOW = datetime(2026, 3, 20, 8, tzinfo=UTC)
ALWAYS = datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
FORK = multiprocessing.get_context("fork")
HANDS, EACH, BASES = 3, 8, 5


def care(identity: str, minutes: float, *, who: str = "", supersedes: str | None = None) -> Entry:
    of = trial()
    tank = next(iter(of.tanks))
    return Entry(identity, NOW, of.zone, tank, Care(minutes), who=who, supersedes=supersedes, trial=of.key)


@pytest.fixture
def bench(tmp_path: Path, postgres: Server, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(VARIABLE, postgres.ready())
    with Logbook.create(tmp_path / "bench", shared=True) as book:
        book.take_in(trial(), TEXT)
        book.add([care(f"base{number}", 1) for number in range(BASES)])
    return tmp_path / "bench"


def hand(folder: Path, name: str, acknowledged: Path) -> None:
    """One process: its own entries, each sent twice as a phone does, and the same corrections as all others."""
    with acknowledged.open("a") as file:
        for number in range(EACH):
            queue = [care(f"{name}-{number}", number, who=name), care(f"all-{number}", number)]
            for _ in range(2):
                with Logbook.open(folder) as book:
                    added = book.add(queue)
                file.write("".join(json.dumps(["added", one.id]) + "\n" for one in added))
            if number < BASES:
                try:
                    with Logbook.open(folder) as book:
                        book.add([care(f"{name}-of-base{number}", 2, who=name, supersedes=f"base{number}")])
                    file.write(json.dumps(["won", number]) + "\n")
                except SupersededError:
                    file.write(json.dumps(["told", number]) + "\n")
            file.flush()


def working(folder: Path, files: list[Path]) -> list[multiprocessing.process.BaseProcess]:
    hands = [FORK.Process(target=hand, args=(folder, path.stem, path)) for path in files]
    for one in hands:
        one.start()
    return list(hands)


def lines(files: list[Path]) -> list[tuple[str, object]]:
    return [tuple(json.loads(line)) for path in files for line in path.read_text().splitlines()]


def test_many_hands_lose_and_double_nothing(bench: Path, tmp_path: Path) -> None:
    files = [tmp_path / f"hand{number}" for number in range(HANDS)]
    key = trial().key
    with Logbook.open(bench) as book:
        row = book.last_row_of(key)
        seen = book.entries_within(key, *ALWAYS)
    hands = working(bench, files)
    while any(one.is_alive() for one in hands):  # a page that reads only what came since
        with Logbook.open(bench) as book:
            last = book.last_row_of(key)
            seen = merged(seen, book.entries_since(key, after=row), first=ALWAYS[0], until=ALWAYS[1])
            row = last
    assert [one.exitcode for one in hands] == [0] * HANDS
    said = Counter(lines(files))
    with Logbook.open(bench) as book:
        seen = merged(seen, book.entries_since(key, after=row), first=ALWAYS[0], until=ALWAYS[1])
        assert seen == book.entries_within(key, *ALWAYS)
        everything = [one.id for one in book.entries_since(key, after=0)]
        superseding = Counter(one.supersedes for one in book.all_entries(key) if one.supersedes)
    mine = {f"hand{number}-{entry}" for number in range(HANDS) for entry in range(EACH)}
    alls = {f"all-{entry}" for entry in range(EACH)}
    assert len(everything) == len(set(everything)) == BASES + len(mine) + len(alls) + BASES
    assert {one for what, one in said if what == "added"} == mine | alls
    assert all(said["added", one] == 1 for one in mine | alls)
    assert superseding == {f"base{number}": 1 for number in range(BASES)}
    assert [said["won", number] for number in range(BASES)] == [1] * BASES
    assert [said["told", number] for number in range(BASES)] == [HANDS - 1] * BASES
    assert is_whole(verify_logbook(bench))


def start(folder: Path, told: Path) -> None:
    try:
        with Logbook.create(folder, shared=True) as book:
            told.write_text(str(book.place))
    except OtherDatabaseError as error:
        told.write_text(f"refused {error}")


@pytest.mark.parametrize("folders", [1, 3])
def test_a_first_start_by_several_at_once_makes_one_logbook(
    tmp_path: Path, postgres: Server, monkeypatch: pytest.MonkeyPatch, folders: int
) -> None:
    monkeypatch.setenv(VARIABLE, postgres.fresh())
    told = [tmp_path / f"told{number}" for number in range(3)]
    hands = [
        FORK.Process(target=start, args=(tmp_path / f"bench{number % folders}", path))
        for number, path in enumerate(told)
    ]
    for one in hands:
        one.start()
    for one in hands:
        one.join()
    assert [one.exitcode for one in hands] == [0, 0, 0]
    said = [path.read_text() for path in told]
    refused = [one for one in said if one.startswith("refused")]
    assert len(refused) == (0 if folders == 1 else 2)
    assert len(set(said) - set(refused)) == 1


def test_a_server_that_is_away_is_said_with_what_to_check_and_no_password(
    bench: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    secret = "pass-word-that-must-not-show"
    for host in ("?host=/nowhere", "@127.0.0.1:1/x"):
        address = f"postgresql://u:{secret}{host}" if host.startswith("@") else f"postgresql://u:{secret}@/x{host}"
        monkeypatch.setenv(VARIABLE, address)
        with pytest.raises(RefusedByServerError, match="cannot be reached") as refused:
            Logbook.open(bench)
        assert refused.value.away
        assert "Not saved." in str(refused.value)
        assert "Check that the server runs" in str(refused.value)
        assert secret not in "".join(map(str, (refused.value, refused.value.__cause__, refused.value.__context__)))
        with pytest.raises(BaseException, match="1"), refusals():
            Logbook.open(bench)
        assert secret not in "".join(capsys.readouterr())


def test_a_wrong_password_is_said_without_it(bench: Path, postgres: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    right = os.environ[VARIABLE]
    monkeypatch.setenv(VARIABLE, right.replace("must%26not", "must-never"))
    with pytest.raises(RefusedByServerError, match="password authentication failed") as refused:
        Logbook.open(bench)
    assert "must-never" not in str(refused.value)


@pytest.mark.parametrize(
    "written", ["mysql://u:hidden@h/x", "postgresql://u:hidden@h", "u:hidden@h", "postgresql://u:hidden@h:port/x"]
)
def test_a_wrong_address_is_never_said_again(written: str) -> None:
    with pytest.raises(WrongAddressError) as refused:
        address_of(written)
    assert "hidden" not in str(refused.value)
    assert refused.value.__suppress_context__ or refused.value.__context__ is None


def test_where_a_database_is_said_without_user_and_password() -> None:
    assert address_words(address_of("postgresql://u:p@db.example.org:5433/bench")) == (
        'the database "bench" at db.example.org:5433'
    )


@pytest.fixture
def durable() -> Iterator[Server]:
    if programs() is None:
        pytest.skip("PostgreSQL is not installed here: apt-get install postgresql brings what this test kills")
    with serving(durable=True) as server:
        yield server
        close_connections()


def queue_until_killed(folder: Path, name: str, acknowledged: Path) -> None:
    """One phone's queue: notes what was acknowledged, and ends when the server is away."""
    with acknowledged.open("a") as file:
        for number in range(10_000):
            try:
                with Logbook.open(folder) as book:
                    book.add([care(f"{name}-{number}", 1, who=name)])
            except RefusedByServerError:
                return
            file.write(json.dumps(["added", f"{name}-{number}"]) + "\n")
            file.flush()


@pytest.mark.slow
def test_a_server_killed_in_the_middle_keeps_all_that_was_acknowledged(
    tmp_path: Path, durable: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, durable.ready())
    with Logbook.create(tmp_path / "bench", shared=True) as book:
        book.take_in(trial(), TEXT)
    for kill in range(4):
        close_connections()
        files = [tmp_path / f"kill{kill}-{number}" for number in range(3)]
        hands = [FORK.Process(target=queue_until_killed, args=(tmp_path / "bench", path.name, path)) for path in files]
        for one in hands:
            one.start()
        while sum(path.read_text().count("\n") for path in files if path.exists()) < 25 + 7 * kill:
            assert any(one.is_alive() for one in hands)
        durable.kill()
        for one in hands:
            one.join()
        durable.start()
        acknowledged = [str(one) for _, one in lines(files)]
        with Logbook.open(tmp_path / "bench") as book:
            everything = [one.id for one in book.all_entries(trial().key)]
            assert set(acknowledged) <= set(everything)
            assert len(everything) == len(set(everything))
            # the phone sends all again that it knows nothing of: each is there once
            for path in files:
                for number in range(len(path.read_text().splitlines()) + 1):
                    book.add([care(f"{path.name}-{number}", 1, who=path.name)])
            again = [one.id for one in book.all_entries(trial().key)]
            assert len(again) == len(set(again))
            assert {f"{path.name}-{len(path.read_text().splitlines())}" for path in files} <= set(again)
        assert is_whole(verify_logbook(tmp_path / "bench"))
    assert PASSWORD not in (durable.folder / "log").read_text()


def test_a_user_of_the_database_who_may_only_read_reads(
    bench: Path, postgres: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    database = address_of(os.environ[VARIABLE]).database
    assert database is not None
    if not postgres.say("postgres", "SELECT 1 FROM pg_roles WHERE rolname = 'looker'"):
        postgres.say("postgres", "CREATE ROLE looker LOGIN PASSWORD 'looks'")
    postgres.say(database, "GRANT SELECT ON ALL TABLES IN SCHEMA public TO looker")
    monkeypatch.setenv(VARIABLE, f"postgresql://looker:looks@/{database}?host={postgres.folder}")
    with Logbook.open(bench) as book:
        assert len(book.entries(trial().key)) == BASES
        with pytest.raises(ReadOnlyLogbookError, match="may only read"):
            book.add([care("new", 1)])
