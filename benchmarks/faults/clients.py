"""Many clients at once, threads of one process or of several, that all write the same logbook.

Neighbours send the same entries, too, as two phones do that show the same list. What a client is told is busy it sends
again. `python -m faults.clients FOLDER PROCESSES THREADS ENTRIES` prints the sum as JSON.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path

from faults.cuts import FOLDER
from faults.killed import forked
from faults.workload import TEXT, TRIAL, note
from littoral.logbook.book import Logbook
from littoral.logbook.database import RefusedByDatabaseError
from littoral.logbook.refused import DATABASE
from littoral.logbook.verify import failures, verify
from littoral.trial.entries import Entry

REOPENED_EVERY = 10


@dataclass(frozen=True, slots=True)
class Crowd:
    """How many entries were acknowledged to somebody, how many are lost, doubled or were never sent, and the time."""

    acknowledged: int
    lost: int
    doubled: int
    strange: int
    wrong: tuple[str, ...]
    busy: int
    seconds: float


def crowd(folder: Path, *, processes: int, threads: int, entries: int) -> Crowd:
    """Let `threads` clients in each of some processes record `entries` entries each, and compare what is there.

    Of each client's entries every tenth is sent by its neighbour, too.
    """
    book_folder = folder / FOLDER
    with Logbook.create(book_folder) as book:
        book.take_in(TRIAL, TEXT)
    began = time.perf_counter()
    told = forked([_process(book_folder, number, processes, threads, entries) for number in range(processes)])
    seconds = time.perf_counter() - began
    words = Counter(line for said in told for line in said)
    busy = words.pop("busy", 0)
    with Logbook.open(book_folder) as book:
        there = Counter(entry.payload for entry in book.entries(TRIAL.key))
    due = {_entry(*map(int, line.split())).payload for line in words}
    return Crowd(
        acknowledged=len(due),
        lost=len(due - there.keys()),
        doubled=sum(count - 1 for count in there.values()),
        strange=len(there.keys() - due),
        wrong=tuple(row.what for row in failures(verify(book_folder, database=DATABASE))),
        busy=busy,
        seconds=seconds,
    )


def _entry(client: int, number: int) -> Entry:
    return note(f"n{3 * (client * 10_000 + number) + 1}")  # short of a correction: those are another test


def _process(
    book_folder: Path, number: int, processes: int, threads: int, entries: int
) -> Callable[[Callable[[str], None]], None]:
    clients = processes * threads

    def work(ack: Callable[[str], None]) -> None:
        with ThreadPoolExecutor(threads) as pool:
            mine = range(number * threads, (number + 1) * threads)
            for one in [pool.submit(_client, book_folder, client, clients, entries, ack) for client in mine]:
                one.result()

    return work


def _client(book_folder: Path, client: int, clients: int, entries: int, ack: Callable[[str], None]) -> None:
    for first in range(0, entries, REOPENED_EVERY):
        with Logbook.open(book_folder) as book:
            _send(book, (client + 1) % clients, first, ack)
            for number in range(first, min(first + REOPENED_EVERY, entries)):
                _send(book, client, number, ack)


def _send(book: Logbook, client: int, number: int, ack: Callable[[str], None]) -> None:
    while True:
        try:
            book.add([_entry(client, number)])
        except RefusedByDatabaseError as error:
            if not error.code.startswith("SQLITE_BUSY"):
                raise
            ack("busy")
        else:
            ack(f"{client} {number}")
            return


def main() -> None:
    """Let the crowd in and print what came of it as JSON."""
    found = crowd(Path(sys.argv[1]), processes=int(sys.argv[2]), threads=int(sys.argv[3]), entries=int(sys.argv[4]))
    print(json.dumps(asdict(found)))


if __name__ == "__main__":
    main()
