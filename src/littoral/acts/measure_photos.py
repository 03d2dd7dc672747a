"""Measure every photo of a trial, on this computer or with the help of others."""

from __future__ import annotations

from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

from littoral.acts.choosing import chosen_trial
from littoral.errors import extras_needed
from littoral.findings import measuring
from littoral.findings.machines.cluster import Cluster, checked, connected
from littoral.findings.machines.photos_at import PhotosAt
from littoral.findings.machines.refused import NoAddressError
from littoral.findings.measured import Measured
from littoral.logbook.book import Logbook
from littoral.progress import Progress


@extras_needed()
def measure_photos(
    folder: Path,
    trial_key: str | None = None,
    *,
    on: str = "",
    photos_at: str = "",
    unprotected: bool = False,
    progress: Progress | None = None,
) -> Measured:
    """Measure the photos of a trial in the logbook at `folder`; what was measured before comes from the cache.

    `on` is how many photos are worked on at a time here ("" for one per core), or the address of a Dask scheduler,
    which must be on this computer or speak TLS unless `unprotected`. Originals are read at `photos_at` (what fsspec
    reads) unless that is "". The result is the same wherever it was worked out. Raises MachinesError among others.
    """
    workers, place = _placed(on, unprotected=unprotected)
    with Logbook.open(folder) as book, place as cluster:
        return measuring.measure_photos(
            book,
            book.trial(chosen_trial(book, trial_key)),
            progress=progress,
            workers=workers,
            cluster=cluster,
            photos_at=PhotosAt(photos_at) if photos_at else None,
        )


def _placed(on: str, *, unprotected: bool) -> tuple[int | None, AbstractContextManager[Cluster | None]]:
    if "://" in on:
        return None, connected(checked(on, unprotected=unprotected), unprotected=unprotected)
    if not on:
        return None, nullcontext()
    if not (on.isascii() and on.isdigit() and 1 <= int(on) <= 1000):
        raise NoAddressError(on)
    return int(on), nullcontext()
