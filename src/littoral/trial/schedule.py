"""What is planned besides doses and water changes: tests, trims and photos; and at what time of the day care is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from types import MappingProxyType
from typing import Literal

from littoral.feeding.regimes import EveryDays

TaskKind = Literal["test", "trim", "photo"]


@dataclass(frozen=True, slots=True)
class PlannedTask:
    """A test (`of`: nutrients or gauges), a trim (`of`: stands, empty is the whole tank) or a photo, in every tank.

    It comes on some weekdays (0 is Monday), or `every` so many days and then `weekdays` is empty. `clock` is the local
    time it is due at, None: any time of the day.
    """

    kind: TaskKind
    of: tuple[str, ...]
    weekdays: tuple[int, ...]
    every: EveryDays | None = None
    clock: time | None = None

    def falls_on(self, *, day: int, weekday: int) -> bool:
        """Return whether it falls on `day` (days since day 0), which is `weekday` (0 is Monday)."""
        if self.every is not None:
            return (day - self.every.offset) % self.every.days == 0
        return weekday in self.weekdays


@dataclass(frozen=True, slots=True)
class Schedule:
    """The trial's plan of care. `bench` is the order in which tanks stand, empty: as in the file.

    `doses_at` and `changes_at` are local times, None: any time of the day.
    """

    bench: tuple[str, ...] = ()
    doses_at: time | None = None
    changes_at: time | None = None
    tasks: tuple[PlannedTask, ...] = ()


@dataclass(frozen=True, slots=True)
class SameCare:
    """The margins within which care counts as the same in both arms; `trial.written.schedule` says what each is.

    Rules of thumb: common practice, no source. Set them before the start.
    """

    margins: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
