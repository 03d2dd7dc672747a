"""Faults tried on a logbook, what had been acknowledged, and what was lost of it -> build/faults.json.

Power cuts are played from a record of what the real program did to the disk (`faults.disk_log`, needs strace); kills
are real ones. The rows that take a promise back show that the check finds what is lost then.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from faults.apart import fast_folder, run_apart
from faults.clients import Crowd
from faults.cuts import FOLDER, Tried, cut_everywhere, summed
from faults.disk_log import can_record
from faults.earlier import write_earlier
from faults.filled import entries
from faults.power_cut import Unsynced
from rows import Row, finish, row

from littoral.logbook.schema import KNOWN

KINDS = ("entries", "photos", "backups", "migration")
CUTS: dict[str, tuple[Unsynced, ...]] = {
    "unsynced writes kept": ("kept",),
    "unsynced writes dropped": ("dropped",),
    "unsynced writes torn at random": ("random", "random"),
}
WEAKENED = (("entries", "FULL"), ("photos", "no sync of files"), ("photos", "no sync of folders"))
CROWDS = ((2, 16, 1000), (32, 1, 20))
"""Processes, threads in each, entries of each thread."""


def power_cuts() -> Iterator[Tried]:
    """Cut each kind of work after each thing that it did to the disk."""
    for kind in KINDS:
        for what, unsynced in CUTS.items():
            with tempfile.TemporaryDirectory(dir=fast_folder()) as made:
                folder = Path(made)
                before, started_with = None, None
                if kind == "migration":
                    before, started_with = folder / "before", {one.id: one for one in entries()}
                    write_earlier(before / FOLDER, KNOWN[0])
                every = 2 if kind == "backups" else 1
                cuts = cut_everywhere(
                    kind, folder, unsynced=unsynced, every=every, before=before, started_with=started_with
                )
                yield summed(f"power cut, {what}: {kind}", cuts)


def kills() -> Iterator[Tried]:
    """Kill each kind of work at steps and at random."""
    for kind in KINDS:
        with tempfile.TemporaryDirectory() as folder:
            for said in run_apart("killed", kind, folder, 2, 60):
                yield Tried(**said)


def intake_row(count: int = 3000, moments: int = 6) -> Row:
    """Take thousands of small photos in and cut the power in the middle; then choose the same folder again."""
    with tempfile.TemporaryDirectory(dir=fast_folder()) as folder:
        done = run_apart("intake_cut", folder, count, moments)
    cuts = done["cuts"]
    bad = sum(len(one["lost"]) + len(one["half"]) + len(one["wrong"]) for one in cuts)
    again = ", ".join(f"{one['there']} kept and {one['again']} asked for again" for one in cuts)
    return row(
        f"power cut, unsynced writes dropped, torn or kept: {count} photos taken in", bad, "lost, half or wrong",
        reference="each file kept whole or asked for again", limit="0", holds=bad == 0,
        source=f"{len(cuts)} cuts, {sum(one['acknowledged'] for one in cuts)} acknowledged; {again}",
        faults=len(cuts), acknowledged=sum(one["acknowledged"] for one in cuts),
    )  # fmt: skip


def tried_row(tried: Tried) -> Row:
    """Return the row of faults of one sort."""
    bad = len(tried.lost) + len(tried.wrong)
    if bad:
        print(f"{tried.what}: lost {tried.lost[:5]}, wrong {tried.wrong[:3]}")
    return row(
        tried.what, bad, "lost or wrong", reference="all that was acknowledged", limit="0", holds=bad == 0,
        source=f"{tried.faults} faults, {tried.acknowledged} acknowledged", faults=tried.faults,
        acknowledged=tried.acknowledged,
    )  # fmt: skip


def weakened_rows() -> Iterator[Row]:
    """Take a promise back, and see the loss."""
    for kind, weaken in WEAKENED:
        with tempfile.TemporaryDirectory(dir=fast_folder()) as folder:
            tried = summed("", cut_everywhere(kind, Path(folder), unsynced=("dropped",), every=3, weaken=weaken))
        bad = len(tried.lost) + len(tried.wrong)
        yield row(
            f"the check sees a promise taken back ({weaken}): {kind}", bad, "lost or wrong", reference="a loss",
            limit="at least 1", holds=bad > 0, source=f"{tried.faults} faults, {tried.acknowledged} acknowledged",
        )  # fmt: skip


def crowd_rows() -> Iterator[Row]:
    """Let many clients in at once."""
    for processes, threads, count in CROWDS:
        with tempfile.TemporaryDirectory(dir=fast_folder()) as folder:
            found = Crowd(**run_apart("clients", folder, processes, threads, count))
        bad = found.lost + found.doubled + found.strange + len(found.wrong)
        where = "in memory" if fast_folder() else "on disk"
        yield row(
            f"{processes * threads} clients at once in {processes} processes, {count} entries each", bad,
            "lost, doubled or wrong", reference="all that was acknowledged", limit="0", holds=bad == 0,
            source=f"{found.acknowledged} acknowledged in {found.seconds:.0f} s {where}, told busy {found.busy} times",
        )  # fmt: skip


def main() -> int:
    """Try all faults, print and write the rows."""
    rows: list[Row] = []
    if can_record():
        rows += [tried_row(one) for one in power_cuts()]
        rows += weakened_rows()
        rows.append(intake_row())
    else:
        print(
            "power cuts: not tried, strace is missing or may not trace (on Debian and Ubuntu: apt-get install strace)"
        )
    rows += [tried_row(one) for one in kills()]
    rows += crowd_rows()
    return finish("faults", rows)


if __name__ == "__main__":
    sys.exit(main())
