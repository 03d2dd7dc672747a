"""How far one machine goes: every stage at sizes from 2 tanks and 10 days to 100 tanks and 1,000 days.

Run: python benchmarks/growth_table.py [10x100 fit:2x30...]; without sizes those of `SIZES` and `FITTED`. Each size is a
process of its own (benchmarks/growth/); what is measured is added to build/growth.json as it comes, drawn to
build/growth.svg and written to build/growth.md. A size named again is measured again.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from growth.drawn import growth_chart
from rows import BUILD, Row, finish, row

HERE = Path(__file__).parent
SIZES = ((2, 10), (2, 100), (2, 1000), (10, 10), (10, 100), (10, 1000), (100, 10), (100, 100), (100, 1000))
FITTED = ((2, 10), (2, 30), (2, 100))
TIMES = (
    "import", "import again, nothing new", "plain read of all rows", "record an entry (clock)", "today's list",
    "answer", "page Today, p95", "page of the trial, first", "page of the trial, p95", "page of entries, p95",
    "start-up: littoral today", "fit, first", "fit, kept",
)  # fmt: skip
LONGEST_S = 3600
STEEP, FELT_S = 1.15, 0.2
"""A stage grows faster than the logbook where its time grows by more than this power of the entries; looked at from
so many seconds on, where the fixed part no longer hides it."""
FILE = BUILD / "growth.json"
Point = dict[str, Any]


def measured(script: str, tanks: int, days: int) -> dict[str, float]:
    """Return what a script of benchmarks/growth measured in a process of its own."""
    command = [sys.executable, str(HERE / "growth" / f"{script}.py"), str(tanks), str(days)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    if done.returncode:
        raise SystemExit(f"{tanks} tanks, {days} days: {done.stderr.strip()[-600:]}")
    found: dict[str, float] = json.loads(done.stdout)
    return found


def add(points: list[Point], tanks: int, days: int, found: dict[str, float]) -> None:
    """Put what was measured of one size among the points, and keep all of them."""
    at = next((one for one in points if (one["tanks"], one["days"]) == (tanks, days)), None)
    if at is None:
        at = {"tanks": tanks, "days": days}
        points.append(at)
    at |= found
    points.sort(key=lambda one: (one["tanks"], one["days"]))
    BUILD.mkdir(exist_ok=True)
    FILE.write_text(json.dumps(points, indent=1) + "\n", encoding="utf-8")


def power(points: Sequence[Point], stage: str, along: str) -> float | None:
    """Return by which power of the entries a stage grows between the two largest sizes along days or tanks.

    None where fewer than two sizes differ in that only, or the larger takes too little to tell.
    """
    other = "tanks" if along == "days" else "days"
    best: tuple[float, float] | None = None
    for small in points:
        for large in points:
            if stage not in small or stage not in large or small[other] != large[other] or large[stage] < FELT_S:
                continue
            if small[along] < large[along] and small[stage] > 0:
                ratio = large[along] / small[along]
                found = math.log(large[stage] / small[stage]) / math.log(ratio)
                best = max(best or (0.0, 0.0), (large[along] * small[along] * large[other], found))
    return None if best is None else best[1]


def growth_rows(points: Sequence[Point]) -> list[Row]:
    """Return one row for each stage: its time at the largest size measured, and how it grows with days and tanks."""
    rows = []
    for stage in TIMES:
        with_it = [one for one in points if stage in one]
        if not with_it:
            continue
        largest = max(with_it, key=lambda one: one["tanks"] * one["days"])
        grown = {along: power(points, stage, along) for along in ("days", "tanks")}
        steep = max((one for one in grown.values() if one is not None), default=0.0)
        words = ", ".join(f"{along}^{one:.2f}" if one is not None else f"{along}: -" for along, one in grown.items())
        plain = largest.get("plain read of all rows")
        rows.append(
            row(
                f"{stage}, {largest['tanks']} tanks, {largest['days']} days", largest[stage], "s",
                reference="a plain SQLite read of all rows" + (f": {plain:.3g} s" if plain else ""),
                limit=f"grows by at most entries^{STEEP}", holds=steep <= STEEP, aim=True,
                source=f"processor time, in this run; grows as {words}",
                **({"ratio": largest[stage] / plain} if plain else {}),
            )
        )  # fmt: skip
    return rows


def table(points: Sequence[Point]) -> str:
    """Return all points as a Markdown table."""
    names = ("entries", *TIMES, "memory, MB", "memory with fit, MB", "file, MB")
    head = [f"{one['tanks']} × {one['days']:,}" for one in points]
    lines = ["| tanks × days | " + " | ".join(head) + " |", "|---|" + "---:|" * len(head)]
    for name in names:
        cells = [_shown(one.get(name), name) for one in points]
        lines.append(
            f"| {name if (',' in name and 'MB' in name) or name == 'entries' else name + ', s'} | "
            + " | ".join(cells)
            + " |"
        )
    return "\n".join(lines) + "\n"


def _shown(value: float | None, name: str) -> str:
    if value is None:
        return "·"
    if name == "entries" or "memory" in name:
        return f"{value:,.0f}"
    return f"{value:.1f}" if value >= 10 or "MB" in name else f"{value:.2g}"


def finish_growth(points: Sequence[Point]) -> None:
    """Draw the chart and write the table."""
    from littoral.publish.draw import to_svg

    BUILD.mkdir(exist_ok=True)
    (BUILD / "growth.svg").write_text(to_svg(growth_chart(points)), encoding="utf-8")
    (BUILD / "growth.md").write_text(table(points), encoding="utf-8")


def main(asked: Sequence[str]) -> int:
    points: list[Point] = json.loads(FILE.read_text(encoding="utf-8")) if FILE.exists() and asked else []
    sizes = [tuple(int(part) for part in one.removeprefix("fit:").split("x")) for one in asked]
    every = [("point", *size) for size in SIZES] + [("fitted", *size) for size in FITTED]
    for script, tanks, days in (
        [("fitted" if one.startswith("fit:") else "point", *size) for one, size in zip(asked, sizes, strict=True)]
        if asked
        else every
    ):
        print(f"… {script}: {tanks} tanks, {days} days", file=sys.stderr, flush=True)
        add(points, tanks, days, measured(script, tanks, days))
    finish_growth(points)
    print(table(points))
    return finish("growth-rows", growth_rows(points))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
