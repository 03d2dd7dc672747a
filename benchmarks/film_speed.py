"""How long a film takes against the bare encoder on the same frames, ready made."""

from __future__ import annotations

import io
import shutil
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image
from rows import Row, row

from littoral.acts.import_trial import import_trial
from littoral.findings.answers import answer
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.publish.film.encode import encode
from littoral.publish.film.make import FilmPlan, frames, write_film
from littoral.publish.film.options import FilmLook, FilmOptions
from littoral.publish.film.script import FPS

PHOTOS = 84
SECONDS = 60.0
LARGE = (4000, 3000)
"""12 megapixels."""
LIMIT = 1.5
ROUNDS = 2


def film_rows(demo: Path, folder: Path) -> list[Row]:
    """Make 60 s of split-screen film, 1920 x 1080 at 30 frames a second, from 84 photos of 12 MP.

    Once from the pictures that measuring prepared, as films are made, and once from the original files themselves.
    `demo` holds the demo's trial file and photos; the first 84 are made as large as a phone's, grain included.
    """
    files = _large(demo, folder / "large")
    import_trial(folder / "book", files)
    with Logbook.open(folder / "book") as book:
        trial = book.trial(book.trials()[0])
        measured, entries = measure_photos(book, trial), book.entries(trial.key)
        findings = answer(book, trial, measured=measured)
        assert len(measured.photos) == PHOTOS

        def plan(look: FilmLook) -> FilmPlan:
            options = FilmOptions(look=look, seconds=SECONDS)
            return FilmPlan(trial, measured, entries, findings=findings, options=options, originals=book.original)

        return [
            _row(lambda: plan("even"), folder, "as prepared by measuring"),
            _row(lambda: plan("original"), folder, "decoded from their files", aim=True),
        ]


def _row(plan: Callable[[], FilmPlan], folder: Path, words: str, *, aim: bool = False) -> Row:
    ready = list(frames(plan()))
    assert sum(stands for _, stands in ready) == SECONDS * FPS
    ours, theirs = _paired(lambda: write_film(plan(), folder / "film.mp4"), lambda: encode(folder / "alone.mp4", ready))
    ratio = ours / theirs
    return row(
        f"film of {SECONDS:g} s, 1920 x 1080 at {FPS} frames/s, from {PHOTOS} photos of 12 MP {words}", ours, "s",
        reference=f"the bare encoder on the same frames: {theirs:.4g} s", limit=f"ratio at most {LIMIT:g}",
        holds=ratio <= LIMIT, source="timed in this run", ratio=ratio, aim=aim,
    )  # fmt: skip


def _large(demo: Path, folder: Path) -> Path:
    """Copy the demo's files with its first 84 photos as 12-megapixel JPEGs of a phone's size; return the trial file."""
    shutil.copytree(demo, folder, ignore=shutil.ignore_patterns("logbook", "results", "truth"))
    photos = sorted((folder / "photos").rglob("*.jpg"), key=lambda path: (path.name, str(path)))
    rng = np.random.default_rng(1)
    grain = rng.normal(0, 8, (LARGE[1], LARGE[0], 1)).astype(np.float32)
    for path in photos[PHOTOS:]:
        path.unlink()
    for path in photos[:PHOTOS]:
        with Image.open(path) as photo:
            exif, wide = photo.getexif(), photo.width > photo.height
            large = photo.resize(LARGE if wide else LARGE[::-1])
        pixels = np.asarray(large, dtype=np.float32) + (grain if wide else grain.transpose(1, 0, 2))
        buffer = io.BytesIO()
        Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(buffer, "JPEG", quality=90, exif=exif)
        path.write_bytes(buffer.getvalue())
    return folder / "trial.toml"


def _paired(work: Callable[[], object], reference: Callable[[], object]) -> tuple[float, float]:
    """Median seconds of both, timed in turn; the frames made beforehand warmed both up."""
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        work()
        between = time.perf_counter()
        reference()
        times.append((between - begun, time.perf_counter() - between))
    return statistics.median(one for one, _ in times), statistics.median(other for _, other in times)
