"""Whether a backup could be restored: its database as it was made, and every photo in the pool as it was copied."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.backup import MANIFEST, read_manifest
from littoral.logbook.verify import hash_of, verify
from littoral.progress import Progress
from littoral.quantities.check_row import CheckRow


def verify_backup(path: Path, *, database: str, progress: Progress | None = None) -> tuple[CheckRow, ...]:
    """Check the backup at `path` and return a row for each check; see `verify`. Never raises for a broken one."""
    wrong = ""
    try:
        said, _ = read_manifest(path)
        if hash_of(path / database) != (said.database_sha256, said.database_bytes):
            wrong = f"{database} has not the hash of its {MANIFEST}."
    except (OSError, ValueError, KeyError, TypeError) as error:
        wrong = f"{MANIFEST} or {database} cannot be read ({error})."
    row = CheckRow(
        what="backup: as it was made",
        value=float(bool(wrong)),
        operator="<=",
        limit=0.0,
        unit="problem",
        verdict="fails" if wrong else "holds",
        comment=f"{wrong} Take another backup." if wrong else "",
        source="",
    )
    return (row, *verify(path, database=database, pool=path.parent, progress=progress))
