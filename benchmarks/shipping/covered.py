"""Lines and branches that the tests of each room reach."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from rows import Row, row

from shipping.tree import PROJECT

PURE = ("quantities", "chemistry", "imaging", "stats", "feeding", "tank", "trial")
ROOMS = (*PURE, "logbook", "findings", "publish", "acts", "cli", "web")


def coverage_rows() -> Iterator[Row]:
    """Run all quick tests but the browser's under coverage.py, branches too; one row a room."""
    with tempfile.TemporaryDirectory() as made:
        report = Path(made) / "coverage.json"
        done = subprocess.run(
            [
                sys.executable, "-m", "pytest", "-q", "-n", "2", "-m", "not slow and not browser",
                "-p", "no:cacheprovider",
                "--cov=littoral", "--cov-branch", f"--cov-report=json:{report}", "--cov-report=", "tests",
            ],
            cwd=PROJECT, env=os.environ | {"COVERAGE_FILE": f"{made}/data"}, capture_output=True, text=True,
        )  # fmt: skip
        if not report.exists():
            raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
        files = json.loads(report.read_text())["files"]
    reached: dict[str, int] = defaultdict(int)
    there: dict[str, int] = defaultdict(int)
    for name, found in files.items():
        room = Path(name).parts[2] if len(Path(name).parts) > 3 else "errors"
        total = found["summary"]
        reached[room] += total["covered_lines"] + total["covered_branches"]
        there[room] += total["num_statements"] + total["num_branches"]
    for room in ROOMS:
        share = 100 * reached[room] / there[room]
        least = 90 if room in PURE else 80
        yield row(
            f"lines and branches of {room} that tests reach", share, "%", reference="coverage.py, branch mode",
            limit=f"at least {least} %", holds=share >= least, aim=True, source=f"{there[room]} lines and branches",
        )  # fmt: skip
