"""Faults run in a process of their own, which may fork: a process with threads should not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

RAM = Path("/dev/shm")


def run_apart(module: str, *arguments: object) -> Any:
    """Run `python -m faults.<module>` and return the JSON that it prints; its errors are shown where it fails."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one)}
    command = [sys.executable, "-m", f"faults.{module}", *(str(one) for one in arguments)]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    if done.returncode != 0:
        raise AssertionError(f"{' '.join(command)} failed:\n{done.stderr[-4000:]}")
    return json.loads(done.stdout)


def fast_folder() -> str | None:
    """Return a folder in memory where there is one: nothing here is about the disk's own speed."""
    return str(RAM) if os.access(RAM, os.W_OK) else None
