"""Files that were sent and are being looked at: in memory, few, and forgotten when the page ends."""

from __future__ import annotations

import secrets
import threading
from dataclasses import dataclass

MOST_HELD = 4
"""Files held at once; a further one pushes out the one that was sent first."""


@dataclass(frozen=True, slots=True)
class HeldFile:
    """A file as it was sent: whose trial it is for, its name as the browser gave it, its bytes."""

    trial: str
    name: str
    data: bytes


class Held:
    """The held files, by a random name that nobody can guess."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._files: dict[str, HeldFile] = {}

    def keep(self, file: HeldFile) -> str:
        """Hold a file and return its name."""
        name = secrets.token_urlsafe(12)
        with self._lock:
            while len(self._files) >= MOST_HELD:
                del self._files[next(iter(self._files))]
            self._files[name] = file
        return name

    def get(self, name: str, trial: str) -> HeldFile | None:
        """Return a held file of a trial; None where it is not held any more."""
        with self._lock:
            found = self._files.get(name)
        return found if found is not None and found.trial == trial else None

    def drop(self, name: str) -> None:
        """Hold a file no more."""
        with self._lock:
            self._files.pop(name, None)
