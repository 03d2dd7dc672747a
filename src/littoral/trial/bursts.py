"""Repeat shots: photos of one view within minutes, between which the camera changes and the plants do not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from littoral.trial.entries import Entry, Photo

REPEAT_WITHIN = timedelta(minutes=5)
"""Shots of a view no farther apart than this repeat each other; common practice, no source."""


def bursts(entries: Sequence[Entry]) -> tuple[tuple[Entry, ...], ...]:
    """Return the groups of two and more photos in use that repeat each other, by time; other entries are passed over.

    A group goes on as long as each shot follows the one before it within REPEAT_WITHIN and it lasts no longer than
    three times that, so that a film frame every minute is no single burst.
    """
    views: dict[str, list[Entry]] = {}
    for entry in sorted((one for one in entries if isinstance(one.payload, Photo) and one.payload.used), key=_when):
        assert isinstance(entry.payload, Photo)
        views.setdefault(entry.payload.view, []).append(entry)
    groups = [tuple(some[i] for i in group) for some in views.values() for group in occasions([one.at for one in some])]
    return tuple(sorted((group for group in groups if len(group) > 1), key=lambda group: _when(group[0])))


def occasions(moments: Sequence[datetime]) -> tuple[tuple[int, ...], ...]:
    """Return the places of one view's moments, ascending, by occasion: repeat shots together, all others alone."""
    groups: list[list[int]] = []
    for at, moment in enumerate(moments):
        group = groups[-1] if groups else None
        near = group is not None and moment - moments[group[-1]] <= REPEAT_WITHIN
        if group is None or not near or moment - moments[group[0]] > 3 * REPEAT_WITHIN:
            group = []
            groups.append(group)
        group.append(at)
    return tuple(map(tuple, groups))


def _when(entry: Entry) -> tuple[datetime, str]:
    return entry.at, entry.id
