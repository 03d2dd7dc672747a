"""Work in a process that is killed outright (SIGKILL) at its n-th step, for every n, and after random times.

A step is each opening, renaming, removing and syncing of a file that Python does, each statement of SQL, and each
hundred instructions of SQLite within one. `python -m faults.killed KIND FOLDER EVERY TIMES` prints the sum as JSON; it
is a process of its own because a process with threads should not be forked.
"""

from __future__ import annotations

import json
import os
import random
import selectors
import shutil
import signal
import sqlite3
import sys
import time
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, NoReturn

from sqlalchemy import Engine, event

from faults.cuts import FOLDER, Tried, summed
from faults.earlier import write_earlier
from faults.filled import entries
from faults.left import Left, what_is_left
from faults.workload import WORK, Ack
from littoral.logbook.schema import KNOWN
from littoral.trial.entries import Entry

WATCHED = frozenset({"open", "os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.scandir", "sqlite3.connect"})
INSTRUCTIONS = 100
Work = Callable[[Ack], None]


def killed_at(step: int, work: Work) -> tuple[tuple[str, ...], bool]:
    """Do work in a child that is killed at its `step`-th step, and return what it said and whether it came so far."""
    return _forked(work, lambda: _kill_at(step))


def killed_after(seconds: float, work: Work) -> tuple[tuple[str, ...], bool]:
    """Do work in a child that is killed from outside after some time, and return what it said, and whether it was."""
    return _forked(work, lambda: None, seconds=seconds)


def _forked(work: Work, prepare: Callable[[], None], *, seconds: float | None = None) -> tuple[tuple[str, ...], bool]:
    heard, told = os.pipe()
    child = os.fork()
    if child == 0:
        _be_child(work, prepare, told)
    os.close(told)
    if seconds is not None:
        time.sleep(seconds)  # the fault itself, not a wait for something
        os.kill(child, signal.SIGKILL)
    with os.fdopen(heard, "rb") as pipe:
        said = pipe.read().decode()
    _, status = os.waitpid(child, 0)
    died = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    if not died and status != 0:
        raise AssertionError(f"the work failed by itself (status {status})")
    return tuple(said.splitlines()), died


def forked(works: Sequence[Work]) -> list[tuple[str, ...]]:
    """Do several pieces of work at once, each in a child of its own, and return what each said."""
    ends = []
    for work in works:
        heard, told = os.pipe()
        child = os.fork()
        if child == 0:
            _be_child(work, lambda: None, told)
        os.close(told)
        ends.append((child, heard))
    # A pipe holds less than a busy child says: all are read at the same time.
    said: dict[int, bytearray] = {heard: bytearray() for _, heard in ends}
    with selectors.DefaultSelector() as waiting:
        for heard in said:
            waiting.register(heard, selectors.EVENT_READ)
        while waiting.get_map():
            for key, _ in waiting.select():
                some = os.read(key.fd, 1 << 16)
                said[key.fd] += some
                if not some:
                    waiting.unregister(key.fd)
    failed = [child for child, _ in ends if os.waitpid(child, 0)[1] != 0]
    if failed:
        raise AssertionError(f"{len(failed)} children failed by themselves")
    for heard in said:
        os.close(heard)
    return [tuple(said[heard].decode().splitlines()) for _, heard in ends]


def _be_child(work: Work, prepare: Callable[[], None], told: int) -> NoReturn:
    code = 1
    try:
        prepare()
        work(lambda line: _tell(told, line))
        code = 0
    except BaseException:  # noqa: BLE001 - a child must never go on as its parent
        traceback.print_exc()
    finally:
        os._exit(code)


def _tell(told: int, line: str) -> None:
    os.write(told, f"{line}\n".encode())


def _kill_at(last: int) -> None:
    count = 0

    def step(*_: Any) -> None:
        nonlocal count
        count += 1
        if count == last:
            os.kill(os.getpid(), signal.SIGKILL)

    def watch(name: str, _: Any) -> None:
        if name in WATCHED:
            step()

    @event.listens_for(Engine, "connect")
    def _watch(driver: sqlite3.Connection, _: object) -> None:
        driver.set_trace_callback(step)
        driver.set_progress_handler(step, INSTRUCTIONS)

    sync = os.fsync

    def synced(opened: int) -> None:
        step()
        sync(opened)

    os.fsync = synced  # type: ignore[assignment]
    sys.addaudithook(watch)


def kill_everywhere(
    kind: str, folder: Path, *, every: int, before: Path | None = None, started_with: Mapping[str, Entry] | None = None
) -> list[Left]:
    """Kill one kind of work at every `every`-th step until it comes to its end, and check what each leaves."""
    found = []
    step, died = 1, True
    while died:
        state = _new(folder / f"kill-{step}", before)
        said, died = killed_at(step, lambda ack, state=state: WORK[kind](state / FOLDER, ack))  # type: ignore[misc]
        found.append(what_is_left(state / FOLDER, said, started_with=started_with))
        shutil.rmtree(state)
        step += every
    return found


def kill_at_random(
    kind: str,
    folder: Path,
    *,
    times: int,
    before: Path | None = None,
    started_with: Mapping[str, Entry] | None = None,
    seed: int = 0,
) -> list[Left]:
    """Kill one kind of work `times` times after a random part of the time that it takes, and check what is left."""
    rng = random.Random(seed)
    state = _new(folder / "whole", before)
    began = time.perf_counter()
    forked([lambda ack: WORK[kind](state / FOLDER, ack)])
    takes = time.perf_counter() - began
    found = []
    for number in range(times):
        state = _new(folder / f"random-{number}", before)
        said, _ = killed_after(rng.uniform(0, takes), lambda ack, state=state: WORK[kind](state / FOLDER, ack))  # type: ignore[misc]
        found.append(what_is_left(state / FOLDER, said, started_with=started_with))
        shutil.rmtree(state)
    return found


def _new(folder: Path, before: Path | None) -> Path:
    if before is None:
        folder.mkdir()
    else:
        shutil.copytree(before, folder)
    return folder


def main() -> None:
    """Kill one kind of work everywhere and at random, and print the sums as JSON."""
    kind, folder, every, times = sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    before, started_with = None, None
    if kind == "migration":
        before = folder / "before"
        write_earlier(before / FOLDER, KNOWN[0])
        started_with = {one.id: one for one in entries()}
    killed = kill_everywhere(kind, folder, every=every, before=before, started_with=started_with)
    tried: list[Tried] = [summed(f"kill -9 at a step: {kind}", killed)]
    if times:
        killed = kill_at_random(kind, folder, times=times, before=before, started_with=started_with)
        tried.append(summed(f"kill -9 at random: {kind}", killed))
    print(json.dumps([asdict(one) for one in tried]))


if __name__ == "__main__":
    main()
