"""The levels of one size of logbook fitted in a process of its own: first, and when the fit is kept. Prints JSON.

Run: python benchmarks/growth/fitted.py TANKS DAYS. Each tank has one nitrate test a week. Processor seconds.
"""

from __future__ import annotations

import json
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))
from growth.made import START, write_trial
from growth.point import cpu_s, peak_mb


def run(tanks: int, days: int) -> dict[str, float]:
    from littoral.acts.import_trial import import_trial
    from littoral.acts.see_levels import see_levels

    now = datetime.combine(START + timedelta(days=days - 1), datetime.min.time(), UTC) + timedelta(hours=20)
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "logbook"
        import_trial(book, write_trial(Path(folder) / "files", tanks=tanks, days=days), now=now)
        first, kept = (cpu_s(lambda: see_levels(book, now=now)) for _ in range(2))
    return {"fit, first": first, "fit, kept": kept, "memory with fit, MB": peak_mb()}


if __name__ == "__main__":
    print(json.dumps(run(int(sys.argv[1]), int(sys.argv[2]))))
