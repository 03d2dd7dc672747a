"""Photos taken in: placed by look and doubted rightly on rendered trials, kills in the middle, memory for many."""

from __future__ import annotations

import io
import json
import os
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from faults.apart import fast_folder, run_apart
from rows import Row, row

Image = np.ndarray
EXAMPLES = 3
TRUTH = "the renderer's own: which tank a photo shows, and what was done to it"


def looks_rows(files: Path, seed: int) -> list[Row]:
    """Every photo of a rendered trial against the three before it: its view, doubts it should not and should have."""
    from littoral.imaging.decode import decode_photo
    from littoral.imaging.doubts import doubts, propose, resemblance
    from littoral.imaging.likeness import Look, look_at

    images = {
        view.name: [decode_photo(path.read_bytes(), width_px=640).image for path in sorted(view.iterdir())]
        for view in sorted((files / "photos").iterdir())
    }
    looks = {view: [look_at(image) for image in some] for view, some in images.items()}
    placed = wrong = doubted = tried = 0
    found: dict[str, list[bool]] = {name: [] for name in (*SPOILT, "another tank")}

    def judged(look: Look, view: str, at: int) -> tuple[str | None, tuple[str, ...]]:
        before = {name: some[max(0, at - EXAMPLES) : at] for name, some in looks.items()}
        alike = {name: resemblance(look, some) for name, some in before.items()}
        return propose(alike).view, doubts(look, view, before[view], alike, {})

    for view, some in looks.items():
        for at in range(1, len(some)):
            seen, said = judged(some[at], view, at)
            tried, placed = tried + 1, placed + (seen == view)
            wrong, doubted = wrong + (seen not in (view, None)), doubted + bool(said)
            if at % 4 == 2:
                for name, (spoil, word) in SPOILT.items():
                    _, said = judged(look_at(spoil(images[view][at])), view, at)
                    found[name].append(any(word in one for one in said))
        other = next(name for name in looks if name != view)
        found["another tank"] += [
            any("rather than" in one for one in judged(some[at], other, min(at, len(looks[other])))[1])
            for at in range(2, len(some), 4)
        ]
    rows = [
        row(f"photos placed by their look, seed {seed}", 100 * placed / tried, "%", reference=TRUTH,
            limit="at least 95, none wrong", holds=placed >= 0.95 * tried and wrong == 0,
            source=f"{tried} photos, {wrong} placed wrong"),
        row(f"good photos doubted, seed {seed}", 100 * doubted / tried, "%", reference=TRUTH, limit="at most 2",
            holds=doubted <= 0.02 * tried, source=f"{tried} photos as the renderer's phone took them"),
    ]  # fmt: skip
    for name, hits in found.items():
        rows.append(
            row(f"spoilt photos noticed: {name}, seed {seed}", 100 * sum(hits) / len(hits), "%", reference=TRUTH,
                limit="at least 90", holds=sum(hits) >= 0.9 * len(hits), source=f"{len(hits)} photos spoilt by program")
        )  # fmt: skip
    return rows


def _hand(image: Image) -> Image:
    height, width = image.shape[:2]
    mask = np.zeros((height, width), np.uint8)
    cv2.ellipse(
        mask, (int(0.25 * width), int(0.9 * height)), (int(0.25 * width), int(0.42 * height)), 15, 0, 360, 255, -1
    )
    soft = cv2.GaussianBlur(mask, (0, 0), 4)[..., None] / 255
    return np.asarray(image * (1 - soft) + np.array([195, 145, 120]) * soft, dtype=np.uint8)


def _dark(image: Image) -> Image:
    noise = np.random.default_rng(1).normal(0, 2, image.shape)
    return np.clip(image * 0.05 + noise, 0, 255).astype(np.uint8)


def _blurred(image: Image) -> Image:
    return np.asarray(cv2.GaussianBlur(image, (0, 0), image.shape[1] / 333))


SPOILT: dict[str, tuple[Callable[[Image], Image], str]] = {
    "a hand in front": (_hand, "in front"),
    "light off": (_dark, "light off"),
    "blurred (12 px of 4,000)": (_blurred, "blurred"),
    "mirrored": (lambda image: np.ascontiguousarray(image[:, ::-1]), "mirrored"),
}  # fmt: skip


def kill_rows(count: int = 3000, kills: int = 4) -> list[Row]:
    """Thousands of files taken in, the process killed in the middle again and again."""
    with tempfile.TemporaryDirectory(dir=fast_folder()) as folder:
        done = run_apart("many_photos", folder, count, kills)
    lost: list[str] = done["lost"]
    return [
        row(
            f"{count} photos taken in, killed {done['killed']} times: acknowledged and lost", len(lost), "photos",
            reference="every row that was acknowledged", limit="0, and every file has its row at the end",
            holds=not lost and done["ended"] and done["rows"] == count and done["acknowledged"] <= count,
            source=f"{done['acknowledged']} acknowledged in {done['seconds']:.0f} s; peak {done['peak_mb']:.0f} MB",
        )
    ]  # fmt: skip


def large_jpegs(photos: Path, count: int) -> list[bytes]:
    """12-megapixel JPEGs of a phone's size, 3 to 4 MB, of rendered photos: enlarged, with grain."""
    from PIL import Image as Pil

    rng, made = np.random.default_rng(1), []
    for path in sorted(photos.iterdir())[:count]:
        with Pil.open(path) as photo:
            exif, large = photo.getexif(), photo.resize((4000, 3000) if photo.width > photo.height else (3000, 4000))
        grain = rng.normal(0, 8, (large.height, large.width, 3)).astype(np.float32)
        stream = io.BytesIO()
        pixels = np.clip(np.asarray(large, dtype=np.float32) + grain, 0, 255).astype(np.uint8)
        Pil.fromarray(pixels).save(stream, "JPEG", quality=90, exif=exif)
        made.append(stream.getvalue())
    return made


def numbered(data: bytes, number: int) -> bytes:
    """Return a JPEG with a comment in it, so that its content is its own."""
    said = f"photo {number}".encode()
    return data[:2] + b"\xff\xfe" + struct.pack(">H", len(said) + 2) + said + data[2:]


def six_regions(view: Any) -> Any:
    """Return a view's shape with six of its regions: three stands, and the first of stone, wood and glass."""
    from dataclasses import replace

    kept = []
    for pane in view.panes:
        stands = [region for region in pane.regions if region.kind == "stand"][:3]
        hard = [next((r for r in pane.regions if r.kind == kind), None) for kind in ("stone", "wood", "glass")]
        kept.append(replace(pane, regions=(*stands, *(region for region in hard if region is not None))))
    return replace(view, panes=tuple(kept))


def measured_many(files: Path, base: list[bytes], count: int, workers: int = 2) -> dict[str, float]:
    """Measure `count` photos of one view, prepared pictures on the disk; seconds, MB at peak."""
    import resource

    from littoral.findings.view_series import jpeg_of, read_image, shape_of
    from littoral.imaging.series import measure_series
    from littoral.trial.written.reader import read_trial

    trial, _ = read_trial((files / "trial.toml").read_text(), where="trial.toml")
    assert trial is not None
    view = next(iter(trial.views.values()))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder)

        def store(i: int, image: Image) -> None:
            (path / f"{i}.jpg").write_bytes(jpeg_of(image))

        began = time.perf_counter()
        measure_series(
            lambda i: numbered(base[i % len(base)], i), count, six_regions(shape_of(view)),
            store=store, load=lambda i: read_image(path / f"{i}.jpg"), workers=workers,
        )  # fmt: skip
        seconds = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {
        "seconds": seconds,
        "peak_mb": peak,
        "megabytes": sum(map(len, base)) / len(base) / 1e6,
    }


def _apart(files: Path, photos: Path, count: int) -> dict[str, float]:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one), "OMP_NUM_THREADS": "1"}
    command = [sys.executable, str(Path(__file__)), str(files), str(photos), str(count)]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, check=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def memory_rows(files: Path, few: int = 100, many: int = 1000) -> Iterator[Row]:
    """The peak memory of measuring a thousand photos of 12 megapixels, against a hundred of them."""
    with tempfile.TemporaryDirectory() as folder:  # made here, so that making them is no part of the peak
        for number, data in enumerate(large_jpegs(files / "photos" / "left", 6)):
            (Path(folder) / f"{number}.jpg").write_bytes(data)
        small, large = _apart(files, Path(folder), few), _apart(files, Path(folder), many)
    yield row(
        f"peak memory, {many} photos of 12 MP on two cores", large["peak_mb"], "MB",
        reference=f"{few} photos: {small['peak_mb']:.0f} MB", limit="at most 100 MB more than that",
        holds=large["peak_mb"] <= small["peak_mb"] + 100, difference=large["peak_mb"] - small["peak_mb"],
        source=f"ru_maxrss; {large['megabytes']:.1f} MB a photo; {60 * many / large['seconds']:.0f} photos a minute",
    )  # fmt: skip


if __name__ == "__main__":
    large = [path.read_bytes() for path in sorted(Path(sys.argv[2]).iterdir())]
    print(json.dumps(measured_many(Path(sys.argv[1]), large, int(sys.argv[3]))))
