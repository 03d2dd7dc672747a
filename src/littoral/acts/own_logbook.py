"""The keeper's own logbook: the one that is opened where no other is named."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_data_path

from littoral.logbook.book import Logbook


def own_logbook() -> Path:
    """Return the folder of the keeper's own logbook in this computer's usual data folder; nothing is made."""
    return user_data_path("littoral", appauthor=False) / "logbook"


def named_or_own(folder: Path | None) -> Path:
    """Return the folder that was named, or the keeper's own logbook, which is made where there is none yet."""
    if folder is not None:
        return folder
    own = own_logbook()
    Logbook.create(own).close()
    return own
