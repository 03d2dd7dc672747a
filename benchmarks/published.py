"""`make published`: every outside check as a row, collected from published_rows/."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from rows import HERE, Row, finish, load


def main() -> int:
    """Collect, print and write all rows."""
    rows: list[Row] = []
    for file in sorted((HERE / "published_rows").glob("[a-z]*.py")):
        rows.extend(load(file).rows())
    return finish("published", rows)


if __name__ == "__main__":
    sys.exit(main())
