"""How far one machine goes: every stage at sizes from 2 tanks and 10 days to 100 tanks and 1,000 days.

Run: python benchmarks/growth_table.py [10x100 fit:2x30 photos:80...]; without sizes those of `SIZES`, `FITTED` and
`PHOTOS`. Each size is a process of its own (benchmarks/growth/); what is measured is added to build/growth.json as it
comes, drawn to build/growth.svg and written to build/growth.md. A size named again is measured again.
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
PHOTOS = (20, 80, 320)
SCRIPTS = {"": "point", "fit": "fitted", "photos": "photos"}
TIMES = (
    "import", "import again, nothing new", "plain read of all rows", "record an entry (clock)", "today's list",
    "answer", "page Today, p95", "page of the trial, first", "page of the trial, p95", "page of entries, p95",
    "start-up: littoral today", "fit, first", "fit, kept",
)  # fmt: skip
SIZED = ("memory, MB", "memory with fit, MB", "file, MB")
OF_PHOTOS = ("take in", "measure", "measured already", "measure one photo more")
LONGEST_S = 3600
STEEP, FELT_S = 1.15, 0.2
"""A stage grows faster than the logbook where its time grows by more than this power of the entries; looked at from
so many seconds on, where the fixed part no longer hides it."""
FILE = BUILD / "growth.json"
Point = dict[str, Any]


def measured(script: str, *size: int) -> dict[str, float]:
    """Return what a script of benchmarks/growth measured in a process of its own."""
    command = [sys.executable, str(HERE / "growth" / f"{script}.py"), *map(str, size)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    if done.returncode:
        raise SystemExit(f"{script} {size}: {done.stderr.strip()[-600:]}")
    found: dict[str, float] = json.loads(done.stdout)
    return found


def add(points: list[Point], found: Point) -> None:
    """Put what was measured of one size among the points, and keep all of them."""
    at = next((one for one in points if _size(one) == _size(found)), None)
    if at is None:
        points.append(found)
    else:
        at |= found
    points.sort(key=_size)
    BUILD.mkdir(exist_ok=True)
    FILE.write_text(json.dumps(points, indent=1) + "\n", encoding="utf-8")


def _size(one: Point) -> tuple[int, int, int]:
    return one.get("photos", 0), one.get("tanks", 0), one.get("days", 0)


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


def tables(points: Sequence[Point]) -> str:
    """Return all points as two Markdown tables: logbooks by tanks and days, views by photos."""
    logbooks, views = ([one for one in points if key in one] for key in ("tanks", "photos"))
    return (
        _table(
            "tanks × days",
            [f"{one['tanks']} × {one['days']:,}" for one in logbooks],
            logbooks,
            ("entries", *TIMES, *SIZED),
        )
        + "\n"
        + _table("photos of one view", [f"{one['photos']:,}" for one in views], views, (*OF_PHOTOS, "memory, MB"))
    )


def _table(title: str, head: Sequence[str], points: Sequence[Point], names: Sequence[str]) -> str:
    lines = [f"| {title} | {' | '.join(head)} |", "|---|" + "---:|" * len(head)]
    for name in names:
        unit = "" if name == "entries" or "MB" in name else ", s"
        lines.append(f"| {name}{unit} | {' | '.join(_shown(one.get(name), name) for one in points)} |")
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

    logbooks = [one for one in points if "tanks" in one]
    BUILD.mkdir(exist_ok=True)
    (BUILD / "growth.svg").write_text(to_svg(growth_chart(logbooks)), encoding="utf-8")
    (BUILD / "growth.md").write_text(tables(points), encoding="utf-8")


def all_rows(asked: Sequence[str] = ()) -> list[Row]:
    """Measure sizes (those of the head of this file unless some are asked for), and return a row for each stage."""
    points: list[Point] = json.loads(FILE.read_text(encoding="utf-8")) if FILE.exists() and asked else []
    every = [f"{tanks}x{days}" for tanks, days in SIZES]
    every += [f"fit:{tanks}x{days}" for tanks, days in FITTED] + [f"photos:{count}" for count in PHOTOS]
    for one in asked or every:
        print(f"… {one}", file=sys.stderr, flush=True)
        kind, _, text = one.rpartition(":")
        size = tuple(int(part) for part in text.split("x"))
        names = ("photos",) if kind == "photos" else ("tanks", "days")
        add(points, dict(zip(names, size, strict=True)) | measured(SCRIPTS[kind], *size))
    finish_growth(points)
    return growth_rows([one for one in points if "tanks" in one]) + photo_rows(
        [one for one in points if "photos" in one]
    )


def photo_rows(points: Sequence[Point]) -> list[Row]:
    """Return one row for each stage of a view's photos, at the most photos measured, by the power it grows with."""
    if len(points) < 2:
        return []
    few, many = points[-2:]
    rows = []
    for stage in OF_PHOTOS:
        steep = math.log(many[stage] / few[stage]) / math.log(many["photos"] / few["photos"])
        rows.append(
            row(
                f"{stage}, {many['photos']} photos of one view", many[stage], "s",
                reference=f"{few['photos']} photos: {few[stage]:.3g} s", limit=f"grows by at most photos^{STEEP}",
                holds=steep <= STEEP or many[stage] < FELT_S, source=f"processor time, in this run; photos^{steep:.2f}",
                ratio=many[stage] / few[stage], aim=True,
            )
        )  # fmt: skip
    return rows


def main(asked: Sequence[str]) -> int:
    """Measure, print and write."""
    rows = all_rows(asked)
    print((BUILD / "growth.md").read_text(encoding="utf-8"))
    return finish("growth-rows", rows)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
