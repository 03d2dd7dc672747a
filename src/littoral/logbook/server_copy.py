"""A shared bench's rows as of one moment, in a file of their own: what is backed up of it is an ordinary logbook."""

from __future__ import annotations

import os
from pathlib import Path

from littoral.logbook.database import engine_for, reading, writing
from littoral.logbook.every_row import copy_rows
from littoral.logbook.opening import engine_of
from littoral.logbook.schema import bring_up_to_date
from littoral.logbook.verify import OriginalRow, original_rows


def copy_shared(source: Path, target: Path) -> tuple[OriginalRow, ...]:
    """Write what the server holds of the logbook in whose folder `source` would be into the new file `target`.

    Returns the originals that it names. Others may write meanwhile. RefusedByDatabaseError.
    """
    engine = engine_for(target)
    try:
        bring_up_to_date(engine, target)
        with reading(engine_of(source.parent)) as theirs, writing(engine) as ours:
            copy_rows(theirs, ours)
            kept = original_rows(ours)
    finally:
        engine.dispose()
    with target.open("rb+") as file:
        os.fsync(file.fileno())
    return kept
