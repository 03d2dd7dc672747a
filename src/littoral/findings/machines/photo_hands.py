"""A cluster's workers as hands on one view's photos: what they find is kept where one core would have kept it."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from littoral.findings.machines.cluster import Cluster
from littoral.findings.machines.photo_tasks import PhotoToRead, Shared, pass_one, pass_two, versions_here
from littoral.findings.photo_cache import PhotoCache

if TYPE_CHECKING:
    from littoral.imaging.passes import Rules
    from littoral.imaging.regions import ViewShape


@dataclass(frozen=True, slots=True)
class ClusterHands:
    """Works ahead on the photos of one view (`imaging.one_photo.Hands`).

    `photo` gives what goes to the worker for the photo at a place, `name` what a place is called in messages.
    """

    cluster: Cluster
    kept: PhotoCache
    view: ViewShape
    photo: Callable[[int], PhotoToRead]
    name: Callable[[int], str]

    def first(self, places: Sequence[int], start: bytes) -> Iterator[int]:
        """Work pass one, and keep what it says with the prepared pictures."""
        shared = Shared(pickle.dumps(self.view), start, versions_here())
        tasks = ((i, self.photo(i)) for i in places)
        for i, found in self.cluster.each(pass_one, tasks, shared, name=self.name):
            if found is not None:
                self.kept.keep_prepared(i, found.jpeg)
                self.kept.keep_first(i, found.passed)
                yield i

    def second(self, places: Sequence[int], start: bytes, rules: Rules, name: str) -> Iterator[int]:
        """Work pass two, and keep what it says with what was counted."""
        shared = Shared(pickle.dumps(self.view), start, versions_here(), rules)
        tasks = ((i, self.kept.prepared(i).read_bytes()) for i in places)
        for i, found in self.cluster.each(pass_two, tasks, shared, name=self.name):
            if found is not None:
                self.kept.mark(i, found.png)
                self.kept.keep_second(i, name, found.regions)
                yield i
