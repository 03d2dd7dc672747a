"""Take many photos in at once: nothing acknowledged is lost, nothing is dropped silently, and running again goes on."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from littoral.acts.choosing import chosen_trial
from littoral.acts.photos.dating import read_shift
from littoral.acts.photos.intake import Intake, Looked, Placed, Wanted
from littoral.acts.photos.rows import AddedPhotos, PhotoFile, PhotoRow
from littoral.acts.told import Faults, Told, check_short, read_when
from littoral.errors import extras_needed
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.trial.model import Trial
from littoral.trial.written.report import WrongValueError, suggest

TOGETHER = 8
"""So many photos are kept by one write to the database: a commit takes about 20 ms however many it holds."""
TOGETHER_BYTES = 64_000_000

Acknowledge = Callable[[PhotoRow], None]


@extras_needed()
def add_photos(
    folder: Path,
    files: Sequence[PhotoFile],
    *,
    view: str = "",
    clock: str = "",
    told: Told | None = None,
    now: datetime | None = None,
    progress: Progress | None = None,
    acknowledge: Acknowledge | None = None,
    stop: Callable[[], bool] = lambda: False,
    workers: int | None = None,
) -> AddedPhotos:
    """Take photo files into a trial of the logbook at `folder`; the result has one row for each file, in their order.

    `view` is the short name of the view that they all show ("" where that is to be told by folders and looks);
    `told.when` is when they were taken, by the person's word; `clock` puts their camera's clock right ("+1 year").
    What a person has to look at is kept and waits for `decide_photos`; what cannot be placed is asked for.

    A photo is safe once `acknowledge` is called with its row, in order of the files; a power cut later loses none of
    those, and running again with the same files goes on where it ended. `stop` is asked between photos; what was
    acknowledged stays. `workers` photos are read at a time (None: one per core); memory does not grow with the files.
    Raises FaultsError ("view", "clock", "when", "who", "note"), and what `Logbook` raises.
    """
    moment, told = now or datetime.now(UTC), told or Told()
    with Logbook.open(folder, clock=lambda: moment) as book:
        trial = book.trial(chosen_trial(book, told.trial))
        wanted = read_wanted(trial, view=view, clock=clock, told=told, now=moment)
        intake = Intake(book, trial, now=moment)
        rows: list[PhotoRow] = []

        def say(row: PhotoRow) -> None:
            rows.append(row)
            if acknowledge is not None:
                acknowledge(row)
            if progress is not None:
                progress(len(rows), len(files), "taking photos in")

        waiting: list[PhotoRow | Placed] = []

        def flush() -> None:
            kept = iter(intake.keep([one for one in waiting if isinstance(one, Placed)]))
            for one in waiting:
                say(next(kept) if isinstance(one, Placed) else one)
            waiting.clear()

        stopped = False
        for looked in _looked(intake, files, stop, workers or os.cpu_count() or 1):
            waiting.append(looked if isinstance(looked, PhotoRow) else intake.place(looked, wanted))
            held = [one.looked for one in waiting if isinstance(one, Placed)]
            if len(waiting) >= TOGETHER or sum(len(one.data) for one in held) > TOGETHER_BYTES:
                flush()
            if stop():
                stopped = True
                break
        flush()
    return AddedPhotos(trial.key, tuple(rows), stopped or len(rows) < len(files))


def read_wanted(trial: Trial, *, view: str, clock: str, told: Told, now: datetime) -> Wanted:
    """Return what a person said of photos, checked; FaultsError with every mistake."""
    faults = Faults()
    for field, text in (("who", told.who), ("note", told.note)):
        faults.attempt(field, partial(check_short, text))
    shift = faults.attempt("clock", lambda: read_shift(clock))
    when = None
    if told.when.strip():
        when = faults.attempt("when", lambda: read_when(told.when, trial, now=now, zone=trial.zone))
    if view and view not in trial.views:
        faults.add("view", WrongValueError(f'is "{view[:60]}".', suggest(view[:60], trial.views, "views")))
    faults.refuse()
    assert shift is not None
    return Wanted(view or None, when, shift, told.who, told.note)


def _looked(
    intake: Intake, files: Iterable[PhotoFile], stop: Callable[[], bool], workers: int
) -> Iterator[Looked | PhotoRow]:
    """Look at files in several threads, a few ahead of what is asked for, so that memory stays small."""
    import cv2

    before = cv2.getNumThreads()
    cv2.setNumThreads(1)  # photos are the parallel unit
    ahead: deque[Future[Looked | PhotoRow]] = deque()
    try:
        with ThreadPoolExecutor(max_workers=workers, thread_name_prefix="photos") as pool:
            try:
                for file in files:
                    if stop():
                        break
                    ahead.append(pool.submit(intake.look, file))
                    if len(ahead) > workers + 1:
                        yield ahead.popleft().result()
                while ahead:
                    yield ahead.popleft().result()
            finally:
                for one in ahead:
                    one.cancel()
    finally:
        cv2.setNumThreads(before)


def files_in(places: Sequence[Path]) -> tuple[PhotoFile, ...]:
    """Return the files that some paths name, by name: a folder's with all in it, hidden files left out.

    A file's name keeps its folders from the one that was named on, since they may say which view it shows. What is not
    there is a file too, so that it gets its row.
    """
    found: list[PhotoFile] = []
    for place in places:
        if not place.is_dir():
            found.append(_file(place, place.name))
            continue
        inside = (path for path in place.rglob("*") if not _hidden(path.relative_to(place)) and path.is_file())
        called = Path(place.resolve().name)
        found += [_file(path, (called / path.relative_to(place)).as_posix()) for path in sorted(inside)]
    return tuple(found)


def _hidden(path: Path) -> bool:
    return any(part.startswith(".") for part in path.parts)


def _file(path: Path, name: str) -> PhotoFile:
    from littoral.acts.trial_files import LARGEST_PHOTO

    def read() -> bytes:
        with path.open("rb") as file:  # a film of gigabytes is not read to the end
            return file.read(LARGEST_PHOTO + 1)

    return PhotoFile(name, read)
