"""Puts what was measured (build/growth.md, build/growth.svg) into docs/reference/capacity.md, between its two marks.

Run: python benchmarks/growth/page.py, after `python benchmarks/growth_table.py`.
"""

from __future__ import annotations

import shutil
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE, PICTURE = ROOT / "docs" / "reference" / "capacity.md", ROOT / "docs" / "pictures" / "growth.svg"
BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"

if __name__ == "__main__":
    before, _, rest = PAGE.read_text(encoding="utf-8").partition(BEGIN)
    _, mark, after = rest.partition(END)
    if not mark:
        raise SystemExit(f"{PAGE.name} has lost its marks {BEGIN} and {END}.")
    tables = (ROOT / "build" / "growth.md").read_text(encoding="utf-8").strip()
    PAGE.write_text(f"{before}{BEGIN}\n{tables}\n{END}{after}", encoding="utf-8")
    shutil.copyfile(ROOT / "build" / "growth.svg", PICTURE)
