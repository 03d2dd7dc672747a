"""One size of logbook in a process of its own: what each thing that a person does takes there. Prints JSON.

Run: python benchmarks/growth/point.py TANKS DAYS. Seconds of this process's processor, so that other work on
the machine counts less; recording by the clock, for the disk has its part in it. Beside them a plain read of all rows.
"""

from __future__ import annotations

import asyncio
import json
import os
import resource
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
from growth.made import START, write_trial

PORT = 8765
PAGES = {"page Today": "/today", "page of the trial": "/trial/bench", "page of entries": "/trial/bench/entries"}
AGAIN = 4


def cpu_s(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def run(tanks: int, days: int) -> dict[str, float]:
    """Return seconds of each stage, MB of memory and of the file, and the number of entries."""
    from littoral.acts.answer_questions import answer_questions
    from littoral.acts.import_trial import import_trial
    from littoral.acts.record_entry import record_care
    from littoral.acts.see_today import see_today
    from littoral.logbook.refused import DATABASE

    now = datetime.combine(START + timedelta(days=days - 1), datetime.min.time(), UTC) + timedelta(hours=20)
    found: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        file, book = write_trial(folder / "files", tanks=tanks, days=days), folder / "logbook"
        found["import"] = cpu_s(lambda: import_trial(book, file, now=now))
        found["memory after import, MB"] = peak_mb()
        found["import again, nothing new"] = cpu_s(lambda: import_trial(book, file, now=now))
        found["plain read of all rows"] = statistics.median(cpu_s(lambda: _plain(book / DATABASE)) for _ in range(3))
        taken = []
        for _ in range(AGAIN):
            begun = time.perf_counter()
            record_care(book, "t000", "4 min", now=now)
            taken.append(time.perf_counter() - begun)
        found["record an entry (clock)"] = statistics.median(taken)
        found["today's list"] = statistics.median(cpu_s(lambda: see_today(book, now=now)) for _ in range(AGAIN))
        found["answer"] = cpu_s(lambda: answer_questions(book))
        found |= asyncio.run(_pages(book, now))
        found["start-up: littoral today"] = min(_child_s(book) for _ in range(3))
        found["memory, MB"] = peak_mb()
        with closing(sqlite3.connect(book / DATABASE)) as connection:
            (found["entries"],) = connection.execute("SELECT count(*) FROM entry").fetchone()
        found["file, MB"] = (book / DATABASE).stat().st_size / 1e6
    return found


def _plain(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        for (payload,) in connection.execute("SELECT payload FROM entry WHERE trial = 'bench' ORDER BY at"):
            json.loads(payload)


async def _pages(book: Path, now: datetime) -> dict[str, float]:
    """The 95th percentile of each page (of so few the highest), after one that warms up; each after a new entry."""
    import httpx

    from littoral.acts.record_entry import record_care
    from littoral.web.app import create_app

    app = create_app(book, port=PORT, now=lambda: now)
    transport = httpx.ASGITransport(app=app)
    found = {}
    async with httpx.AsyncClient(transport=transport, base_url=f"http://127.0.0.1:{PORT}", timeout=None) as client:
        for name, path in PAGES.items():
            times = []
            for number in range(AGAIN + 1):
                record_care(book, "t001", f"{2 + number} min", now=now)
                begun = time.process_time()
                while True:  # a page that takes long says so (202) and works on
                    answer = await client.get(path, headers={"accept": "text/html"})
                    if answer.status_code != 202:
                        break
                    await asyncio.sleep(0.2)
                times.append(time.process_time() - begun)
                assert answer.status_code == 200, (path, answer.status_code, answer.text[:300])
            found[f"{name}, first"], found[f"{name}, p95"] = times[0], max(times[1:])
    return found


def _child_s(book: Path) -> float:
    """Processor seconds of a command from its start to its end."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "littoral", "today", str(book)]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one)}
    subprocess.run(command, stdout=subprocess.DEVNULL, check=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    print(json.dumps(run(int(sys.argv[1]), int(sys.argv[2]))))
