"""How long the page of levels takes to answer a what-if: python benchmarks/what_if_speed.py LOGBOOK [TRIAL]."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import numpy as np

from littoral.acts.choosing import chosen_trial
from littoral.acts.levels_page import view_levels
from littoral.acts.other_levels import other_levels
from littoral.logbook.book import Logbook

ROUNDS = 20
WANTED_MS = 200.0


def main(folder: Path, key: str | None) -> None:
    """Print the first answer's time and the quantiles of `ROUNDS` more, for a dose and for a change."""
    with Logbook.open(folder) as book:
        key = chosen_trial(book, key)
    begun = time.perf_counter()
    page = view_levels(folder, key, now=datetime.now(UTC))
    print(f"page: {time.perf_counter() - begun:.1f} s")
    assert page.estimates is not None, page.why_not
    for tank in page.tanks:
        if not tank.levers:
            continue
        dose = {lever.at: 1.5 * lever.planned for lever in tank.levers if lever.kind == "dose"}
        for name, doses, shares in (("one dose", {0: dose[0]}, {}), ("all doses, half the change", dose, {0: 0.2})):
            for limits in (False, True):
                ask = partial(
                    other_levels, page.trial, page.estimates, tank=tank.key, planned=tank.planned, doses=doses,
                    shares=shares, limits=limits,
                )  # fmt: skip
                ms = np.array([_ms(ask) for _ in range(ROUNDS)])
                low, high = np.quantile(ms, [0.5, 0.95])
                said = "" if limits else f" (wanted: {WANTED_MS:.0f})"
                print(
                    f"{tank.name}, {name}{', with limits' if limits else ''}: {low:.0f} ms, 95 %: {high:.0f} ms{said}"
                )


def _ms(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return 1000 * (time.perf_counter() - begun)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else None)
