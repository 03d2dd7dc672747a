"""A small rendered logbook of few photos, and what one core measures in them: all others are held against that."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from littoral.acts.measure_photos import measure_photos
from littoral.findings.measured import Measured

EACH_VIEW = 3


@pytest.fixture(scope="session")
def few_photos(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's first photos, small, in a logbook that is not measured; tests copy it."""
    from littoral.acts.import_trial import import_trial
    from littoral.demo.scenario import write_demo

    folder = tmp_path_factory.mktemp("few")
    trial_file = write_demo(folder, days=16, size=(240, 180), workers=1)
    for view in (folder / "photos").iterdir():
        for late in sorted(view.iterdir())[EACH_VIEW:]:
            late.unlink()
    import_trial(folder / "logbook", trial_file)
    return folder / "logbook"


@pytest.fixture(scope="session")
def one_core(few_photos: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Measured]:
    """Where one core measured them, and what it found."""
    folder = tmp_path_factory.mktemp("one") / "logbook"
    shutil.copytree(few_photos, folder)
    return folder, measure_photos(folder, on="1")


@pytest.fixture
def logbook(few_photos: Path, tmp_path: Path) -> Path:
    """A logbook of the same photos, not measured yet."""
    shutil.copytree(few_photos, tmp_path / "logbook")
    return tmp_path / "logbook"


@pytest.fixture(scope="module")
def cluster_here() -> Iterator[str]:
    """The address of a scheduler with two workers, all of them threads of this process, spoken to by TCP.

    It goes with the module: its threads draw from `random`, which Hypothesis forbids while it tests others.
    """
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=False, protocol="tcp", host="127.0.0.1", dashboard_address=None
    ) as cluster:
        yield cluster.scheduler_address
