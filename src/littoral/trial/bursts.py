"""Repeat shots: photos of one view within minutes, between which the camera changes and the plants do not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from littoral.trial.entries import Entry, Photo

REPEAT_WITHIN = timedelta(minutes=5)
"""Shots of a view no farther apart than this repeat each other; common practice, no source."""


def bursts(entries: Sequence[Entry]) -> tuple[tuple[Entry, ...], ...]:
    """Return the groups of two and more photos in use that repeat each other, by time; other entries are passed over.

    A group goes on as long as each shot follows the one before it within REPEAT_WITHIN and it lasts no longer than
    three times that, so that a film frame every minute is no single burst.
    """
    groups: list[list[Entry]] = []
    last: dict[str, list[Entry]] = {}
    for entry in sorted((one for one in entries if isinstance(one.payload, Photo) and one.payload.used), key=_when):
        assert isinstance(entry.payload, Photo)
        group = last.get(entry.payload.view)
        near = group is not None and entry.at - group[-1].at <= REPEAT_WITHIN
        if group is None or not near or entry.at - group[0].at > 3 * REPEAT_WITHIN:
            group = last[entry.payload.view] = []
            groups.append(group)
        group.append(entry)
    return tuple(tuple(group) for group in groups if len(group) > 1)


def _when(entry: Entry) -> tuple[object, str]:
    return entry.at, entry.id
