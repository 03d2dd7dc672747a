"""A clean copy of the project: the files that are tracked, nothing that lies about."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

PROJECT = Path(__file__).parents[2]


def tracked_files() -> list[Path]:
    """Return the paths of all tracked files, relative to the project."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=PROJECT, check=True, capture_output=True).stdout
    return [Path(name) for name in listed.decode().split("\0") if name and (PROJECT / name).is_file()]


def copy_tree(target: Path) -> Path:
    """Copy every tracked file, as it stands on disk, to a new folder and return it."""
    for file in tracked_files():
        (target / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(PROJECT / file, target / file)
    return target
