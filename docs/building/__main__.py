"""`python -m docs.building [OUT]`: made pages and pictures beside the written ones, then the site, without the network.

Where Chromium, a chart library or the film's are absent, the build says so and leaves those pictures out. A warning of
Sphinx is an error.
"""

from __future__ import annotations

import argparse
import shutil
import sys
from pathlib import Path

from docs.building.made_pages import DOCS, made_pages
from docs.building.pictures import pictures
from sphinx.cmd.build import main as build


def main() -> int:
    """Build the site and return the exit code."""
    asked = argparse.ArgumentParser(prog="python -m docs.building", description=__doc__)
    asked.add_argument("out", nargs="?", type=Path, default=Path("build/docs"))
    asked.add_argument("--without-pictures", action="store_true", help="leave charts and pictures of pages out")
    told = asked.parse_args()
    source: Path = told.out.with_name(f"{told.out.name}-source")
    shutil.rmtree(source, ignore_errors=True)
    shutil.copytree(DOCS, source, ignore=shutil.ignore_patterns("building", "__pycache__"))
    for name, text in made_pages().items():
        (source / name).parent.mkdir(parents=True, exist_ok=True)
        (source / name).write_text(text, encoding="utf-8")
    drawn = source / "pictures" / "made"
    drawn.mkdir(parents=True)
    if not told.without_pictures:
        pictures(drawn, work=told.out.with_name(f"{told.out.name}-demo"))
    shutil.rmtree(told.out, ignore_errors=True)
    doctrees = told.out.with_name(f"{told.out.name}-doctrees")
    shutil.rmtree(doctrees, ignore_errors=True)
    code = build(["-q", "-W", "--keep-going", "-n", "-b", "html", "-d", str(doctrees), str(source), str(told.out)])
    if code == 0:
        print(f"{told.out / 'index.html'}")
    return code


if __name__ == "__main__":
    sys.exit(main())
