"""Second half of `make proof`: packages, versions, licences, coverage and mutants → build/shipped.json.

Name parts to run only those: `python benchmarks/shipped.py licences built`.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, finish
from shipping.built import built_rows
from shipping.covered import coverage_rows
from shipping.licences import licence_rows
from shipping.mutants import mutant_rows
from shipping.versions import version_rows

PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    "licences": licence_rows,
    "built": built_rows,
    "versions": version_rows,
    "coverage": coverage_rows,
    "mutants": mutant_rows,
}


def main(wanted: list[str]) -> int:
    if unknown := [name for name in wanted if name not in PARTS]:
        print(f"No part is called {', '.join(unknown)}; there are {', '.join(PARTS)}.")
        return 2
    rows: list[Row] = []
    for name in wanted or list(PARTS):
        print(f"… {name}", file=sys.stderr, flush=True)
        rows += PARTS[name]()
    return finish("shipped", rows)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
