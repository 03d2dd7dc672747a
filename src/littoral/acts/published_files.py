"""What was published of a trial: the files in `results` beside its logbook."""

from __future__ import annotations

import json
from pathlib import Path

RESULTS = "results"
SHOWN_SUFFIXES = frozenset({".html", ".mp4", ".vtt", ".json", ".svg", ".png"})


def published_files(folder: Path, key: str) -> dict[str, Path]:
    """Return {name: file} of what was published of the trial `key`, whose logbook is at `folder`; {} where nothing was.

    Only files directly in `results` and in `results/charts` count, and only where its findings.json is this trial's.
    """
    results = folder.resolve().parent / RESULTS
    if _trial_of(results / "findings.json") != key:
        return {}
    places = (results, results / "charts")
    files = (file for place in places if place.is_dir() for file in sorted(place.iterdir()))
    return {file.name: file for file in files if file.is_file() and file.suffix in SHOWN_SUFFIXES}


def _trial_of(document: Path) -> str | None:
    try:
        found = json.loads(document.read_bytes())
        key = found["trial"]["key"]
    except (OSError, ValueError, KeyError, TypeError):  # nothing published, or not by us
        return None
    return key if isinstance(key, str) else None
