"""One kind of work, recorded once and cut off after each thing it did to the disk; and the sum of what was lost."""

from __future__ import annotations

import random
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from faults.disk_log import Op, record
from faults.left import Left, what_is_left
from faults.power_cut import Unsynced, acknowledged, write_state
from littoral.trial.entries import Entry

FOLDER = "logbook"


@dataclass(frozen=True, slots=True)
class Tried:
    """Faults of one sort: how many were tried, what was acknowledged in all, and what was lost or wrong of it."""

    what: str
    faults: int
    acknowledged: int
    lost: tuple[str, ...]
    wrong: tuple[str, ...]


def summed(what: str, found: Sequence[Left]) -> Tried:
    """Return the sum over faults of one sort."""
    return Tried(
        what,
        len(found),
        sum(one.acknowledged for one in found),
        tuple(name for one in found for name in one.lost),
        tuple(text for one in found for text in one.wrong),
    )


def cut_everywhere(
    kind: str,
    folder: Path,
    *,
    unsynced: Sequence[Unsynced],
    every: int = 1,
    seed: int = 0,
    before: Path | None = None,
    started_with: Mapping[str, Entry] | None = None,
    weaken: str = "",
) -> list[Left]:
    """Record one kind of work, and check what each cut after every `every`-th operation leaves, once per `unsynced`.

    `folder` is empty and ours; `before` is a folder whose content is there, and sure, when the work begins.
    """
    real = folder / "real"
    shutil.copytree(before, real) if before is not None else real.mkdir()
    ops = record(kind, real / FOLDER, folder / "strace.log", weaken=weaken)
    compare(ops, real, folder / "replayed", before)
    found = []
    for cut in range(0, len(ops) + 1, every):
        for number, choice in enumerate(unsynced):
            state = folder / f"cut-{cut}-{number}"
            rng = random.Random(f"{seed} {kind} {cut} {number}")
            write_state(ops[:cut], state, unsynced=choice, rng=rng, before=before)
            found.append(what_is_left(state / FOLDER, acknowledged(ops[:cut]), started_with=started_with))
            shutil.rmtree(state)
    return found


def compare(ops: Sequence[Op], real: Path, replayed: Path, before: Path | None) -> None:
    """Make sure that the record is whole: played again to its end it gives the very files that the work left."""
    write_state(ops, replayed, unsynced="kept", rng=random.Random(0), before=before)
    first, second = (
        {str(path.relative_to(root)): path.read_bytes() for path in root.rglob("*") if path.is_file()}
        for root in (real, replayed)
    )
    if first != second:
        differ = sorted(name for name in first.keys() | second.keys() if first.get(name) != second.get(name))
        raise AssertionError(f"the record of what happened to the disk is not whole: {differ}")
