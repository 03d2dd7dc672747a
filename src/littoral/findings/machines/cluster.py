"""Work spread over the workers of a Dask cluster, in windows, so that neither side holds more than a few tasks.

A worker that ends in the middle loses nothing: the scheduler gives its task to another. What comes back comes in any
order. A Dask scheduler runs whatever it is sent by whoever reaches it, so it is spoken to on this computer or by TLS.
"""

from __future__ import annotations

import ipaddress
import logging
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any, TypeVar
from urllib.parse import urlsplit

from littoral.errors import extras_needed
from littoral.findings.machines.refused import (
    NoAddressError,
    NoSchedulerError,
    NoWorkersError,
    OpenToOthersError,
    SchedulerGoneError,
    WorkersKilledError,
)

Future = Any  # of a library that is typed in part
Client = Any
Task = TypeVar("Task")
Found = TypeVar("Found")
ANSWER_S = 10.0
"""So long a scheduler may take to answer."""
WORKERS_S = 60.0
"""So long a scheduler may be without any worker."""
LOOK_S = 2.0
PER_THREAD = 2
"""So many tasks are on their way for each thread of the workers: one at work, one waiting."""


class Cluster:
    """A Dask cluster that answers at `address`; made by `connected`."""

    def __init__(self, client: Client, address: str, *, without_workers_s: float = WORKERS_S) -> None:
        self._client, self.address, self._without_workers_s = client, address, without_workers_s

    def each(
        self,
        work: Callable[[Task, Any], Found],
        tasks: Iterable[tuple[int, Task]],
        shared: object,
        *,
        name: Callable[[int], str] = str,
    ) -> Iterator[tuple[int, Found]]:
        """Do `work(task, shared)` for each numbered task and give (number, found), in the order they are done.

        `work` is a function of a module, and the same everywhere. `tasks` are asked for as workers become free.
        `name` says what a number is, for messages. Raises what `work` raises, SchedulerGoneError, NoWorkersError,
        WorkersKilledError.
        """
        from distributed import CancelledError

        waiting = iter(tasks)
        running: dict[Future, int] = {}
        alone_s = 0.0
        try:
            with self._lost():
                ready = self._client.submit(_itself, shared, pure=False)  # made anew where its worker ends
            self._fill(work, waiting, ready, running)
            while running:
                if not (done := self._done(list(running))):
                    alone_s = 0.0 if self._threads() else alone_s + LOOK_S
                    if alone_s >= self._without_workers_s:
                        raise NoWorkersError(self.address, self._without_workers_s)
                    continue
                alone_s = 0.0
                for future in done:
                    number = running.pop(future)
                    yield number, self._result(future, number, name)
                self._fill(work, waiting, ready, running)
        finally:
            with suppress(Exception, CancelledError):  # what is left is wanted by nobody; the scheduler may be gone
                self._client.cancel(list(running))

    def _fill(
        self, work: Callable[..., Any], waiting: Iterator[tuple[int, Any]], ready: Future, running: dict[Future, int]
    ) -> None:
        for _ in range(max(1, PER_THREAD * self._threads()) - len(running)):
            if (one := next(waiting, None)) is None:
                return
            number, task = one
            with self._lost():
                running[self._client.submit(work, task, ready, pure=False)] = number

    def _done(self, running: Sequence[Future]) -> set[Future]:
        """Return those that are done, after a short while at most; perhaps none."""
        import distributed

        wait: Any = distributed.wait
        with self._lost(), self._client.as_current():
            try:
                return set(wait(running, timeout=LOOK_S, return_when="FIRST_COMPLETED").done)
            except TimeoutError:
                return set()

    def _result(self, future: Future, number: int, name: Callable[[int], str]) -> Any:
        from distributed import CancelledError, KilledWorker

        try:
            return future.result()
        except KilledWorker as error:
            raise WorkersKilledError(name(number), error.allowed_failures + 1) from None
        except CancelledError as error:
            raise SchedulerGoneError(self.address) from error

    def _threads(self) -> int:
        with self._lost():
            threads: dict[str, int] = self._client.nthreads()
        return sum(threads.values())

    @contextmanager
    def _lost(self) -> Iterator[None]:
        from distributed import CancelledError

        try:
            yield
        except (CancelledError, OSError) as error:  # among them CommClosedError and TimeoutError
            raise SchedulerGoneError(self.address) from error


def _itself(shared: object) -> object:
    return shared


def checked(address: str, *, unprotected: bool) -> str:
    """Return the address of a scheduler; NoAddressError, OpenToOthersError.

    This computer (tcp://127.0.0.1 and the like) and TLS are taken; other computers only where `unprotected` is said.
    """
    try:
        parts = urlsplit(address)
        host, port = parts.hostname, parts.port
    except ValueError:
        raise NoAddressError(address) from None
    if parts.scheme not in ("tcp", "tls") or not host or port is None:
        raise NoAddressError(address)
    if parts.scheme == "tcp" and not unprotected and not _this_computer(host):
        raise OpenToOthersError(address)
    return address


def _this_computer(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


@contextmanager
@extras_needed()
def connected(address: str, *, unprotected: bool = False, answer_s: float = ANSWER_S) -> Iterator[Cluster]:
    """Give the cluster whose scheduler answers at `address` (as `checked` takes it); certificates are Dask's settings.

    Raises MissingExtraError, NoSchedulerError, and what `checked` raises.
    """
    checked(address, unprotected=unprotected)
    import dask
    import distributed

    made: Any = distributed.Client
    for logger in ("distributed", "distributed.client"):  # what goes wrong is said by what is raised
        logging.getLogger(logger).setLevel(logging.CRITICAL)
    settings = {
        "distributed.comm.timeouts.connect": f"{answer_s:g}s",
        "distributed.admin.large-graph-warning-threshold": "1GB",  # photos go along with their tasks
    }
    with dask.config.set(settings):
        try:
            client: Client = made(address, timeout=f"{answer_s:g}s", set_as_default=False)
        except (OSError, TypeError, ValueError, RuntimeError) as error:
            raise NoSchedulerError(address, (str(error).splitlines() or [type(error).__name__])[0]) from error
        try:
            yield Cluster(client, address)
        finally:
            with suppress(Exception):  # it may be gone already
                client.close(timeout=2)
