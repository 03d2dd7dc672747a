"""One core, a cluster, originals elsewhere: the same rows and the same files, bit for bit."""

from __future__ import annotations

import re
from pathlib import Path

import fsspec
import pytest
from tests.findings.machines.same_files import kept_in

from littoral.acts.measure_photos import measure_photos
from littoral.findings.machines import photo_tasks
from littoral.findings.machines.refused import OtherVersionsError, PhotoAwayError
from littoral.findings.measured import Measured
from littoral.logbook.book import Logbook
from littoral.trial.entries import Photo

Ours = tuple[Path, Measured]
Told = list[tuple[int, int, str]]


@pytest.fixture
def in_memory(few_photos: Path) -> str:
    """The originals in an object store in memory, as fsspec has one."""
    store = fsspec.filesystem("memory")
    store.put(str(few_photos / "originals"), "/originals", recursive=True)
    return "memory://originals"


def as_rows(measured: Measured, logbook: Path) -> str:
    return repr(measured.photos).replace(str(logbook), "")


def test_a_cluster_finds_what_one_core_finds(cluster_here: str, logbook: Path, one_core: Ours) -> None:
    folder, measured = one_core
    told: Told = []
    found = measure_photos(logbook, on=cluster_here, progress=lambda *step: told.append(step))
    assert as_rows(found, logbook) == as_rows(measured, folder)
    assert all(photo.regions for photo in found.photos)
    assert kept_in(logbook) == kept_in(folder)
    assert sorted({done for done, _, _ in told if done}) == list(range(1, 2 * len(found.photos) + 1))
    assert {total for _, total, _ in told} == {2 * len(found.photos)}


def test_a_folder_elsewhere_serves_one_core_too(
    few_photos: Path, logbook: Path, one_core: Ours, tmp_path: Path
) -> None:
    (logbook / "originals").rename(tmp_path / "elsewhere")
    measure_photos(logbook, on="1", photos_at=str(tmp_path / "elsewhere"))
    assert kept_in(logbook) == kept_in(one_core[0])


def test_workers_read_elsewhere_refuse_another_photo_and_go_on_with_the_right_one(
    cluster_here: str, logbook: Path, one_core: Ours, in_memory: str
) -> None:
    with Logbook.open(logbook) as book:
        last = [one.payload for one in book.entries(book.trials()[0]) if isinstance(one.payload, Photo)][-1]
        path = book.original(last.sha256)
    for original in (logbook / "originals").rglob("*.jpg"):
        original.unlink()  # only the store has them now
    store = fsspec.filesystem("memory")
    whole = store.cat(f"/originals/{path.parent.name}/{path.name}")
    store.pipe(f"/originals/{path.parent.name}/{path.name}", whole + b" ")
    with pytest.raises(PhotoAwayError, match="its content is not what its name says"):
        measure_photos(logbook, on=cluster_here, photos_at=in_memory)
    assert list((logbook / "cache" / "measures").iterdir())  # the first view was done, and stays so
    store.pipe(f"/originals/{path.parent.name}/{path.name}", whole)
    told: Told = []
    measure_photos(logbook, on=cluster_here, photos_at=in_memory, progress=lambda *step: told.append(step))
    assert kept_in(logbook) == kept_in(one_core[0])
    assert {total for _, total, _ in told} == {len(one_core[1].photos)}  # half of both passes: one view of two


def test_a_photo_that_is_not_there_says_where_it_was_looked_for(logbook: Path, tmp_path: Path) -> None:
    with pytest.raises(PhotoAwayError, match=re.escape(str(tmp_path / "nothing"))):
        measure_photos(logbook, on="1", photos_at=str(tmp_path / "nothing"))


def test_a_worker_of_other_versions_refuses() -> None:
    shared = photo_tasks.Shared(b"", b"", "another version")
    with pytest.raises(OtherVersionsError, match="another version"):
        photo_tasks.pass_two(b"", shared)
