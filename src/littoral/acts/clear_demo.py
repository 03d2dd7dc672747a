"""Make way for a fresh demo: an earlier demo's logbook goes, anything of the user's own stays."""

from __future__ import annotations

import shutil
from pathlib import Path

from littoral.errors import LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.logbook.where_kept import NOTE
from littoral.trial.entries import Photo


class OwnWorkError(LittoralError):
    """The demo's logbook holds something that did not come with the demo."""

    def __init__(self, folder: Path, what: str) -> None:
        self.folder = folder
        super().__init__(f"{folder} holds {what}, so it was left as it is. Name another folder: --out DIR.")


def clear_demo(folder: Path) -> None:
    """Remove the logbook at `folder` where it holds an earlier rendered demo and nothing else.

    Old photos beside new ones would mix two demos. OwnWorkError where a person's trial or entry is in it; nothing is
    removed then.
    """
    if (folder / NOTE).exists():
        raise OwnWorkError(folder, "a shared bench")
    if not (folder / DATABASE).is_file():
        return
    with Logbook.open(folder) as book:
        for key in book.trials():
            if not book.trial(key).rendered:
                raise OwnWorkError(folder, f"the trial {key!r}")
            if any(not entry.origin and not isinstance(entry.payload, Photo) for entry in book.entries(key)):
                raise OwnWorkError(folder, "entries that were made by hand")
    shutil.rmtree(folder)
