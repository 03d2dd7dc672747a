"""The tests under other versions: each Python on this machine, and the lowest versions that pyproject.toml allows."""

from __future__ import annotations

import re
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from rows import Row, row

from shipping.environments import environment, install, pythons_here, run, uv
from shipping.tree import copy_tree

ROOMS = ("quantities", "chemistry", "imaging", "stats", "feeding", "tank", "trial", "logbook", "findings")
"""Tests run under each set of versions: the rooms below the doors; the doors' tests drive a browser and servers."""
TOOLS = ("pytest", "pytest-timeout", "pytest-xdist", "hypothesis")


def passed(python: str, tree: Path, rooms: Sequence[str] = ROOMS) -> tuple[int, int, str]:
    """Run the rooms' tests; returns how many passed, how many failed or broke, and the last words."""
    where = [f"tests/{room}" for room in rooms]
    quick = ["-q", "-n", "2", "-m", "not slow and not real", "-p", "no:cacheprovider"]
    done = run(python, ["-m", "pytest", *quick, *where], tree)
    last = done.stdout.strip().splitlines()[-1:] or [done.stderr[-300:]]
    counts = {word: int(number) for number, word in re.findall(r"(\d+) (passed|failed|error)", last[0])}
    bad = counts.get("failed", 0) + counts.get("error", 0)
    return counts.get("passed", 0), bad if counts else 1, last[0] if done.returncode == 0 else done.stdout[-1500:]


def version_rows() -> Iterator[Row]:
    """One row for each Python here with the locked versions, and one for the lowest versions allowed."""
    with tempfile.TemporaryDirectory() as made:
        tree = copy_tree(Path(made) / "tree")
        for version, path in pythons_here().items():
            python = environment(Path(made) / version, path)
            install(python, "--require-hashes", "-r", "requirements/dev.txt", cwd=tree)
            install(python, "--no-deps", "-e", ".", cwd=tree)
            yield tests_row(f"Python {version}, locked versions", python, tree)
        python = environment(Path(made) / "lowest")
        wanted = Path(made) / "lowest.txt"
        wanted.write_text(lowest(tree))
        install(python, "-r", str(wanted), cwd=tree)
        install(python, "--no-deps", "-e", ".", cwd=tree)
        yield tests_row(f"Python {sys.version_info[0]}.{sys.version_info[1]}, lowest versions allowed", python, tree)


def lowest(tree: Path) -> str:
    """Return pins: the lowest version of each direct dependency, and of the tests' tools what fits."""
    compiled = ("pip", "compile", "-q", "--no-header")
    ours = uv(*compiled, "--resolution", "lowest-direct", "--extra", "all", "pyproject.toml", cwd=tree)
    pins = tree.parent / "pins.txt"
    pins.write_text(ours)
    tools = tree.parent / "tools.in"
    tools.write_text("\n".join([*TOOLS, *test_references(tree)]) + "\n")
    return ours + "\n" + uv(*compiled, "-c", str(pins), str(tools), cwd=tree)


def test_references(tree: Path) -> list[str]:
    """The outside references that the tests of these rooms import, as the development group names them."""
    import tomllib

    group = tomllib.loads((tree / "pyproject.toml").read_text())["dependency-groups"]["dev"]
    left_out = ("mypy", "ruff", "import-linter", "playwright", "schemathesis", "frictionless", "pytest", "hypothesis")
    return [str(one) for one in group if not str(one).startswith(left_out)]


def tests_row(name: str, python: str, tree: Path) -> Row:
    good, bad, words = passed(python, tree)
    return row(
        f"tests of the rooms below the doors: {name}", float(good), "tests passed",
        reference="every test of these rooms", limit="none fails",
        holds=bad == 0 and good > 0, source=words, difference=float(-bad),
    )  # fmt: skip
