"""A few of the faults of benchmarks/fault_table.py, on every run of the tests: nothing acknowledged is lost."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from faults.apart import run_apart
from faults.cuts import FOLDER, cut_everywhere, summed
from faults.disk_log import Op, can_record
from faults.earlier import write_earlier
from faults.filled import entries
from faults.intake_cut import cut_intake
from faults.power_cut import write_state

from littoral.logbook.schema import KNOWN

needs_strace = pytest.mark.skipif(not can_record(), reason="strace is missing or may not look at a process")


SELDOM = [pytest.param(kind, marks=pytest.mark.slow) for kind in ("backups", "migration")]
"""What happens once a day or once a version is rehearsed by `make proof`."""


@needs_strace
@pytest.mark.parametrize("kind", ["entries", "photos", *SELDOM])
def test_power_cuts_lose_nothing_acknowledged(kind: str, tmp_path: Path) -> None:
    before, started_with = None, None
    if kind == "migration":
        before, started_with = tmp_path / "before", {one.id: one for one in entries()}
        write_earlier(before / FOLDER, KNOWN[0])
    every = 11 if before else 37
    left = cut_everywhere(
        kind,
        tmp_path,
        unsynced=("dropped", "random"),
        every=every,
        before=before,
        started_with=started_with,
    )
    found = summed(kind, left)
    assert found.faults > 4
    assert found.acknowledged > 0
    assert (found.lost, found.wrong) == ((), ())


@needs_strace
def test_power_cuts_while_many_photos_come_in_leave_each_whole_or_asked_for_again(tmp_path: Path) -> None:
    """Twelve files and a few moments; 3,000 are in benchmarks/fault_table.py."""
    cuts = cut_intake(tmp_path, count=12, moments=6, seed=3)
    assert [(one.lost, one.half, one.wrong) for one in cuts] == [((), (), ())] * 6
    assert {one.there + one.again for one in cuts} == {12}
    assert max(one.acknowledged for one in cuts) >= 8


@pytest.mark.slow
@needs_strace
def test_an_intake_that_syncs_nothing_loses_what_it_acknowledged(tmp_path: Path) -> None:
    cuts = cut_intake(tmp_path, count=12, moments=8, unsynced=("dropped",), weaken="no sync of files", seed=3)
    assert any(one.lost or one.wrong for one in cuts)


@needs_strace
@pytest.mark.parametrize(
    ("kind", "weaken"), [("entries", "FULL"), ("photos", "no sync of files"), ("photos", "no sync of folders")]
)
def test_the_check_sees_a_promise_taken_back(kind: str, weaken: str, tmp_path: Path) -> None:
    found = summed(kind, cut_everywhere(kind, tmp_path, unsynced=("dropped",), every=11, weaken=weaken))
    assert found.lost or found.wrong


@pytest.mark.parametrize("kind", ["entries", "photos", *SELDOM])
def test_kill_9_loses_nothing_acknowledged(kind: str, tmp_path: Path) -> None:
    for said in run_apart("killed", kind, tmp_path, 19, 3):
        assert said["faults"] >= 3
        assert (said["lost"], said["wrong"]) == ([], [])


@pytest.mark.parametrize(("processes", "threads", "count"), [(1, 32, 4), (8, 1, 4)])
def test_many_clients_at_once_lose_and_double_nothing(processes: int, threads: int, count: int, tmp_path: Path) -> None:
    found = run_apart("clients", tmp_path, processes, threads, count)
    assert found["acknowledged"] == processes * threads * count
    assert (found["lost"], found["doubled"], found["strange"], found["wrong"]) == (0, 0, 0, [])


def state(tmp_path: Path, ops: list[Op], unsynced: str) -> dict[str, bytes]:
    to = tmp_path / f"{unsynced}-{len(list(tmp_path.iterdir()))}"
    write_state(ops, to, unsynced=unsynced, rng=random.Random(1))  # type: ignore[arg-type]
    return {str(path.relative_to(to)): path.read_bytes() for path in to.rglob("*") if path.is_file()}


def test_the_disk_of_the_model_forgets_what_was_not_synced(tmp_path: Path) -> None:
    made = [Op("create", "a"), Op("write", "a", b"one"), Op("sync", "a")]
    assert state(tmp_path, made, "dropped") == {}  # its bytes are sure, its name is not
    named = [*made, Op("sync", "")]
    assert state(tmp_path, named, "dropped") == {"a": b"one"}
    written = [*named, Op("write", "a", b"two", 3)]
    assert state(tmp_path, written, "dropped") == {"a": b"one"}
    assert state(tmp_path, written, "kept") == {"a": b"onetwo"}
    renamed = [*named, Op("rename", "a", to="b")]
    assert (state(tmp_path, renamed, "dropped"), state(tmp_path, renamed, "kept")) == ({"a": b"one"}, {"b": b"one"})
    gone = [*named, Op("unlink", "a")]
    assert (state(tmp_path, gone, "dropped"), state(tmp_path, gone, "kept")) == ({"a": b"one"}, {})
    cut = [*named, Op("truncate", "a", offset=1)]
    assert (state(tmp_path, cut, "dropped"), state(tmp_path, cut, "kept")) == ({"a": b"one"}, {"a": b"o"})
    torn = {state(tmp_path, [*named, Op("write", "a", b"x" * 2048)], "random")["a"] for _ in range(1)}
    assert torn <= {b"one", b"x" * 2048} or any(b"x" in data and b"\0" in data for data in torn)
