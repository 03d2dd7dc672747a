"""Measures that were taken elsewhere: what a data package says of photos that this logbook need not have.

They are data and no cache: nothing here can work them out again, so they lie in the database, are backed up and
exported with it, and are never changed. Which method measured them, and the view as it was drawn then, is kept too.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, inspect, select

from littoral.logbook import tables
from littoral.trial.model import View


@dataclass(frozen=True, slots=True)
class ElsewhereView:
    """One view of a package: `photos` are plain rows, one for each photo, each with its `sha256`.

    A row has the keys of a measured photo as `findings.measuring` keeps it, and `picture`: the SHA-256 of the corrected
    picture that came with the package, None without one. `drawn` is `drawn_hash` of the view when it was measured.
    """

    trial: str
    package: str
    view: str
    drawn: str
    method: str
    photos: tuple[Mapping[str, Any], ...]


def drawn_hash(view: View) -> str:
    """Return the SHA-256 of what of a view decides its measures: frame, camera, panes, regions; no names."""
    plain = asdict(view)
    for name in ("name", "photos", "match"):
        plain.pop(name)
    return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()


def views_of(connection: Connection, trial: str) -> tuple[ElsewhereView, ...]:
    """Return what was measured elsewhere of a trial, oldest first; nothing from a logbook of an earlier schema."""
    if not inspect(connection).has_table(tables.measured_elsewhere.name):
        return ()
    table = tables.measured_elsewhere.c
    columns = (table.trial, table.package, table.view, table.drawn, table.method, table.photos)
    query = select(*columns).where(table.trial == trial).order_by(table.id)
    return tuple(ElsewhereView(*row[:5], tuple(json.loads(row[5]))) for row in connection.execute(query))


def write_views(connection: Connection, views: Sequence[ElsewhereView], *, now: datetime) -> int:
    """Write views that are not there yet, and return how many were written."""
    written = 0
    for view in views:
        there = [one for one in views_of(connection, view.trial) if one.view == view.view]
        if there and _says(there[-1]) == _says(view):
            continue
        row = asdict(view) | {"photos": _text(view.photos), "added_at": now}
        connection.execute(insert(tables.measured_elsewhere).values(row))
        written += 1
    return written


def _says(view: ElsewhereView) -> tuple[str, str, str]:
    return view.drawn, view.method, _text(view.photos)


def _text(photos: Sequence[Mapping[str, Any]]) -> str:
    return json.dumps([dict(photo) for photo in photos], ensure_ascii=False, sort_keys=True, allow_nan=False)


def photos_elsewhere(connection: Connection) -> set[str]:
    """Return the SHA-256 of every photo that was measured elsewhere; a text that cannot be read counts for none."""
    if not inspect(connection).has_table(tables.measured_elsewhere.name):
        return set()
    found: set[str] = set()
    for (text,) in connection.execute(select(tables.measured_elsewhere.c.photos)):
        try:
            found.update(str(photo["sha256"]) for photo in json.loads(text))
        except (ValueError, TypeError, KeyError):
            continue
    return found
