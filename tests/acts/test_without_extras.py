"""The core without its extras: what needs none of them works, the rest names the extra that brings what it needs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

BLOCKED = """
import sys
from importlib.abc import MetaPathFinder

class Absent(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {"cv2", "PIL", "av", "vl_convert"}:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        return None

sys.meta_path.insert(0, Absent())
"""
PAGE = """
import asyncio
from pathlib import Path
import httpx
from littoral.web.app import create_app

async def ask():
    app = create_app(Path(sys.argv[1]), port=80)
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://localhost") as client:
        return await client.get("/trial/lean", headers={"accept": "text/html"})

answer = asyncio.run(ask())
print(answer.status_code, answer.text)
"""
COMMAND = "from littoral.cli.main import main; main()"


def without_extras(script: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", BLOCKED + script, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def lean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lean") / "trial"
    for arguments in (
        ("init", folder, "--title", "Lean", "--start", "2026-03-02"),
        ("check", folder / "trial.toml"),
        ("import", folder / "trial.toml"),
        ("answer", folder / "logbook"),
    ):
        done = without_extras(COMMAND, *arguments)
        assert done.returncode == 0, done.stderr
    return folder


def test_the_page_opens_and_says_how_charts_come(lean: Path) -> None:
    done = without_extras(PAGE, lean / "logbook")
    assert done.stdout.startswith("200 "), done.stdout + done.stderr
    assert "What one dose adds, mg/L" in done.stdout
    assert 'pip install "littoral[charts]"' in done.stdout


def test_publishing_names_the_extra(lean: Path, tmp_path: Path) -> None:
    done = without_extras(COMMAND, "publish", lean / "logbook", "--out", tmp_path)
    assert (done.returncode, done.stderr.splitlines()[-1]) == (
        1, 'vl-convert-python is not installed. pip install "littoral[charts]" brings it.'
    )  # fmt: skip


@pytest.mark.parametrize("command", ["check", "demo"])
def test_photos_name_the_extra(lean: Path, tmp_path: Path, command: str) -> None:
    photo = lean / "photos" / "left" / "2026-03-02.jpg"
    photo.write_bytes(b"\xff\xd8")
    arguments = {"check": (lean / "trial.toml",), "demo": ("--out", tmp_path / "demo")}[command]
    done = without_extras(COMMAND, command, *arguments)
    photo.unlink()
    assert done.returncode == 1
    assert 'is not installed. pip install "littoral[photos]" brings it.' in done.stderr
    assert "Traceback" not in done.stderr
