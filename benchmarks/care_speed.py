"""Rows of `make bench` about care at the bench: pages and presses in a logbook of ten years and fifty tanks.

Each request goes through the whole application, guard and all, without a network. What is timed beside it is a plain
SQLite read of the rows that the page shows, by the same file. Absolute times are of the machine that ran it.
"""

from __future__ import annotations

import asyncio
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, finish, row
from today_of_ten_years import DAYS, START, TANKS, fill, trial_text

from littoral.logbook.book import DATABASE
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


class _Client:
    """Asks the application as a browser on this computer would, and takes the time."""

    def __init__(self, folder: Path) -> None:
        self.app = create_app(folder, port=PORT, now=lambda: NOW)
        self.client = httpx.AsyncClient(transport=httpx.ASGITransport(app=self.app), base_url=BASE)

    async def get(self, path: str) -> float:
        begin = time.perf_counter()
        answer = await self.client.get(path, headers={"accept": "text/html"})
        taken = 1000 * (time.perf_counter() - begin)
        assert answer.status_code == 200, (path, answer.status_code)
        return taken

    async def press(self, number: int) -> float:
        """Record the next planned dose of the last day as done."""
        tank, bottle = number % TANKS, ("macro", "micro")[number // TANKS]
        headers = {"origin": BASE, "x-littoral-token": self.app.state.token}
        sent = {"act": "planned", "trial": "bench", "item": f"{LAST_DAY}/t{tank:02}/dose {bottle}"}
        begin = time.perf_counter()
        answer = await self.client.post("/api/entries", json=sent, headers=headers)
        taken = 1000 * (time.perf_counter() - begin)
        assert answer.status_code == 201, answer.text
        return taken


async def _times(
    folder: Path, say: Callable[[str], None]
) -> tuple[list[float], dict[str, list[float]], dict[str, float]]:
    client = _Client(folder)
    first = {name: await client.get(path) for name, path in PAGES.items()}
    pages: dict[str, list[float]] = {name: [] for name in PAGES}
    presses = []
    for number in range(ROUNDS):  # each page is asked for after something new was recorded
        presses.append(await client.press(number))
        for name, path in PAGES.items():
            pages[name].append(await client.get(path))
    say(f"care: {ROUNDS} presses and {ROUNDS} rounds of {len(PAGES)} pages")
    await client.client.aclose()
    return presses, pages, first


def care_rows() -> list[Row]:
    """Return the rows: the press within its limit, every page's 95th percentile within its own."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "logbook"
        count = make(folder)
        presses, pages, first = asyncio.run(_times(folder, print))
        one, every = plain_read_ms(folder, tank="t07"), plain_read_ms(folder, tank=None)
    rows = [_row(f"recording a planned dose among {count:,} entries", presses, PRESS_MS, plain=one, what="the tank's")]
    for name, times in pages.items():
        plain, what = (one, "the tank's") if "one tank" in name or "form" in name else (every, "the bench's")
        rows.append(_row(f"{name} (first {first[name]:.0f} ms)", times, PAGE_MS, plain=plain, what=what))
    return rows


def _row(name: str, times: list[float], limit_ms: float, *, plain: float, what: str) -> Row:
    value = p95(times)
    reference = f"plain SQLite read of {what} last {LOOK_BACK_DAYS + 1} days: {plain:.3g} ms"
    return row(
        name, value, "ms, p95", reference=reference, ratio=value / plain, limit=f"at most {limit_ms:g} ms",
        holds=value <= limit_ms, source="timed in this run", aim=True,
    )  # fmt: skip


if __name__ == "__main__":
    sys.exit(finish("care-speed", care_rows()))
