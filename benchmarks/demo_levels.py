"""The demo's levels against its truth: nitrate just before a water change, as known after 2, 4 and 6 weeks."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, row

from littoral.acts.see_levels import see_levels
from littoral.demo.nitrate import nitrate_before
from littoral.demo.story import tell

TRUTH = "truth of the demo (littoral.demo.nitrate)"


def level_rows(logbook: Path, seed: int) -> list[Row]:
    """One row for each tank and week: the width of the 90 % band, and whether it holds the truth.

    Single rows are aims, for a band of 90 in 100 may miss; all of one demo together may miss one in six.
    """
    seen = see_levels(logbook, now=datetime.now(UTC))
    story = tell(seed, days=int(seen.trial.length_days))
    rows, held = [], []
    for one in seen.estimates.narrowing:
        for week, day, known in zip(one.weeks, one.day, one.estimate, strict=True):
            true = nitrate_before(story, one.tank, day)
            holds = known.low_90 <= true <= known.high_90
            held.append(holds)
            rows.append(row(
                f"nitrate, {one.tank} tank, before the change of day {int(day)}, known after {week} weeks, seed {seed}",
                known.high_90 - known.low_90, "mg/L wide", reference=TRUTH, aim=True, holds=holds,
                limit=f"truth {true:.1f} within {known.low_90:.1f} to {known.high_90:.1f}",
                source="colour card once a week", difference=known.median - true,
            ))  # fmt: skip
    rows.append(row(
        f"levels of the demo, seed {seed}: share of 90 % bands that hold the truth", sum(held) / len(held), "share",
        reference=TRUTH, limit="at least 5 in 6", holds=sum(held) >= 5 * len(held) / 6, source="two tanks, three weeks",
        difference=sum(held) / len(held) - 0.9,
    ))  # fmt: skip
    return rows
