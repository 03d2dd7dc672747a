"""Wheel and sdist: built twice to the same bytes, installed alone, and made to do the main job."""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

from rows import Row, row

from shipping.environments import environment, install, run
from shipping.tree import copy_tree, tracked_files

SOURCE_DATE = "1767225600"
"""2026-01-01; any fixed moment does (reproducible-builds.org, SOURCE_DATE_EPOCH)."""


def build(tree: Path, out: Path) -> dict[str, Path]:
    """Build the sdist, and the wheel out of the sdist, from a clean copy; returns suffix → file."""
    done = subprocess.run(
        [sys.executable, "-m", "build", "--installer", "uv", "--outdir", str(out), str(tree)],
        env={"PATH": f"{Path(sys.executable).parent}:/usr/bin:/bin", "SOURCE_DATE_EPOCH": SOURCE_DATE, **uv_settings()},
        capture_output=True, text=True,
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(done.stdout[-1000:] + done.stderr[-2000:])
    return {"wheel": next(out.glob("*.whl")), "sdist": next(out.glob("*.tar.gz"))}


def uv_settings() -> dict[str, str]:
    """What uv and pip need to know of this machine, handed on."""
    import os

    return {key: value for key, value in os.environ.items() if key.startswith(("UV_", "PIP_", "HOME", "SSL_"))}


def digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def packed(wheel: Path, sdist: Path) -> tuple[set[str], set[str]]:
    """The package files in the wheel and in the sdist, as paths under src/."""
    with zipfile.ZipFile(wheel) as archive:
        in_wheel = {f"src/{name}" for name in archive.namelist() if name.startswith("littoral/")}
    with tarfile.open(sdist) as archive_:
        names = {name.partition("/")[2] for name in archive_.getnames()}
    return in_wheel, names


def built_rows() -> Iterator[Row]:
    """Same bytes twice, every file aboard, and both packages work alone."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        first = build(copy_tree(folder / "one"), folder / "first")
        second = build(copy_tree(folder / "another place"), folder / "second")
        for kind in ("wheel", "sdist"):
            same = digest(first[kind]) == digest(second[kind])
            yield row(
                f"{kind} built twice, in two folders", float(same), "same bytes", reference="the first build",
                limit="the same SHA-256", holds=same, source=first[kind].name,
            )  # fmt: skip
        ours = {str(file) for file in tracked_files() if str(file).startswith("src/littoral/")}
        in_wheel, in_sdist = packed(first["wheel"], first["sdist"])
        for kind, held in (("wheel", in_wheel), ("sdist", in_sdist)):
            missing = ours - held
            yield row(
                f"package files missing from the {kind}", float(len(missing)), "files", reference="git ls-files",
                limit="none", holds=not missing, source=", ".join(sorted(missing)[:3]) or f"{len(ours)} files",
            )  # fmt: skip
        for kind in ("wheel", "sdist"):
            yield works_alone(kind, first[kind], folder / f"bare {kind}")


def works_alone(kind: str, file: Path, folder: Path) -> Row:
    """Install one package with its extras from the registry alone, and run the demo's whole job with it."""
    python = environment(folder)
    install(python, f"littoral[all] @ {file.as_uri()}")
    done = run(python, ["-m", "littoral", "demo", "--out", str(folder / "demo")], folder)
    sheet = list((folder / "demo").rglob("sheet.html"))
    holds = done.returncode == 0 and bool(sheet)
    return row(
        f"{kind} in a bare environment does the main job", float(holds), "demo made", reference="exit code 0, a sheet",
        limit="works", holds=holds, source=file.name if holds else (done.stdout + done.stderr)[-300:],
    )  # fmt: skip
