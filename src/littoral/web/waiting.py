"""Pages that take a while: worked out once in the background, kept until the logbook changes.

The first look at a trial may have to measure a hundred photos, or to fit its levels. One thread does that; everybody
who asks meanwhile sees how far it is.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from littoral.errors import LittoralError
from littoral.progress import Progress
from littoral.speech.manner import Manner, keeping_manner, manner
from littoral.speech.say import say

T = TypeVar("T")
MANNERS_KEPT = 3
"""In how many languages and units the page of one trial is kept at a time."""


class ClosedError(LittoralError):
    """The page was closed while it was being worked out."""

    def __init__(self) -> None:
        super().__init__("the page was closed before it was done; it is begun again at the next look.")


@dataclass(slots=True)
class Work(Generic[T]):
    """One trial's page in the making: `done` of `total` steps of `what`."""

    fingerprint: str
    future: Future[T]
    progress: tuple[int, int, str] = field(default_factory=lambda: (0, 0, say("opening the logbook")))


class Waiting(Generic[T]):
    """Starts the work behind a page once, and gives the page or how far it is.

    `fingerprint` of a trial's key changes whenever what `make` gives would. Several that share a `pool` of one thread
    never measure or fit at the same time. Each is worked out in the language and units of who asks, and kept for those.
    """

    def __init__(
        self,
        fingerprint: Callable[[str], str],
        make: Callable[[str, Progress], T],
        pool: ThreadPoolExecutor | None = None,
    ) -> None:
        self._fingerprint = fingerprint
        self._make = make
        self._lock = threading.Lock()
        self._works: dict[tuple[str, Manner], Work[T]] = {}
        self._before: dict[tuple[str, Manner], T] = {}
        self._closed = False
        self._pool = pool or one_thread()

    def ask(self, key: str, *, patience_s: float, again: bool = True) -> Work[T]:
        """Return the work behind a trial's page, after waiting up to `patience_s` seconds for it to finish.

        Work that failed is begun `again`, unless one only asks how far it is: that would begin it without end.
        """
        fingerprint = self._fingerprint(key)
        with self._lock:
            work = self._works.get((key, manner()))
            failed = work is not None and work.future.done() and work.future.exception() is not None
            if work is None or work.fingerprint != fingerprint or (failed and again):
                work = self._start(key, fingerprint)
        wait((work.future,), timeout=patience_s)
        return work

    def begun(self, key: str) -> Work[T] | None:
        """Return the work that was last started for a trial, without starting any; None without one."""
        with self._lock:
            return self._works.get((key, manner()))

    def known(self, key: str) -> T | None:
        """Return the last page that was made of a trial, however old, without asking the logbook; None without one."""
        with self._lock:
            asked = (key, manner())
            ways = sorted(self._works, key=lambda way: way != asked)  # in another language rather than not at all
            found = [self._made_or_before(way) for way in ways if way[0] == key]
        return next((one for one in found if one is not None), None)

    def _made_or_before(self, asked: tuple[str, Manner]) -> T | None:
        made = _made(self._works.get(asked))
        return self._before.get(asked) if made is None else made

    def _start(self, key: str, fingerprint: str) -> Work[T]:
        work: Work[T] = Work(fingerprint, Future())

        def note(done: int, total: int, what: str) -> None:
            if self._closed:
                raise ClosedError
            work.progress = (done, total, what)

        asked = (key, manner())
        if (made := _made(self._works.pop(asked, None))) is not None:
            self._before[asked] = made
        for other in [way for way in self._works if way[0] == key][: 1 - MANNERS_KEPT]:
            self._works.pop(other)
            self._before.pop(other, None)
        self._works[asked] = work
        work.future = self._pool.submit(keeping_manner(self._make), key, note)
        return work

    def close(self) -> None:
        """Take no more work; what is running ends at its next step, so that Ctrl-C never waits for all photos."""
        self._closed = True
        self._pool.shutdown(wait=False, cancel_futures=True)


def _made(work: Work[T] | None) -> T | None:
    if work is None or not work.future.done() or work.future.cancelled() or work.future.exception() is not None:
        return None
    return work.future.result()


def one_thread() -> ThreadPoolExecutor:
    """Return a pool that does one thing after the other."""
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix="page")
