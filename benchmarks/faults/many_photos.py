"""Thousands of photos taken in at once, killed in the middle again and again: what was acknowledged must be there.

`python -m faults.many_photos child LOGBOOK FOLDER` takes the files of a folder in and says each acknowledged row;
`python -m faults.many_photos FOLDER COUNT KILLS` writes COUNT files, kills the child KILLS times after random parts of
the time, lets it end, and prints the sum as JSON.
"""

from __future__ import annotations

import io
import json
import os
import random
import resource
import struct
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from littoral.acts.photos.add_photos import add_photos, files_in
from littoral.acts.photos.rows import PhotoRow
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

TEXT = starting_text(title="Two ways of feeding", start="2026-03-02")
START = datetime(2026, 3, 3, 6)
NOW = datetime(2026, 4, 20, 8, tzinfo=UTC)
ENDS = ("added", "to decide", "duplicate")


def write_files(folder: Path, count: int, *, pixels: tuple[int, int] = (320, 240)) -> None:
    """Write photos of one view, a minute apart: the same picture, told apart by a comment within the file."""
    folder.mkdir(parents=True)
    noise = np.random.default_rng(1).integers(40, 200, (pixels[1] // 8, pixels[0] // 8, 3), dtype=np.uint8)
    stream = io.BytesIO()
    Image.fromarray(noise).resize(pixels, Image.Resampling.BICUBIC).save(stream, "JPEG", quality=90)
    data = stream.getvalue()
    for number in range(count):
        said = f"photo {number}".encode()
        comment = b"\xff\xfe" + struct.pack(">H", len(said) + 2) + said
        at = START + timedelta(minutes=number)
        (folder / f"{at:%Y-%m-%d_%H%M}.jpg").write_bytes(data[:2] + comment + data[2:])


def new_book(folder: Path) -> None:
    """Start the logbook that the photos go into."""
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    with Logbook.create(folder) as book:
        book.take_in(trial, TEXT)


def write_out(line: str) -> None:
    """Say a line on stdout at once."""
    os.write(1, f"{line}\n".encode())


def take_in(book: Path, folder: Path, *, die_after: int = 0, ack: Callable[[str], None] = write_out) -> None:
    """Take a folder's files in and say each row that is acknowledged; kill this process after some, 0: never."""
    trial, _ = read_trial(TEXT, where="trial.toml")
    assert trial is not None
    said = 0

    def say(row: PhotoRow) -> None:
        nonlocal said
        ack(f"{row.state}\t{row.photo}\t{row.file}")
        said += 1
        if said == die_after:
            os.kill(os.getpid(), 9)

    add_photos(book, files_in([folder]), view=next(iter(trial.views)), now=NOW, acknowledge=say)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    ack(f"peak\t{peak}\t")


def lost(book: Path, said: list[list[str]]) -> list[str]:
    """Return what was acknowledged and is not there whole."""
    found = []
    with Logbook.open(book) as opened:
        there = opened.ids_among(photo for state, photo, _ in said if state in ENDS)
        for state, photo, name in said:
            if state not in ENDS:
                continue
            if photo not in there:
                found.append(name)
            else:
                payload = opened.entry(photo)[0].payload
                if not opened.original(payload.sha256).is_file():  # type: ignore[union-attr]
                    found.append(name)
    if not is_whole(verify_logbook(book)):
        found.append("the logbook is not whole")
    return found


def child(
    book: Path, folder: Path, *, kill_after_s: float | None = None, die_after: int = 0
) -> tuple[list[list[str]], bool]:
    """Run `take_in` in a process of its own; return what it said, line by line, and whether it came to its end."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one)}
    command = [sys.executable, "-m", "faults.many_photos", "child", str(book), str(folder), str(die_after)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=environment) as process:
        if kill_after_s is not None:
            time.sleep(kill_after_s)  # the fault itself, not a wait for something
            process.kill()
        out, _ = process.communicate()
    whole = out.decode().rpartition("\n")[0]
    return [line.split("\t") for line in whole.split("\n") if line.count("\t") == 2], process.returncode == 0


def rehearse(folder: Path, *, count: int, kills: int, seed: int = 1) -> dict[str, Any]:
    """Take `count` files in, killed `kills` times in between, and sum up what was acknowledged, lost and remained."""
    rng = random.Random(seed)
    write_files(folder / "photos", count)
    new_book(folder / "logbook")
    acknowledged, gone, times = 0, [], 0
    began = time.perf_counter()
    for _ in range(kills):
        said, ended = child(folder / "logbook", folder / "photos", kill_after_s=rng.uniform(2, 2 + count / 100))
        times += not ended
        acknowledged += sum(line[0] in ENDS[:2] for line in said)
        gone += lost(folder / "logbook", said)
    said, ended = child(folder / "logbook", folder / "photos")
    gone += lost(folder / "logbook", said)
    ends = Counter(line[0] for line in said)
    acknowledged += ends["added"] + ends["to decide"]
    return {
        "count": count,
        "killed": times,
        "rows": sum(ends[end] for end in ("added", "to decide", "duplicate", "asked", "refused")),
        "acknowledged": acknowledged,
        "lost": gone,
        "ended": ended,
        "seconds": time.perf_counter() - began,
        "peak_mb": max(int(line[1]) for line in said if line[0] == "peak") / 1024 if ended else None,
    }


def main() -> None:
    """Be the child, or rehearse."""
    if sys.argv[1] == "child":
        take_in(Path(sys.argv[2]), Path(sys.argv[3]), die_after=int(sys.argv[4]))
        return
    print(json.dumps(rehearse(Path(sys.argv[1]), count=int(sys.argv[2]), kills=int(sys.argv[3]))))


if __name__ == "__main__":
    main()
