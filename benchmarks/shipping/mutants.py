"""Mutation testing of the pure rooms: a drawn sample of small faults, each put in alone; do the room's tests notice?

All mutants of 20,000 lines would take days, so a sample is drawn in each room; the score has its binomial interval
(Wilson 1927). Survivors are written to build/mutants.json with their change, to be read.
"""

from __future__ import annotations

import json
import math
import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from rows import BUILD, Row, row

from shipping.tree import copy_tree

ROOMS = ("quantities", "chemistry", "stats", "feeding", "tank", "imaging", "trial")
DRAWN = 40
"""Mutants a room: the score then has an interval of about ±0.13; more with LITTORAL_MUTANTS."""
CONFIG = """
[tool.mutmut]
source_paths = ["src"]
only_mutate = ["src/littoral/{room}/*"]
pytest_add_cli_args_test_selection = ["tests/{room}"]
pytest_add_cli_args = ["-p", "no:cacheprovider", "-n0", "-m", "not slow and not real", "-x"]
also_copy = ["benchmarks", "README.md", "docs", "src"]
use_git_change_detection = false
track_dependencies = false
"""
CAUGHT = frozenset({1, 3, 24, 36, 152, 255, -24, -11, -9})
"""What mutmut records for a mutant that a test, a timeout or a crash gave away; 0 is a survivor, 33 has no test."""


def mutant_rows() -> Iterator[Row]:
    """One row a room: the share of drawn mutants that its tests catch."""
    count = int(os.environ.get("LITTORAL_MUTANTS", DRAWN))
    survivors: dict[str, str] = {}
    for room in ROOMS:
        with tempfile.TemporaryDirectory() as made:
            tree = copy_tree(Path(made) / "tree")
            with (tree / "pyproject.toml").open("a") as config:
                config.write(CONFIG.format(room=room))
            caught, all_made, lived = sampled(tree, room, count)
            survivors |= lived
        of = caught + len(lived)
        low, high = wilson(caught, of)
        yield row(
            f"mutants of {room} that its tests catch", 100 * caught / max(of, 1), "%",
            reference=f"{of} drawn of {all_made}", limit="at least 70 %", holds=caught >= 0.7 * of, aim=True,
            source=f"mutmut; 95 % interval {100 * low:.0f} to {100 * high:.0f} %",
        )  # fmt: skip
    BUILD.mkdir(exist_ok=True)
    (BUILD / "mutants.json").write_text(json.dumps(survivors, indent=1, ensure_ascii=False) + "\n")


def sampled(tree: Path, room: str, count: int) -> tuple[int, int, dict[str, str]]:
    """Make all mutants of a room, run `count` of them; returns caught, made, and survivors with their change."""
    mutmut(tree, "run", f"littoral.{room}.no_such_name*", may_fail=True)
    names = sorted(recorded(tree))
    drawn = random.Random(f"mutants of {room}").sample(names, min(count, len(names)))
    mutmut(tree, "run", "--max-children", "2", *drawn)
    found = recorded(tree)
    lived = {name: mutmut(tree, "show", name) for name in drawn if found[name] not in CAUGHT}
    return len(drawn) - len(lived), len(names), lived


def recorded(tree: Path) -> dict[str, int | None]:
    """What mutmut wrote down: name of each mutant → how its tests ended."""
    codes: dict[str, int | None] = {}
    for file in (tree / "mutants").rglob("*.meta"):
        codes |= json.loads(file.read_text())["exit_code_by_key"]
    return codes


def mutmut(tree: Path, *words: str, may_fail: bool = False) -> str:
    """Run mutmut in a copy of the project."""
    clean = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"} | {"OMP_NUM_THREADS": "1"}
    done = subprocess.run(
        [str(Path(sys.executable).parent / "mutmut"), *words], cwd=tree, env=clean, capture_output=True, text=True
    )
    if done.returncode and not may_fail:
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    return done.stdout


def wilson(hits: int, of: int, z: float = 1.959964) -> tuple[float, float]:
    """Return the score interval of a share (Wilson 1927)."""
    if of == 0:
        return 0.0, 1.0
    share, shrink = hits / of, 1 + z * z / of
    centre = (share + z * z / (2 * of)) / shrink
    half = z / shrink * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return centre - half, centre + half
