"""How long today's list takes in a logbook of ten years and fifty tanks: more than a million entries.

Run: python benchmarks/today_of_ten_years.py [FOLDER]. Prints the size and the seconds of the first and
of later lists; the logbook is made in FOLDER (a temporary one unless given) by plain SQL.
"""

from __future__ import annotations

import json
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from littoral.acts.record_entry import record_care
from littoral.acts.see_today import see_today
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.trial.written.reader import read_trial

TANKS = 50
START = date(2017, 1, 2)
DAYS = 3650


def trial_text() -> str:
    """Return a trial of fifty tanks over ten years, dosed daily, tested weekly."""
    tanks = "".join(f"[tanks.t{n:02}]\n{'like = ' + chr(34) + 't00' + chr(34) if n else ''}\n" for n in range(1, TANKS))
    names = [f"t{n:02}" for n in range(TANKS)]
    return f"""
format = 1
[trial]
key = "bench"
title = "Fifty tanks, ten years"
factor = "feeding"
start = {START}
zone = "Europe/Berlin"
length = "{DAYS} days"
[source]
nitrate = "10 mg/L"
[tanks.t00]
glass = "60 x 30 x 30 cm"
fill = "27 cm"
{tanks}
[bottles.macro]
salts = {{ KNO3 = "33 g" }}
made_up_to = "500 mL"
stroke = "1.1 mL"
[bottles.micro]
salts = {{ K2SO4 = "10 g" }}
made_up_to = "500 mL"
[regimes.one]
doses = [
  {{ of = "macro", amount = "1 stroke", on = "every day" }},
  {{ of = "micro", amount = "1 mL", on = "every day" }},
]
changes = [{{ share = "40 %", on = ["Sat"] }}]
[regimes.two]
doses = [
  {{ of = "macro", amount = "2 strokes", on = "every day" }},
  {{ of = "micro", amount = "1 mL", on = "every day" }},
]
changes = [{{ share = "40 %", on = ["Sat"] }}]
[arms.one]
tanks = {json.dumps(names[::2])}
regime = "one"
[arms.two]
tanks = {json.dumps(names[1::2])}
regime = "two"
[stands.fern]
[schedule]
doses_at = "18:00"
tests = [{{ of = ["nitrate", "ph"], on = ["Fri"] }}]
photos = [{{ on = "every day" }}]
[[questions]]
key = "care"
ask = "Which took more care?"
measure = "care minutes"
"""


def fill(folder: Path, text: str) -> int:
    """Make the logbook and return how many entries it holds."""
    trial, faults = read_trial(text, where="trial.toml")
    if trial is None:
        raise SystemExit("\n".join(map(str, faults)))
    with Logbook.create(folder) as book:
        book.take_in(trial, text)
    connection = sqlite3.connect(folder / DATABASE)
    connection.execute("PRAGMA synchronous=OFF")
    doses = [("dose", json.dumps({"of": of, "ml": 1.1, "g": None, "given": True})) for of in ("macro", "micro")]
    others = [("care", '{"minutes": 3.0}'), ("top-up", '{"litres": 0.2}'), ("note", '{"text": "fine"}')]
    daily = [*doses, doses[0], *others]

    def rows() -> Iterator[tuple[object, ...]]:
        number = 0
        for day in range(DAYS):
            noon = datetime.combine(START + timedelta(days=day), datetime.min.time(), UTC) + timedelta(hours=11)
            for tank in range(TANKS):
                for place, (kind, payload) in enumerate(daily):
                    number += 1
                    at = (noon + timedelta(minutes=tank, seconds=place)).isoformat(timespec="microseconds")
                    where = ("bench", "", at, "Europe/Berlin", f"t{tank:02}")
                    yield (f"{number:032x}", *where, kind, payload, "", "", None, at)

    connection.executemany("INSERT INTO entry VALUES (?,?,?,?,?,?,?,?,?,?,?,?)", rows())
    connection.commit()
    (count,) = connection.execute("SELECT count(*) FROM entry").fetchone()
    connection.close()
    return int(count)


def main() -> None:
    """Measure and print."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp())
    count = fill(folder / "logbook", trial_text())
    size_mb = (folder / "logbook" / DATABASE).stat().st_size / 1e6
    now = datetime(2026, 6, 20, 16, tzinfo=UTC)
    seconds = []
    for _ in range(7):
        begin = time.perf_counter()
        today = see_today(folder / "logbook", now=now)
        seconds.append(time.perf_counter() - begin)
    begin = time.perf_counter()
    record_care(folder / "logbook", "t07", "4 min", now=now)
    recording = time.perf_counter() - begin
    tasks = sum(len(tank.tasks) for tank in today.trials[0].tanks)
    print(f"{count:,} entries, {size_mb:.0f} MB; {tasks} tasks in {TANKS} tanks")
    print(f"today: first {seconds[0]:.2f} s, then median {statistics.median(seconds[1:]):.2f} s")
    print(f"recording one entry: {recording:.2f} s")


if __name__ == "__main__":
    main()
