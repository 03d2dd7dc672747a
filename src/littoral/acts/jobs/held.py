"""A lock on a file that the system lets go of when its process ends, however that ends."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO


@contextmanager
def held(path: Path) -> Iterator[bool]:
    """Hold the lock on a file, and give whether it was free; False leaves it to whoever holds it."""
    with path.open("a+b") as file:
        got = _lock(file)
        try:
            yield got
        finally:
            if got:
                _unlock(file)


def is_held(path: Path) -> bool:
    """Say whether another process holds the lock; False where the file is not there."""
    if not path.exists():
        return False
    with held(path) as free:
        return not free


if sys.platform == "win32":
    import msvcrt

    def _lock(file: IO[bytes]) -> bool:
        try:
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlock(file: IO[bytes]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _lock(file: IO[bytes]) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True

    def _unlock(file: IO[bytes]) -> None:
        fcntl.flock(file, fcntl.LOCK_UN)
