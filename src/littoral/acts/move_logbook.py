"""Move a logbook to a PostgreSQL server, or back into a file."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.moving import Moved, move
from littoral.logbook.where_kept import address_asked, address_of, read_note
from littoral.progress import Progress


def move_logbook(
    source: Path, folder: Path, *, to: str | None = None, into_file: bool = False, progress: Progress | None = None
) -> Moved:
    """Move the logbook at `source` into `folder`, which is new, with its entries at the address `to`.

    With None they go where LITTORAL_DATABASE_URL says, and into a file where the logbook is on a server already, or
    `into_file`. Raises what `logbook.moving.move` does, and WrongAddressError.
    """
    if to is not None:
        return move(source, folder, to=address_of(to), progress=progress)
    if into_file or read_note(source) is not None:
        return move(source, folder, to=None, progress=progress)
    return move(source, folder, to=address_asked(), progress=progress)
