"""`littoral --help` starts without the heavy libraries: the import list is tested, not the time."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = {
    "numpy", "scipy", "cv2", "PIL", "altair", "vl_convert", "av", "sqlalchemy", "alembic", "pint", "molmass",
    "starlette", "uvicorn", "jinja2", "tree_sitter", "littoral.acts", "littoral.logbook", "littoral.imaging",
}  # fmt: skip
SCRIPT = """
import sys
sys.argv = ["littoral", *sys.argv[1:]]
from littoral.cli.main import main
try:
    main()
except SystemExit as stop:
    assert not stop.code, stop.code
print("\\nMODULES", *sorted(sys.modules))
"""


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["answer", "--help"]])
def test_help_imports_nothing_heavy(arguments: list[str]) -> None:
    done = subprocess.run([sys.executable, "-c", SCRIPT, *arguments], capture_output=True, text=True, check=True)
    modules = set(done.stdout.rsplit("MODULES", 1)[1].split())
    assert "typer" in modules
    assert modules & HEAVY == set()
