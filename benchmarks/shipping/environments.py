"""Throw-away environments: made by uv, from the locked requirements or from what a resolver finds."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

CANDIDATES = ("3.11", "3.12", "3.13", "3.14", "3.15")


def uv(*words: str, cwd: Path | None = None) -> str:
    """Run uv and return what it printed; its own words are raised where it fails."""
    command = shutil.which("uv", path=f"{Path(sys.executable).parent}{os.pathsep}{os.environ.get('PATH', '')}")
    if command is None:
        raise RuntimeError("uv is not installed; it is in requirements/proof.txt")
    done = subprocess.run([command, *words], cwd=cwd, capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError(f"uv {' '.join(words)}: {done.stderr.strip()[-2000:]}")
    return done.stdout


def pythons_here() -> dict[str, str]:
    """Return the interpreters on this machine, version → path; pre-releases and what is not installed are left out."""
    found = {}
    for version in CANDIDATES:
        for path in _named(version):
            said = subprocess.run([path, "-c", "import sys; print(sys.version_info.releaselevel)"], capture_output=True)
            if said.stdout.strip() == b"final":
                found[version] = path
                break
    return found


def _named(version: str) -> list[str]:
    """Where uv knows a version, and where pyenv keeps its own, which uv does not look at."""
    try:
        known = [uv("python", "find", "--no-python-downloads", version).strip()]
    except RuntimeError:
        known = []
    kept = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    return known + [str(path) for path in sorted(kept.glob(f"{version}.*/bin/python"))]


def environment(folder: Path, python: str = sys.executable) -> str:
    """Make an empty environment and return the path of its Python."""
    uv("venv", "--quiet", "--no-python-downloads", "--python", python, str(folder))
    return str(folder / "bin" / "python")


def install(python: str, *words: str, cwd: Path | None = None) -> None:
    """Install into the environment of `python`."""
    uv("pip", "install", "--quiet", "--python", python, *words, cwd=cwd)


def run(python: str, words: Sequence[str], cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run a Python of one of these environments with nothing of ours on its path."""
    ours = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV")
    clean = {key: value for key, value in os.environ.items() if key not in ours} | {"OMP_NUM_THREADS": "1"}
    return subprocess.run([python, *words], cwd=cwd, env=clean, capture_output=True, text=True)
