"""One function over many settings, on one core, on several, or on a cluster: the same results in the same order.

For sweeps of fits, calibrations and simulations. Each task carries its own random source (a seed, or a generator made
from one), so that no result hangs on who worked it out, or when.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from itertools import repeat
from multiprocessing import get_context
from typing import Any, TypeVar

from littoral.findings.machines.cluster import Cluster

Task = TypeVar("Task")
Found = TypeVar("Found")


def sweep(
    work: Callable[[Task, Any], Found],
    tasks: Iterable[Task],
    shared: object = None,
    *,
    processes: int = 1,
    cluster: Cluster | None = None,
) -> list[Found]:
    """Return `work(task, shared)` of every task, in their order.

    `work` is a function of a module that the workers have too; `shared` goes to each once. On `cluster` where one is
    given, else in so many `processes` of this computer (1: in this one). Raises what `work` raises, and the classes of
    MachinesError.
    """
    if cluster is not None:
        found = dict(cluster.each(work, enumerate(tasks), shared))
        return [found[number] for number in sorted(found)]
    if processes <= 1:
        return [work(task, shared) for task in tasks]
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        return list(pool.map(work, tasks, repeat(shared)))
