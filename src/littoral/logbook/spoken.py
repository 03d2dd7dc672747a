"""The language and units a logbook is spoken in: one small file in its folder, written whole.

They are no entry and change nothing that is recorded, so they are not in the database; a logbook without the file, or
with one that cannot be read, speaks English and metric.
"""

from __future__ import annotations

import json
from pathlib import Path

from littoral.logbook.whole_files import write_whole
from littoral.speech.manner import PLAIN, Manner, changed, different

NAME = "speech.json"
LARGEST_BYTES = 2_048


def read_manner(folder: Path) -> Manner:
    """Return how a logbook speaks; what is unknown in its file is left out."""
    try:
        with (folder / NAME).open("rb") as file:
            said = json.loads(file.read(LARGEST_BYTES))
    except (OSError, ValueError):
        return PLAIN
    if not isinstance(said, dict):
        return PLAIN
    return changed(PLAIN, {str(name): str(value) for name, value in said.items()})


def has_manner(folder: Path) -> bool:
    """Tell whether somebody chose how a logbook speaks."""
    return (folder / NAME).is_file()


def write_manner(folder: Path, chosen: Manner) -> None:
    """Write how a logbook speaks. Raises UnwrittenFileError."""
    said = {"language": chosen.language, **different(chosen)}
    write_whole(folder / NAME, json.dumps(said, ensure_ascii=False, indent=1).encode())
