"""What every room's tests share: where the open data sets lie, and a skip that says so where they do not."""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import pytest
from faults.server import Server
from hypothesis import settings

# How long an example takes says something of the machine, nothing of the code: speed lives in `make bench`.
settings.register_profile("littoral", deadline=None)
settings.load_profile("littoral")

REPOSITORY = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The folder of open data sets beside the repository (or at LITTORAL_DATA); skips where it is absent."""
    folder = Path(os.environ.get("LITTORAL_DATA", REPOSITORY.parent / "shared" / "data"))
    if not folder.is_dir():
        pytest.skip(f"open data sets not found at {folder}; set LITTORAL_DATA to their folder")
    return folder


@dataclass(frozen=True)
class SmallDemo:
    """The demo at reduced size and length, imported, measured and answered once per test process."""

    files: Path
    logbook: Path


@pytest.fixture(scope="session")
def small_demo(tmp_path_factory: pytest.TempPathFactory) -> SmallDemo:
    """The demo's four first weeks in small photos, in a logbook; tests must not write to it."""
    from littoral.acts.import_trial import import_trial
    from littoral.demo.scenario import write_demo

    folder = tmp_path_factory.mktemp("small-demo")
    trial_file = write_demo(folder, days=28, size=(800, 600), workers=1)
    import_trial(folder / "logbook", trial_file)
    return SmallDemo(folder, folder / "logbook")


@pytest.fixture(scope="session")
def levels_logbook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three weeks of two tanks without photos, with a few nitrate readings, one a slip; tests must not add entries."""
    from littoral.acts.import_trial import import_trial

    folder = tmp_path_factory.mktemp("levels") / "logbook"
    import_trial(folder, REPOSITORY / "tests" / "levels_trial" / "trial.toml")
    return folder


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A PostgreSQL server of this test process's own, without fsync; skips where Debian's package is absent."""
    from faults.server import programs, serving

    from littoral.logbook.server import close_connections

    if programs() is None:
        pytest.skip("PostgreSQL is not installed here: apt-get install postgresql brings what these tests start")
    with serving(durable=False) as server:
        yield server
        close_connections()


@pytest.fixture(scope="session")
def keepers_made() -> ModuleType:
    """Invented keepers' files, built by code: tests/keepers_made.py."""
    spec = importlib.util.spec_from_file_location("keepers_made", Path(__file__).with_name("keepers_made.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@dataclass(frozen=True, slots=True)
class TwoPhotos:
    """A logbook and its trial's key."""

    logbook: Path
    key: str


@pytest.fixture(scope="session")
def two_photos(tmp_path_factory: pytest.TempPathFactory) -> TwoPhotos:
    """A trial with two small photos of its left tank and none of its right one; tests must not add entries."""
    from PIL import Image, ImageDraw

    from littoral.acts.import_trial import import_trial
    from littoral.acts.start_trial import start_trial
    from littoral.logbook.book import Logbook

    folder = tmp_path_factory.mktemp("two-photos")
    started = start_trial(folder, title="Two photos", start="2026-03-02", zone="UTC", seed=3)
    for day, high in ((2, 90), (7, 150)):
        photo = Image.new("RGB", (400, 300), (60, 90, 100))
        draw = ImageDraw.Draw(photo)
        draw.rectangle((25, 235, 375, 265), fill=(70, 60, 50))
        draw.rectangle((95, 235 - high, 160, 235), fill=(60, 140, 50))
        for x in range(30, 370, 17):
            draw.ellipse((x, 240 + x % 9, x + 8, 246 + x % 9), fill=(120, 110, 90))
        photo.save(folder / "photos" / "left" / f"2026-03-0{day} 12.00.00.jpg", quality=92)
    import_trial(folder / "logbook", started.trial_file)
    with Logbook.open(folder / "logbook") as book:
        return TwoPhotos(folder / "logbook", book.trials()[0])
