"""Tens of thousands of spoilt photos, tables, trial files and forms -> build/bad_inputs.json.

None may end in anything but an answer or a refusal in plain words, none may write what nobody confirmed. Those that do
are kept in build/bad_inputs/ and belong into tests/faults/bad_inputs/, where the tests try them for ever.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from faults.apart import run_apart
from rows import BUILD, Row, finish, row

COUNTS = {"photo": 8000, "table": 6000, "trial file": 4000, "form": 3000, "request": 3000}
CHUNK = 1000


def tried_row(kind: str, count: int) -> Row:
    """Try the cases of one kind, each chunk in a process of its own."""
    taken = refused = 0
    wrong: list[str] = []
    for first in range(0, count, CHUNK):
        try:
            found = run_apart("bad", kind, first, min(first + CHUNK, count), BUILD / "bad_inputs")
        except AssertionError as error:  # the whole process went down
            wrong.append(f"{kind} {first}-{first + CHUNK}: {error}")
            continue
        taken, refused = taken + found["taken"], refused + found["refused"]
        wrong += found["wrong"]
    for one in wrong[:20]:
        print(one)
    return row(
        f"spoilt inputs: {kind}", len(wrong), "crashes, failures or unconfirmed writes",
        reference="an answer or a refusal for each", limit="0", holds=not wrong,
        source=f"{count} tried: {taken} taken, {refused} refused",
    )  # fmt: skip


def main() -> int:
    """Try all kinds, print and write the rows."""
    return finish("bad_inputs", [tried_row(kind, count) for kind, count in COUNTS.items()])


if __name__ == "__main__":
    sys.exit(main())
