"""Rows of `make bench` about care at the bench: pages and presses in a logbook of ten years and fifty tanks.

Each request goes through the whole application, guard and all, without a network. What is timed beside it is a plain
SQLite read of the rows that the page shows, by the same file. A press is timed by the clock, since the disk has
its part in it; a page by the processor, since other work on the same machine would be timed with it.
"""

from __future__ import annotations

import asyncio
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, finish, row
from today_of_ten_years import DAYS, START, TANKS, fill, trial_text

from littoral.logbook.refused import DATABASE
from littoral.trial.days import span_of
from littoral.trial.due import LOOK_BACK_DAYS
from littoral.web.app import create_app

PORT = 8765
BASE = f"http://127.0.0.1:{PORT}"
PAGE_MS, PRESS_MS = 100.0, 300.0
ROUNDS = 40
LAST_DAY = START + timedelta(days=DAYS - 1)
NOW = datetime(LAST_DAY.year, LAST_DAY.month, LAST_DAY.day, 20, tzinfo=UTC)
PAGES = {
    "today, every tank": "/today",
    "today, one tank": "/today?trial=bench&tank=t07",
    "entry form": "/entry/dose?trial=bench&tank=t07&what=macro",
    "entries, newest days": "/trial/bench/entries",
    "trials": "/",
    "today as JSON": "/api/today",
    "same-care audit": "/trial/bench/audit",
}


def make(folder: Path) -> int:
    """Make the logbook with nothing recorded on its last day; return how many entries it holds."""
    fill(folder, trial_text())
    first, _ = span_of(LAST_DAY, "Europe/Berlin")
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.execute("DELETE FROM entry WHERE at >= ?", (first.isoformat(timespec="microseconds"),))
        connection.commit()
        (count,) = connection.execute("SELECT count(*) FROM entry").fetchone()
    return int(count)


def plain_read_ms(folder: Path, *, tank: str | None) -> float:
    """Return the milliseconds that a plain read of the rows behind today's list takes, median of some."""
    first, _ = span_of(LAST_DAY - timedelta(days=LOOK_BACK_DAYS), "Europe/Berlin")
    query = "SELECT * FROM entry WHERE trial = 'bench' AND at >= ?" + (" AND tank = ?" if tank else "") + " ORDER BY at"
    values = (first.isoformat(timespec="microseconds"), *((tank,) if tank else ()))
    times = []
    for _ in range(9):
        begin = time.perf_counter()
        with closing(sqlite3.connect(folder / DATABASE)) as connection:
            connection.execute(query, values).fetchall()
        times.append(1000 * (time.perf_counter() - begin))
    return sorted(times)[len(times) // 2]


def p95(times: list[float]) -> float:
    return sorted(times)[min(len(times) - 1, int(0.95 * len(times)))]


Took = tuple[float, float]
"""Milliseconds of the processor, and by the clock."""


class _Client:
    """Asks the application as a browser on this computer would, and takes the time."""

    def __init__(self, folder: Path) -> None:
        self.app = create_app(folder, port=PORT, now=lambda: NOW)
        self.client = httpx.AsyncClient(transport=httpx.ASGITransport(app=self.app), base_url=BASE)

    async def get(self, path: str) -> Took:
        return await self._timed(200, "GET", path, headers={"accept": "text/html"})

    async def press(self, number: int) -> Took:
        """Record the next planned dose of the last day as done."""
        tank, bottle = number % TANKS, ("macro", "micro")[number // TANKS]
        headers = {"origin": BASE, "x-littoral-token": self.app.state.token}
        sent = {"act": "planned", "trial": "bench", "item": f"{LAST_DAY}/t{tank:02}/dose {bottle}"}
        return await self._timed(201, "POST", "/api/entries", json=sent, headers=headers)

    async def _timed(self, status: int, method: str, path: str, **more: Any) -> Took:
        begin, worked = time.perf_counter(), time.process_time()
        answer = await self.client.request(method, path, **more)
        took = 1000 * (time.process_time() - worked), 1000 * (time.perf_counter() - begin)
        assert answer.status_code == status, (path, answer.status_code, answer.text[:300])
        return took


async def _times(folder: Path) -> tuple[list[Took], dict[str, list[Took]], dict[str, Took]]:
    """Return what the presses took, what each page took, and what each page took the first time."""
    client = _Client(folder)
    first = {name: await client.get(path) for name, path in PAGES.items()}
    pages: dict[str, list[Took]] = {name: [] for name in PAGES}
    presses = []
    for number in range(ROUNDS):  # each page is asked for after something new was recorded
        presses.append(await client.press(number))
        for name, path in PAGES.items():
            pages[name].append(await client.get(path))
    await client.client.aclose()
    return presses, pages, first


def care_rows() -> list[Row]:
    """Return the rows: the press within its limit, every page's 95th percentile within its own."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "logbook"
        count = make(folder)
        presses, pages, first = asyncio.run(_times(folder))
        one, every = plain_read_ms(folder, tank="t07"), plain_read_ms(folder, tank=None)
    name = f"recording a planned dose among {count:,} entries"
    rows = [_row(name, presses, PRESS_MS, plain=one, what="the tank's", by_clock=True)]
    for name, times in pages.items():
        plain, what = (one, "the tank's") if "one tank" in name or "form" in name else (every, "the bench's")
        rows.append(_row(f"{name} (first {first[name][0]:.0f} ms)", times, PAGE_MS, plain=plain, what=what))
    return rows


def _row(name: str, times: list[Took], limit_ms: float, *, plain: float, what: str, by_clock: bool = False) -> Row:
    worked, clock = p95([one for one, _ in times]), p95([one for _, one in times])
    value = clock if by_clock else worked
    read = f"plain SQLite read of {what} last {LOOK_BACK_DAYS + 1} days: {plain:.3g} ms"
    return row(
        name, value, "ms by the clock, p95" if by_clock else "ms of the processor, p95",
        reference=f"{worked:.3g} ms of the processor, {clock:.3g} by the clock; {read}", ratio=value / plain,
        limit=f"at most {limit_ms:g} ms", holds=value <= limit_ms, source="timed in this run", aim=True,
    )  # fmt: skip


if __name__ == "__main__":
    sys.exit(finish("care-speed", care_rows()))
