"""Workers and schedulers of real processes that end in the middle: nothing is lost, and the result is the same."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.findings.machines.processes import Processes, end, processes
from tests.findings.machines.same_files import kept_in

from littoral.acts.measure_photos import measure_photos
from littoral.findings.machines.refused import SchedulerGoneError
from littoral.findings.measured import Measured

pytestmark = pytest.mark.slow
Ours = tuple[Path, Measured]


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Processes]:
    with processes(tmp_path, workers=2) as made:
        yield made


def test_a_worker_killed_in_the_middle_changes_nothing(cluster: Processes, logbook: Path, one_core: Ours) -> None:
    folder, measured = one_core
    seen: list[int] = []

    def kill_one(done: int, _total: int, _what: str) -> None:
        seen.append(done)
        if len(seen) == 1:  # the others are at work or on their way to both workers
            os.kill(cluster.workers[0].pid, signal.SIGKILL)

    found = measure_photos(logbook, on=cluster.address, progress=kill_one)
    assert cluster.workers[0].wait() == -signal.SIGKILL
    assert cluster.workers[1].poll() is None
    assert kept_in(logbook) == kept_in(folder)
    assert repr(found.photos).replace(str(logbook), "") == repr(measured.photos).replace(str(folder), "")
    assert max(seen) == 2 * len(found.photos)


def test_a_scheduler_that_goes_away_loses_nothing_and_the_work_goes_on_elsewhere(
    cluster: Processes, logbook: Path, one_core: Ours
) -> None:
    def kill_it(done: int, _total: int, _what: str) -> None:
        if done == 2:
            end(cluster.scheduler)

    with pytest.raises(SchedulerGoneError, match="the same command goes on from there"):
        measure_photos(logbook, on=cluster.address, progress=kill_it)
    kept = {path: path.stat().st_mtime_ns for path in (logbook / "cache" / "prepared").iterdir()}
    assert kept
    measure_photos(logbook, on="1")
    assert kept_in(logbook) == kept_in(one_core[0])
    assert all(path.stat().st_mtime_ns == when for path, when in kept.items())  # not worked on again
