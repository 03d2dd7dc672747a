"""What measuring left in a logbook's cache, to be compared byte for byte."""

from __future__ import annotations

import hashlib
from pathlib import Path


def kept_in(logbook: Path) -> dict[str, str]:
    """Every file of the cache that measuring wrote, by its place, with the hash of its bytes."""
    cache = logbook / "cache"
    kinds = ("measures", "passed", "prepared", "regions", "counted")
    return {
        str(path.relative_to(cache)): hashlib.sha256(path.read_bytes()).hexdigest()
        for kind in kinds
        for path in sorted((cache / kind).iterdir())
    }
