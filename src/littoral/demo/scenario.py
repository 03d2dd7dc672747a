"""The demo: a whole invented trial written into a folder, as a keeper would bring it."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from datetime import datetime, time, timedelta
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from littoral.demo.entries import entries_csv
from littoral.demo.layout import FRAME, Frame, lay_out
from littoral.demo.nitrate import true_nitrate
from littoral.demo.outcome import outcome
from littoral.demo.phone import spoil, take, write_jpeg
from littoral.demo.picture import Stage, render_clean, set_stage
from littoral.demo.story import START, ZONE, Story, tell
from littoral.demo.trial_text import trial_text
from littoral.demo.truth import measure_clean, parameters
from littoral.errors import LittoralError
from littoral.progress import Progress

TANKS = ("left", "right")
TWICE_SHARE = 0.08  # of days with two photos


class OtherTrialError(LittoralError):
    """The folder for the demo holds another trial, which it would overwrite."""

    def __init__(self, trial_file: Path) -> None:
        self.trial_file = trial_file
        super().__init__(f"{trial_file} is a trial of its own. Name another folder for the demo, or move that file.")


@dataclass(frozen=True, slots=True)
class PhotoPlan:
    """One photo to be taken: local time, day since day 0, orientation tag, and whether it is the view's first."""

    tank: str
    number: int
    taken: datetime
    day: float
    orientation: int
    first: bool

    @property
    def file_name(self) -> str:
        """The file's name; its date is in the EXIF, and here for people."""
        return f"{self.tank}-{self.taken:%Y-%m-%d-%H%M}.jpg"


def photo_plans(story: Story, tank: str) -> tuple[PhotoPlan, ...]:
    """Return every photo of a tank, in order: one on most days, two on a few, none on one day in eight."""
    rng = np.random.default_rng([story.seed, 7, TANKS.index(tank)])
    zone = ZoneInfo(ZONE)
    missing = set(rng.choice(np.arange(1, story.days), story.days // 8, replace=False).tolist())
    plans: list[PhotoPlan] = []
    for number in range(story.days):
        shots = 0 if number in missing else 2 if number and rng.random() < TWICE_SHARE else 1
        for shot in range(shots):
            minutes = 13 * 60 + (2 if tank == "left" else 6) + 3 * shot + int(rng.integers(0, 3))
            midnight = datetime.combine(START + timedelta(days=number), time(0))
            taken = midnight + timedelta(minutes=minutes, seconds=int(rng.integers(0, 60)))
            orientation = int(rng.choice([1, 1, 1, 1, 6, 3]))
            local = taken.replace(tzinfo=zone)
            plans.append(PhotoPlan(tank, len(plans), local, _day_of(local), orientation, first=not plans))
    return tuple(plans)


def _day_of(local: datetime) -> float:
    """Days since day 0: local midnights passed, and the share of the local day (which may have 23 or 25 hours)."""
    zone = local.tzinfo
    begins = datetime.combine(local.date(), time(0), zone).timestamp()
    ends = datetime.combine(local.date() + timedelta(days=1), time(0), zone).timestamp()
    return (local.date() - START).days + (local.timestamp() - begins) / (ends - begins)


def render_photo(stage: Stage, plan: PhotoPlan) -> tuple[bytes, dict[str, object]]:
    """Return one photo as JPEG bytes and its truth; the same stage and plan give the same bytes."""
    story = stage.story
    rng = np.random.default_rng([story.seed, 8, TANKS.index(plan.tank), plan.number])
    clean = render_clean(stage, plan.day, rng)
    shot = take(story.phone, rng, size=stage.frame.size, nominal_framing=plan.first)
    seen = spoil(clean.image, story.phone, shot, rng)
    data = write_jpeg(seen, taken=plan.taken, orientation=plan.orientation, quality=story.phone.jpeg_quality)
    truth: dict[str, object] = {
        "view": plan.tank,
        "taken": plan.taken.isoformat(),
        "day": plan.day,
        "orientation": plan.orientation,
        "shot": asdict(shot),
        "regions": measure_clean(stage, clean, plan.day),
    }
    return data, truth


def write_demo(
    folder: Path,
    *,
    seed: int = 1,
    days: int = 56,
    size: tuple[int, int] = FRAME,
    progress: Progress | None = None,
    workers: int | None = None,
) -> Path:
    """Write the demo into `folder` and return its trial file: trial.toml, entries.csv, photos/left, photos/right, and
    truth/truth.json, which only tests read (described in `littoral.demo.truth`).

    `days` is the trial's length, `size` the photos' (width, height) in pixels with a ratio of 4 to 3, `workers` how
    many processes render (None: one per core, at most four). The same seed, days and size give the same bytes. An
    earlier demo in the folder is replaced; a folder that holds another trial raises OtherTrialError.
    """
    _make_room(folder)
    story = tell(seed, days=days)
    frame = Frame(size)
    layouts = {tank: lay_out(story, tank) for tank in TANKS}
    (folder / "trial.toml").write_text(trial_text(story, layouts, frame), encoding="utf-8")
    (folder / "entries.csv").write_text(entries_csv(story), encoding="utf-8")
    jobs = [(seed, days, size, str(folder), plan) for tank in TANKS for plan in photo_plans(story, tank)]
    count = min(workers if workers is not None else min(4, os.cpu_count() or 1), len(jobs))
    photos: dict[str, dict[str, object]] = {}
    if count <= 1:
        _collect(map(_write_one, jobs), photos, len(jobs), progress)
    else:
        with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as pool:
            _collect(pool.map(_write_one, jobs, chunksize=4), photos, len(jobs), progress)
    truth = {
        "about": "what is really true of the rendered demo; described in littoral.demo.truth",
        "seed": seed,
        "frame_px": list(size),
        "px_per_cm": frame.px_per_cm,
        "arms": story.arm_of,
        "phone": asdict(story.phone),
        "photos": photos,
        "nitrate": {tank: true_nitrate(story, tank) for tank in TANKS},
        "parameters": parameters(story),
        "answers": outcome(story, photos),
    }
    (folder / "truth").mkdir(exist_ok=True)
    (folder / "truth" / "truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
    return folder / "trial.toml"


def _make_room(folder: Path) -> None:
    """Make the demo's folders, and take an earlier demo's photos away."""
    trial_file = folder / "trial.toml"
    if trial_file.exists() and 'photos_are = "rendered demo"' not in trial_file.read_text("utf-8", "replace"):
        raise OtherTrialError(trial_file)
    for tank in TANKS:
        (folder / "photos" / tank).mkdir(parents=True, exist_ok=True)
        for old in (folder / "photos" / tank).glob(f"{tank}-????-??-??-????.jpg"):
            old.unlink()


def _collect(
    results: Iterable[tuple[str, dict[str, object]]],
    photos: dict[str, dict[str, object]],
    total: int,
    progress: Progress | None,
) -> None:
    for done, (name, truth) in enumerate(results, start=1):
        photos[name] = truth
        if progress is not None:
            progress(done, total, "photos rendered")


def _write_one(job: tuple[int, int, tuple[int, int], str, PhotoPlan]) -> tuple[str, dict[str, object]]:
    """Render and write one photo; runs in a worker process."""
    seed, days, size, folder, plan = job
    data, truth = render_photo(_stage(seed, days, size, plan.tank), plan)
    name = f"photos/{plan.tank}/{plan.file_name}"
    (Path(folder) / name).write_bytes(data)
    return name, truth


@lru_cache(maxsize=4)
def _stage(seed: int, days: int, size: tuple[int, int], tank: str) -> Stage:
    import cv2

    cv2.setNumThreads(1)
    story = tell(seed, days=days)
    return set_stage(story, lay_out(story, tank), Frame(size))
