"""Where a logbook keeps what was measured of each photo of a view, so that one photo more measures one photo.

What a photo's prepared picture hangs on is in its files' names, by hashes: the method, the view as drawn, the first
photos (up to sixteen usable ones say what all are brought to), and the photo itself. What is measured in it hangs
besides on the thresholds that are pooled over the series: these have a name of their own, made of their values. So
nothing kept can be wrong, whatever the order that photos came in; and what was measured stays right when one is taken
away.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path

from littoral.imaging.method import METHOD_VERSION
from littoral.logbook.book import Logbook

CACHE_FORMAT = 3


class PhotoCache:
    """The files of one view as drawn (`drawn`: plain data) and its photos (`sha256`, by time); see `imaging.kept`."""

    def __init__(self, book: Logbook, drawn: object, sha256: Sequence[str]) -> None:
        self._book, self._sha256 = book, sha256
        self._view = json.dumps([CACHE_FORMAT, METHOD_VERSION, drawn], sort_keys=True)
        self._under = self._rules = ""
        self._marked: dict[int, bytes] = {}

    def start(self) -> bytes | None:
        """Look for what was made of all photos, else of as few of the first as there is something for."""
        from littoral.imaging.prepare import FIRST_PHOTOS  # here, for it brings OpenCV along

        count = len(self._sha256)
        firsts = ((tried, key) for tried, key in self._first_keys() if tried >= FIRST_PHOTOS)
        for key in chain([self._start_key(count, of_all=True)], (key for _, key in firsts)):
            found = _read(self._book.cache_path("starts", f"{key}.npz"))
            if found is not None:
                self._under = key
                return found
        return None

    def keep_start(self, data: bytes, *, tried: int, of_all: bool) -> None:
        """Keep what all photos are brought to."""
        self._under = self._start_key(tried, of_all=of_all)
        self._book.keep_cached("starts", f"{self._under}.npz", data)

    def first(self, i: int) -> bytes | None:
        """Return what pass one said of a photo, if its prepared picture is there too."""
        return _read(self._path("passed", i, "json")) if self._path("prepared", i, "jpg").exists() else None

    def keep_first(self, i: int, data: bytes) -> None:
        """Keep it."""
        self._book.keep_cached("passed", self._path("passed", i, "json").name, data)

    def second(self, i: int, rules: str) -> bytes | None:
        """Return what pass two said of a photo under these rules, if the picture of what was counted is there too."""
        self._rules = rules
        return _read(self._regions(i)) if self.counted(i).exists() else None

    def keep_second(self, i: int, rules: str, data: bytes) -> None:
        """Keep it, and the picture of what was counted."""
        self._rules = rules
        self._book.keep_cached("counted", self.counted(i).name, self._marked.pop(i))
        self._book.keep_cached("regions", self._regions(i).name, data)

    def keep_prepared(self, i: int, jpeg: bytes) -> None:
        """Keep a photo's prepared picture."""
        self._book.keep_cached("prepared", self.prepared(i).name, jpeg)

    def mark(self, i: int, png: bytes) -> None:
        """Take the picture of what was counted in a photo; it is kept with what was measured."""
        self._marked[i] = png

    def prepared(self, i: int) -> Path:
        """Return where a photo's prepared picture lies."""
        return self._path("prepared", i, "jpg")

    def counted(self, i: int) -> Path:
        """Return where the picture of what was counted in a photo lies."""
        return self._book.cache_path("counted", f"{self._stem(i)}-{self._rules}.png")

    def _regions(self, i: int) -> Path:
        return self._book.cache_path("regions", f"{self._stem(i)}-{self._rules}.json")

    def _start_key(self, tried: int, *, of_all: bool) -> str:
        said = json.dumps([self._view, of_all, self._sha256[:tried]])
        return hashlib.sha256(said.encode()).hexdigest()[:16]

    def _first_keys(self) -> Iterator[tuple[int, str]]:
        """Give `_start_key` of the first, the first two... photos but the last, each made from the one before it."""
        begun = hashlib.sha256(json.dumps([self._view, False, []]).removesuffix("]]").encode())
        for tried, one in enumerate(self._sha256[:-1], start=1):
            begun.update((", " if tried > 1 else "").encode() + json.dumps(one).encode())
            whole = begun.copy()
            whole.update(b"]]")
            yield tried, whole.hexdigest()[:16]

    def _stem(self, i: int) -> str:
        return f"{self._sha256[i][:24]}-{self._under}"

    def _path(self, kind: str, i: int, suffix: str) -> Path:
        return self._book.cache_path(kind, f"{self._stem(i)}.{suffix}")


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except OSError:
        return None
