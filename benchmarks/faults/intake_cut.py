"""The power cut while thousands of photos are taken in: each file ends kept whole, or is asked for again.

The real intake runs under strace (`faults.disk_log`); a disk whose power is cut (`faults.power_cut`) is then played at
several moments, with all that was not synced lost, torn or kept. On what is left the same folder is chosen again.

`python -m faults.intake_cut FOLDER COUNT MOMENTS` prints the sum as JSON.
"""

from __future__ import annotations

import json
import random
import shutil
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from faults.cuts import FOLDER, compare
from faults.disk_log import Op, record
from faults.many_photos import ENDS, NOW, TEXT, write_files
from faults.power_cut import Unsynced, acknowledged, write_state
from littoral.acts.photos.add_photos import add_photos, files_in
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.originals import sha256_of
from littoral.trial.written.reader import read_trial

PHOTOS = "photos"
UNSYNCED: tuple[Unsynced, ...] = ("dropped", "random", "kept")


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut: files acknowledged before it, those of them lost, originals that are half, and what came of all files.

    `again` counts files that were asked for and taken in again, `there` those that were kept; `wrong` is all else.
    """

    acknowledged: int
    lost: tuple[str, ...]
    half: tuple[str, ...]
    there: int
    again: int
    wrong: tuple[str, ...]


def cut_intake(
    folder: Path,
    *,
    count: int,
    moments: int = 0,
    unsynced: Sequence[Unsynced] = UNSYNCED,
    weaken: str = "",
    seed: int = 0,
) -> tuple[Cut, ...]:
    """Take `count` files in and cut the power at `moments` random moments (0: after each thing done to the disk).

    `folder` is empty and ours. `weaken` takes a promise back, see `faults.disk_log.record`.
    """
    source, real = folder / PHOTOS, folder / "real"
    write_files(source, count)
    real.mkdir()
    ops = record("intake", real / FOLDER, folder / "strace.log", weaken=weaken, photos=source)
    compare(ops, real, folder / "replayed", None)
    (folder / "strace.log").unlink()
    shutil.rmtree(folder / "replayed")
    rng = random.Random(seed)
    at = range(len(ops) + 1) if not moments else sorted(rng.sample(range(len(ops) + 1), moments))
    found = []
    for number, cut in enumerate(at):
        for choice in [unsynced[number % len(unsynced)]] if moments else unsynced:
            state = folder / f"cut-{cut}-{choice}"
            write_state(ops[:cut], state, unsynced=choice, rng=random.Random(f"{seed} {cut} {choice}"))
            found.append(_left(state / FOLDER, source, ops[:cut]))
            shutil.rmtree(state)
    return tuple(found)


def _left(book: Path, source: Path, ops: Sequence[Op]) -> Cut:
    """Open what a cut left, compare it with what was told, and take the same folder in once more."""
    said = [line.split("\t") for line in acknowledged(ops)]
    told = {name: photo for state, photo, name in said if state in ENDS}
    sure = {path.relative_to(source.parent).as_posix(): sha256_of(path.read_bytes()) for path in source.iterdir()}
    half = tuple(
        path.name
        for path in (book / "originals").glob("*/*")
        if path.suffix == ".jpg" and sha256_of(path.read_bytes()) != path.stem
    )
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    try:
        with Logbook.create(book) as opened:
            there = opened.ids_among(told.values())
            lost = [name for name, photo in told.items() if photo not in there]
            lost += [name for name in told.keys() - set(lost) if not opened.original(sure[name]).is_file()]
            opened.take_in(trial, TEXT)
        done = add_photos(book, files_in([source]), view=next(iter(trial.views)), now=NOW)
        wrong = [f"{row.file}: {row.state} {row.said}" for row in done.rows if row.state not in ("added", "duplicate")]
        wrong += [row.file for row in done.rows if row.state == "added" and row.file in told]
        if len(done.rows) != len(sure):
            wrong.append(f"{len(done.rows)} rows for {len(sure)} files")
        with Logbook.open(book) as opened:
            wrong += [
                f"{name} differs"
                for name, sha256 in sure.items()
                if sha256_of(opened.original(sha256).read_bytes()) != sha256
            ]
        if not is_whole(verify_logbook(book)):
            wrong.append("the logbook is not whole")
    except (LittoralError, OSError, ValueError) as error:
        return Cut(len(told), tuple(told), half, 0, 0, (str(error),))
    return Cut(len(told), tuple(lost), half, done.count("duplicate"), done.count("added"), tuple(wrong))


def main() -> None:
    """Cut the power at some moments of a large intake, and print the sum."""
    began = time.perf_counter()
    cuts = cut_intake(Path(sys.argv[1]), count=int(sys.argv[2]), moments=int(sys.argv[3]))
    print(json.dumps({"seconds": time.perf_counter() - began, "cuts": [asdict(one) for one in cuts]}))


if __name__ == "__main__":
    main()
